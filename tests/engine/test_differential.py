"""The library decides as the specification says, in every part of a decision, on cases drawn around what rules say.

The specification is `tests/reference`: it works from the plain YAML of packs, one rule at a time, and shares nothing
with the library; it is itself worked by hand there. Everything drawn is invented, but for the packs that ship.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest

from tests.engine.differential import books, builtin, compared, disagreement, explained
from tests.reference.by_hand import ANY_SIZE, pack
from tests.reference.words import ACTIVITIES, JUDGED_METHODS
from tests.support import rulebook_of

#: Cases on invented packs and on those that ship, every time and in the long run.
INVENTED, BUILTIN = 2_200, 800
LONG = 10
VERDICTS = ("within-limits", "undetermined", "outside-limits")

runs = pytest.mark.parametrize("times", [1, pytest.param(LONG, marks=pytest.mark.long)])


@runs
def test_invented_packs_are_decided_as_specified(times):
    seen: Counter[Any] = Counter()
    for book in books(times):
        if (found := compared(book, INVENTED * times, seen)) is not None:
            pytest.fail(found, pytrace=False)
        if seen["cases"] >= INVENTED * times:
            break
    kinds = ("none-located", "not-reviewed", "gap", "evidence", "currency", "extension", "not-yet-in-force")
    wanted = _always() | {("notice", each): 0.005 for each in (*kinds, "zone-named", "carrier", "resale")}
    wanted |= {("method", method, verdict): 0.001 for method in JUDGED_METHODS for verdict in VERDICTS}
    wanted |= {("limit", key): 0.02 for key in ("less_than", "at_least", "more_than", "several bind")}
    wanted |= {("geometry", key): 0.02 for key in ("known", "band", "margin")}
    wanted |= {("requirement", True): 0.001, ("requirement", False): 0.01}
    words = ("by measurement", "beyond the tread", "along the surface", "readings", "made in week")
    wanted |= {("measured", each): 0.001 for each in words}
    wanted |= {("rule of the library's own", f"engine/{each}"): 0.01 for each in ("law-reviewed", "finding-judged")}
    wanted |= {("counted",): 0.02, ("extended",): 0.005, ("pair",): 0.05, ("as repaired",): 0.02}
    wanted |= {("follows from two",): 0.02, ("zones measured",): 0.01}
    assert _missed(wanted, seen) == {}


@runs
def test_built_in_packs_are_decided_as_specified(times):
    seen: Counter[Any] = Counter()
    if (found := compared(builtin(times), BUILTIN * times, seen)) is not None:
        pytest.fail(found, pytrace=False)
    assert seen["cases"] == BUILTIN * times
    wanted = _always() | {("requirement", doubtful): 0.01 for doubtful in (True, False)}
    kinds = ("none-located", "partial", "not-reviewed", "gap", "evidence", "zone-named")
    wanted |= {("notice", each): 0.005 for each in kinds}
    assert _missed(wanted, seen) == {}


@pytest.mark.parametrize(
    ("rules", "case"),
    [
        # What limits earlier repairs for one method only limits them for none; this was once answered in two ways.
        pytest.param(
            [
                {"limit": {"fact": "repair.diameter", "at-most": "10 mm"}, "when": {"method": "one-piece"}},
                {"limit": {"fact": "injury.diameter", "at-most": "6 mm"}},
            ],
            {"injuries": [{"diameter": "5 mm"}], "earlier_repairs": [{}]},
            id="a limit for one method",
        ),
        # A rule may read a fact that is worked out in its body alone; this was once told in one of two places.
        pytest.param(
            [{"prohibit": {"fact": "vehicle.commercial_motor_vehicle", "values": [True]}}],
            {"vehicle": {"kind": "light-truck", "gvwr": "3000 kg"}, "injuries": [{"diameter": "5 mm"}]},
            id="a carrier by the body of a rule",
        ),
        # No rule sees where two repairs are while the tire's diameter is unknown; what is asked next depends on it.
        *(
            pytest.param(
                [{"limit": {"fact": "repairs.spacing", "at-least": "400 mm"}}],
                {"injuries": [{"diameter": "5 mm", "clock": new}], "earlier_repairs": [{"clock": old}]},
                id=f"places {new} and {old}",
            )
            for new, old in (("3:00", "6:00"), (None, None), ("3:00", None))
        ),
    ],
)
def test_what_was_once_decided_in_two_ways(rules, case):
    packs = [pack(*({"activity": ["repair"], **each} for each in rules))]
    asked = {"jurisdictions": ["US"], "activity": "repair", "on": "2026-11-25", **case}
    assert disagreement(rulebook_of(packs), packs, asked, in_all_forms=True) is None


def test_a_disagreement_is_shown_on_the_smallest_packs_and_case():
    packs = [pack(ANY_SIZE, {"activity": ["repair"], "limit": {"fact": "injury.length", "at-most": "1 mm"}})]
    asked = {"jurisdictions": ["US"], "activity": "repair", "on": "2026-11-25", "injuries": [{"diameter": "5 mm"}]}
    laxer = [pack(ANY_SIZE)]
    found = disagreement(rulebook_of(packs), laxer, asked, in_all_forms=False)
    assert found is not None
    assert found.startswith("verdict:")
    assert "answered otherwise when asked again" in explained(packs, asked)


def _always() -> dict[Any, float]:
    """What makes a difference whatever the packs, and the least share of cases in which it must occur."""
    wanted: dict[Any, float] = {("verdict", kind, verdict): 0.004 for kind in (True, False) for verdict in VERDICTS}
    wanted |= {("activity", activity): 0.01 for activity in ACTIVITIES}
    wanted |= {("questions", number): 0.05 for number in (0, 1, 2)}
    wanted |= {("outcome", outcome): 0.5 for outcome in ("passes", "fails", "unknown")}
    wanted |= {("unrecorded", key): 0.02 for key in ("injuries", "earlier_repairs", "findings")}
    wanted |= {("limit", key): 0.1 for key in ("at_most", "permitted", "prohibited", "doubtful")}
    own = ("engine/limit-located", "engine/open-injury")
    return wanted | {("rule of the library's own", each): 0.02 for each in own} | {("several injuries",): 0.05}


def _missed(wanted: dict[Any, float], seen: Counter[Any]) -> dict[Any, str]:
    """What occurred in too few cases: a comparison of what never occurs proves nothing."""
    cases = seen["cases"]
    return {what: f"{seen[what]} of {cases}" for what, share in wanted.items() if seen[what] < share * cases}
