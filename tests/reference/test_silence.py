"""The oracle by hand on what no rule speaks of: sizes of earlier repairs, classes made for no highway, regrooves."""

from __future__ import annotations

from typing import Any

import pytest

from tests.reference.by_hand import ANY_SIZE, ANY_TREAD, OPEN, OUTSIDE, WITHIN, pack, rule, verdict
from tests.reference.oracle import decide
from tests.reference.words import ACTIVITIES


def sized(when: dict[str, Any] | None = None, **limit: str) -> dict[str, Any]:
    """A limit on the damage under an earlier repair, for every act."""
    bounds = {key.replace("_", "-"): value for key, value in limit.items()}
    body = {"activity": list(ACTIVITIES), "limit": {"fact": "repair.diameter", **bounds}}
    return body | ({"when": when} if when else {})


def carrying(rules: list[dict[str, Any]], activity: str, carried: list[dict[str, Any]]) -> str:
    """The verdict on a passenger tire that carries repairs, where nothing but `rules` speaks of those."""
    hole = [{"diameter": "1 mm"}] if activity == "repair" else []
    case = {"jurisdictions": ["US"], "activity": activity, "on": "2026-11-25", "injuries": hole, "findings": []}
    case |= {"tire": {"class": "passenger", "tread_depth": "9 mm"}, "earlier_repairs": carried, "method": "one-piece"}
    case |= {"repairs": {"overlap": False}}
    return decide([pack(*rules), pack(ANY_SIZE, ANY_TREAD, name="trade", kind="baseline")], case)["verdict"]


EIGHT = [{"diameter": "8 mm", "zone": "crown", "method": "one-piece"}]


@pytest.mark.parametrize(
    ("rules", "expected"),
    [
        # What is already there is judged as what is new: a size that nothing limits does not pass.
        ([], OPEN),
        ([sized(at_most="8 mm")], WITHIN),
        ([sized(at_most="7 mm")], OUTSIDE),
        ([sized(at_least="1 mm")], OPEN),
        ([sized({"tire.class": "bus"}, at_most="8 mm")], OPEN),
        ([sized({"repair.zone": "crown"}, at_most="8 mm")], WITHIN),
        ([sized({"repair.zone": {"not": "crown"}}, at_most="8 mm")], OPEN),
        ([{**sized(at_most="8 mm"), "source": "memory"}], OPEN),
    ],
)
def test_the_size_of_an_earlier_repair_is_limited_where_it_is_judged(rules, expected):
    for act in ("repair", "used-tire-installation", "used-tire-sale"):
        assert carrying(rules, act, EIGHT) == expected
        assert carrying(rules, act, []) == WITHIN
    # To drive on one, or to inspect it, is no act of repairing.
    for act in ("road-use", "inspection", "tire-sale", "vehicle-sale"):
        assert carrying(rules, act, EIGHT) == (OUTSIDE if expected == OUTSIDE else WITHIN)


def test_each_earlier_repair_is_limited_whatever_is_unknown_of_it():
    crown = sized({"repair.zone": "crown"}, at_most="8 mm")
    elsewhere = sized({"repair.zone": {"not": "crown"}}, at_most="8 mm")
    unknown, sidewall = [{"diameter": "8 mm"}], [{**EIGHT[0], "zone": "sidewall"}]
    assert carrying([crown], "used-tire-sale", [*EIGHT, *sidewall]) == OPEN
    assert carrying([crown], "used-tire-sale", unknown) == OPEN
    assert carrying([crown, elsewhere], "used-tire-sale", [*EIGHT, *sidewall, *unknown]) == WITHIN


@pytest.mark.parametrize(
    ("rules", "farm", "off_road"),
    [
        ([], OPEN, OPEN),
        ([rule(permit={"fact": "tire.class", "values": ["agricultural", "passenger"]})], WITHIN, OUTSIDE),
        ([rule(prohibit={"fact": "tire.class", "values": ["off-road"]})], OPEN, OUTSIDE),
        # A bar on temporary spares says nothing of tires that were made for no highway.
        ([rule(prohibit={"fact": "tire.class", "values": ["temporary-spare"]})], OPEN, OPEN),
        ([rule(when={"tire.retread": True}, permit={"fact": "tire.class", "values": ["agricultural"]})], OPEN, OPEN),
        ([rule(when={"tire.class": "agricultural"}, require={"steps": ["demount"]})], OPEN, OPEN),
    ],
)
def test_a_class_made_for_no_highway_is_judged_like_the_mark(rules, farm, off_road):
    for name, expected in (("agricultural", farm), ("off-road", off_road)):
        assert verdict(rules, tire={"class": name, "retread": False}, findings=[]) == expected
    # Of every other class silence says nothing.
    assert verdict([], tire={"class": "trailer"}, findings=[]) == WITHIN


def test_who_names_any_regroove_judges_an_unmarked_one():
    named = rule(when={"findings": ["regroove"]}, require={"steps": ["demount"]})
    assert verdict([named], tire={"class": "bus"}, findings=["unmarked-regroove"]) == WITHIN
    assert verdict([], tire={"class": "bus"}, findings=["unmarked-regroove"]) == OPEN
