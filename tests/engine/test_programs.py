"""Which rules make a program, and what is kept: next to nothing, never a ticket, and forgetting changes no answer.

All tickets and invented rules are invented.
"""

from __future__ import annotations

import json
from collections import Counter
from itertools import islice
from random import Random
from typing import Any

import tirerules
from tests.engine import SIZE, country, pack, rule, us_case, world
from tests.engine.forgetting import keep
from tests.reference.drawing import drawn_cases
from tests.support import builtin_packs, injury, repair_case
from tirerules import Decision, Rulebook, case_from_json, quantities
from tirerules.case import reading
from tirerules.engine import worked_out
from tirerules.engine.programs import rules_for
from tirerules.engine.tables import ABSENT, Table
from tirerules.vocabulary import FINDINGS, REPAIR_METHODS, Dimension

# --- which rules ------------------------------------------------------------------------------------------------------

DATED = rule(
    "dated",
    "limit: {fact: injury.diameter, at-most: 1 mm}",
    more="in-force: {from: 2020-01-01, until: 2025-01-01}",
)


def _names(rulebook: Rulebook, on: str, activity: str = "repair") -> list[str]:
    return [each.name for each in rulebook.program(("US",), activity, on).rules]


def test_between_two_days_of_change_one_program_holds():
    rulebook = world(SIZE + DATED)
    assert rulebook.changes(("US",), "repair") == ["2020-01-01", "2025-01-01"]
    days = ("1950-01-01", "2019-12-31", "2020-01-01", "2024-12-31", "2025-01-01", "2026-11-25")
    found = [rulebook.program(("US",), "repair", day) for day in days]
    assert [found.index(each) for each in found] == [0, 0, 2, 2, 4, 4]
    assert [_names(rulebook, day) for day in days[1:5]] == (
        [
            ["invented-trade/size"],
            ["invented-trade/dated", "invented-trade/size"],
            ["invented-trade/dated", "invented-trade/size"],
            ["invented-trade/size"],
        ]
    )


def test_a_program_is_made_for_a_method_that_the_case_names():
    rulebook = world(SIZE)
    assert rulebook.program(("US",), "repair", "2026-11-25").methods == REPAIR_METHODS
    assert rulebook.program(("US",), "repair", "2026-11-25", "strict", "boot").methods == ("boot",)
    assert rulebook.program(("US",), "road-use", "2026-11-25").methods == ()


def test_the_rules_of_an_act_and_of_what_it_implies_stand_by_name():
    acts = ("repair", "road-use", "used-tire-sale", "tire-sale")
    rules = "".join(
        rule(f"on-{each}", "limit: {fact: tire.age, at-most: 9 years}", activity=each) for each in reversed(acts)
    )
    packs = [pack(rules, "invented-trade", "baseline"), country(rules=rule("a", "require: {steps: [demount]}"))]
    assert [each.name for each in rules_for(packs, "repair")] == (
        ["US/a", "invented-trade/on-repair", "invented-trade/on-road-use"]
    )
    assert [each.name for each in rules_for(packs, "used-tire-sale")] == (
        ["invented-trade/on-tire-sale", "invented-trade/on-used-tire-sale"]
    )


def test_a_place_whose_law_was_not_read_is_known_to_the_program():
    unread = country("CA", coverage="{repair: none-located, tire-sale: not-reviewed}")
    rulebook = world(SIZE, unread)
    assert rulebook.program(("CA",), "tire-sale", "2026-11-25").unreviewed == ("CA",)
    assert rulebook.program(("US",), "tire-sale", "2026-11-25").unreviewed == ()
    assert rulebook.program(("CA",), "repair", "2026-11-25").unreviewed == ()


# --- what is kept -----------------------------------------------------------------------------------------------------


def _answer(decision: Decision) -> tuple[Any, ...]:
    return decision.verdict, [(each.method, each.verdict) for each in decision.methods], decision.limits_method


