"""Where an injury or an earlier repair lies: what was measured is believed before what was named.

The arithmetic is by hand: half of a 200 mm tread is 100 mm; a hole of 6 mm reaches 3 mm to both sides of its middle.
All rules, tires and tickets are invented.
"""

from __future__ import annotations

import pytest

from tests.engine import SIZE, asked, by_method, notices, outcomes, rule, us_case, world
from tests.support import injury

CROWN = rule("crown", "permit: {fact: injury.zone, values: [crown]}", when="{method: [one-piece, two-piece]}")
TREAD = rule(
    "tread",
    "limit: {fact: injury.reach, at-most: {half-of: tire.tread_width}}",
    when="{method: [one-piece, two-piece]}",
)
EARLIER_ZONE = rule("earlier-zone", "prohibit: {fact: repair.zone, values: [shoulder, sidewall]}")
EARLIER_BAND = rule("earlier-band", "limit: {fact: repair.reach, less-than: {half-of: tire.tread_width, share: 3/4}}")
WIDE = {"class": "passenger", "sealant_layer": False, "tread_depth": "6/32 in", "tread_width": "200 mm"}


def _injured(rules, zone="crown", **changes):
    case = us_case(
        tire={**WIDE, "thickness": "10 mm"}, injuries=injury(zone=zone, diameter="6 mm", angle="0 deg", **changes)
    )
    return world(SIZE + rules).decide({**case, "method": "one-piece"})


@pytest.mark.parametrize(
    ("offset", "zone_rule", "verdict"),
    [
        ("0 mm", "passes", "within-limits"),
        ("97 mm", "passes", "within-limits"),  # its far edge lies exactly at the tread's edge
        ("97.1 mm", "unknown", "undetermined"),  # a part may lie beyond
        ("102.9 mm", "unknown", "undetermined"),
        ("103 mm", "fails", "outside-limits"),  # its near edge lies at the tread's edge
        ("120 mm", "fails", "outside-limits"),
        ("90 mm to 97 mm", "passes", "within-limits"),
        ("90 mm to 120 mm", "unknown", "undetermined"),
        ("103 mm to 120 mm", "fails", "outside-limits"),
    ],
)
def test_an_injury_called_crown_is_judged_by_its_measured_place(offset, zone_rule, verdict):
    found = _injured(CROWN, from_centerline=offset)
    assert outcomes(found, "invented-trade/crown") == {zone_rule}
    assert found.verdict == verdict


def test_what_is_judged_as_a_shoulder_says_what_it_was_called():
    found = _injured(CROWN, from_centerline="120 mm")
    (reason,) = [each for each in found.methods[0].reasons if each.rule == "invented-trade/crown"]
    assert reason.measured == "shoulder (measured beyond the tread, called crown)"


def test_a_channel_that_leaves_the_tread_on_the_inner_face_contradicts_the_crown():
    """At 45 degrees through 10 mm the middle moves 10 mm outward: 92 + 10 + 3 / cos 45 > 100."""
    case = us_case(
        tire={**WIDE, "thickness": "10 mm"},
        injuries=injury(diameter="6 mm", angle="45 deg", from_centerline="92 mm", leans="toward-shoulder"),
    )
    found = world(SIZE + CROWN).decide({**case, "method": "one-piece"})
    assert outcomes(found, "invented-trade/crown") == {"unknown"}
    assert found.verdict == "undetermined"
    band = world(SIZE + CROWN + TREAD).decide({**case, "method": "one-piece"})
    assert band.verdict == "outside-limits"


@pytest.mark.parametrize("zone", ["shoulder", "sidewall", "bead", "belt-edge"])
def test_another_zone_than_the_crown_stays_what_it_was_called(zone):
    """Whatever was measured, the zone that was named is the worse of the two."""
    found = _injured(CROWN, zone=zone, from_centerline="98 mm")
    assert outcomes(found, "invented-trade/crown") == {"fails"}


def test_without_the_width_of_the_tread_nothing_contradicts():
    case = us_case(injuries=injury(from_centerline="120 mm", angle="0 deg"))
    assert world(SIZE + CROWN).decide(case).verdict == "within-limits"
    banded = world(SIZE + CROWN + TREAD).decide({**case, "method": "one-piece"})
    assert (banded.verdict, asked(banded)) == ("undetermined", ["tire.tread_width"])


def _repaired(rules, activity="repair", **repair):
    earlier = {"diameter": "6 mm", "zone": "crown", "method": "one-piece", **repair}
    kept = {key: value for key, value in earlier.items() if value is not None}
    return world(SIZE + rules).decide(us_case(tire=WIDE, earlier_repairs=[kept], repairs={"overlap": False}))


@pytest.mark.parametrize(
    ("offset", "outcome"),
    [("0 mm", "passes"), ("71.9 mm", "passes"), ("72 mm", "fails"), ("70 mm to 73 mm", "unknown"), ("120 mm", "fails")],
)
def test_an_earlier_repair_is_held_to_a_band(offset, outcome):
    """Three quarters of half the tread are 75 mm; the repair reaches 3 mm further than its middle."""
    found = _repaired(EARLIER_BAND, from_centerline=offset)
    assert outcomes(found, "invented-trade/earlier-band") == {outcome}


def test_an_earlier_repair_without_a_size_asks_for_it_unless_its_middle_lies_beyond_the_band():
    found = _repaired(EARLIER_BAND, diameter=None, from_centerline="10 mm")
    assert (found.verdict, asked(found)) == ("undetermined", ["repair.diameter"])
    assert _repaired(EARLIER_BAND, diameter=None, from_centerline="75 mm").verdict == "outside-limits"


@pytest.mark.parametrize(
    ("offset", "outcome"), [("97 mm", "passes"), ("98 mm", "unknown"), ("103 mm", "fails"), (None, "passes")]
)
def test_an_earlier_repair_called_crown_is_judged_by_its_measured_place(offset, outcome):
    found = _repaired(EARLIER_ZONE, from_centerline=offset)
    assert outcomes(found, "invented-trade/earlier-zone") == {outcome}


def test_an_earlier_repair_inside_every_band_lies_in_the_crown():
    rules = EARLIER_BAND + rule("only-crown", "permit: {fact: repair.zone, values: [crown]}")
    found = _repaired(rules, zone=None, from_centerline="10 mm")
    assert outcomes(found, "invented-trade/only-crown") == {"passes"}
    assert _repaired(rules, zone=None).verdict == "undetermined"
    assert asked(_repaired(rules, zone=None)) == ["repair.zone"]


def test_a_zone_that_was_named_and_not_measured_is_said_to_be_so():
    two = [*injury(), *injury(from_centerline="10 mm")]
    case = us_case(tire=WIDE, injuries=two, earlier_repairs=[{"zone": "crown"}, {}], repairs={"overlap": False})
    (said,) = notices(world(SIZE).decide(case), "zone-named")
    assert said == "Named, not measured from the center line of the tread: the zone of injury 1, earlier repair 1."
    measured = us_case(tire=WIDE, injuries=injury(from_centerline="10 mm"))
    assert notices(world(SIZE).decide(measured), "zone-named") == []


def test_a_caller_can_demand_measured_zones():
    rulebook = world(SIZE + CROWN)
    named = us_case(tire=WIDE, method="one-piece")
    assert rulebook.decide(named).verdict == "within-limits"
    demanded = rulebook.decide({**named, "zones": "measured"})
    assert (demanded.verdict, asked(demanded)) == ("undetermined", ["injury.from_centerline"])
    assert notices(demanded, "zone-named") == []
    placed = rulebook.decide({**named, "zones": "measured", "injuries": injury(angle="0 deg", from_centerline="10 mm")})
    assert placed.verdict == "within-limits"
    earlier = us_case(tire=WIDE, earlier_repairs=[{"zone": "crown", "diameter": "4 mm"}], zones="measured")
    found = world(SIZE + EARLIER_ZONE).decide({**earlier, "injuries": injury(angle="0 deg", from_centerline="10 mm")})
    assert (found.verdict, asked(found)) == ("undetermined", ["repair.from_centerline"])


def test_each_method_is_held_to_the_place():
    found = world(SIZE + CROWN + TREAD).decide(
        us_case(tire=WIDE, injuries=injury(diameter="6 mm", angle="0 deg", from_centerline="120 mm"))
    )
    assert by_method(found) == {
        "one-piece": "outside-limits",
        "two-piece": "outside-limits",
        "section": "within-limits",
    }