def _held(rulebook: Rulebook) -> Counter[str]:
    """Return how many entries of each class and attribute a rulebook keeps, over all that is reached from it.

    A table by the fact that it is of; what belongs to the packs, which never changes, is left out.
    """
    sizes: Counter[str] = Counter()
    met: set[int] = set()

    def look(value: Any, name: str) -> None:
        if id(value) in met:
            return
        met.add(id(value))
        if isinstance(value, dict):
            sizes["Table" if isinstance(value, Table) else name] += len(value)
            for each in (*value, *value.values()):
                look(each, name)
        elif isinstance(value, (tuple, list)):
            for each in value:
                look(each, name)
        if type(value).__module__.startswith("tirerules.engine"):
            kind = type(value)
            names = [*vars(value)] if hasattr(value, "__dict__") else [*kind.__slots__]
            for each in names:
                if hasattr(value, each):
                    look(getattr(value, each), f"{kind.__name__}.{each}")

    look(rulebook._programs, "")
    return sizes


def _tables(rulebook: Rulebook, case: dict[str, Any]) -> list[Table]:
    program = rulebook.decide(case).evaluation.program
    return list(program.tables.values())


def _ticket(at: int) -> dict[str, Any]:
    """Return an invented ticket of which no two are alike, all with the same facts known."""
    return repair_case(
        on=f"2026-{at % 12 + 1:02}-{at % 28 + 1:02}",
        injuries=injury(diameter=f"{at}/90 mm", angle=f"{at}/20 deg"),
        tire={"size": f"{155 + 5 * (at % 40)}/45R17", "tread_depth": f"{at}/64 mm"},
    )


def test_no_ticket_is_kept_but_for_the_masks_of_its_values():
    rulebook = tirerules.load()
    for at in range(300):
        rulebook.decide(_ticket(at)).notices  # noqa: B018  # the notices ask for other programs
    before = _held(rulebook)
    for at in range(300, 600):
        rulebook.decide(_ticket(at)).notices  # noqa: B018
    after = _held(rulebook)
    assert after["Table"] > before["Table"] + 300
    grown = {name for name, size in after.items() if size != before[name]}
    # Places of both ends among the bounds that rules name, and what follows from sets of rules (limits, notices): as
    # many as the rules make, whatever is measured.
    assert grown <= {"Table", "Table._places", "Table.scale", "Program._made", "Programs._scales"}


def test_forgetting_changes_no_answer_and_no_table_grows_beyond_its_bound(monkeypatch):
    drawn = list(islice(drawn_cases(Random(8), builtin_packs()), 300))
    drawn += [_ticket(at) | {"findings": [FINDINGS[at % len(FINDINGS)]]} for at in range(300)]
    cases = [each for said in drawn for each in (said, case_from_json(said))]
    free = tirerules.load()
    wanted = [_answer(free.decide(each)) for each in cases]
    texts = [json.dumps(said) for said in drawn[::5]]
    told = [free.decide_json(text) for text in texts]
    most = 20
    keep(monkeypatch, most)
    tight = tirerules.load()
    for each, answer in zip(cases, wanted, strict=True):
        assert _answer(tight.decide(each)) == answer
        programs = tight._programs
        assert max(len(programs._programs), len(programs._places)) <= most
    assert [tight.decide_json(text) for text in texts] == told
    for table in _tables(tight, _ticket(1)):
        assert {None, ABSENT} <= table.keys()
        assert len(table) <= max(most, 2)
    assert max(map(len, _tables(free, _ticket(1)))) > most
    assert len(free._programs._programs) > most


def test_texts_sizes_and_days_are_forgotten(monkeypatch):
    rulebook = tirerules.load()
    cases = [_ticket(at) for at in range(60)]
    wanted = [_answer(rulebook.decide(each)) for each in cases]
    most = 5
    keep(monkeypatch, most)
    kept: tuple[dict[Any, Any], ...] = (quantities.READINGS[Dimension.LENGTH], worked_out._SIZES, reading._DAYS)
    for each in kept:
        each.clear()
    for case, answer in zip(cases, wanted, strict=True):
        assert _answer(rulebook.decide(case)) == answer
        assert all(0 < len(each) <= most for each in kept)


def test_what_is_refused_is_not_kept():
    rulebook = world(SIZE)
    texts, days = quantities.READINGS[Dimension.LENGTH], reading._DAYS
    for changes in ({"injuries": injury(diameter="5 furlong-ish")}, {"on": "2026-02-30"}, {"tire": {"size": "17"}}):
        try:
            rulebook.decide(us_case(**changes))
        except tirerules.CaseError:
            continue
        raise AssertionError(changes)
    assert "5 furlong-ish" not in texts
    assert "2026-02-30" not in days
    assert "17" not in worked_out._SIZES
