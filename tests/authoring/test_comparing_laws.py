"""Laws of comparing, on random packs, and held against the engine itself. Every rule and case is invented.

What preserves the meaning changes nothing; what loosens is called looser and what tightens tighter; the other way round
says the mirror image; and no case that a pack decides turns out otherwise without a change that says so.
"""

from __future__ import annotations

import itertools
import json
import re
from collections.abc import Iterable, Sequence
from copy import deepcopy
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from hypothesis import assume, given
from hypothesis import strategies as st

from tests.amounts import law
from tests.authoring.comparing import Rules, at_most, changes_of, effects, limit, one, pack_of
from tests.engine import with_packs, world
from tests.support import pack_text
from tirerules import Verdict, record
from tirerules.authoring.comparing.change import Change, Effect, Kind, Level
from tirerules.authoring.comparing.comparison import compare_packs
from tirerules.authoring.comparing.demands import as_strict
from tirerules.authoring.comparing.meaning import limit_changes
from tirerules.authoring.comparing.sources import hold
from tirerules.case import Case
from tirerules.engine.parts import Outcome, Reason
from tirerules.engine.tread import counted_depth
from tirerules.packs.pack import Pack
from tirerules.packs.rule import Counted
from tirerules.quantities import measure
from tirerules.vocabulary import FACTS, FINDINGS, GROOVES, PLACES, Activity, answering

# --- ways to count tread ----------------------------------------------------------------------------------------------

grids = st.integers(2, 4).flatmap(
    lambda grooves: st.lists(
        st.lists(st.integers(0, 4).map(lambda n: measure(f"{n} mm")), min_size=grooves, max_size=grooves),
        min_size=3,
        max_size=6,
    ).filter(lambda rows: len(rows) % 3 == 0)
)
ways = st.builds(Counted, st.sampled_from(GROOVES), st.sampled_from(PLACES))


@given(grids, ways, ways)
def test_a_stricter_way_to_count_never_finds_more_tread(grid, first, second):
    assume(as_strict(first, second))
    rows = tuple(tuple(row) for row in grid)
    one_depth, other = counted_depth(rows, first), counted_depth(rows, second)
    assert one_depth is not None
    assert other is not None
    assert one_depth.high <= other.high


def test_which_ways_to_count_are_stricter():
    stricter = {(a, b) for a in GROOVES for b in GROOVES if as_strict(Counted(a), Counted(b))}
    assert {("any-two", "center"), ("center", "any-two"), ("every", "center")} & stricter == set()
    assert all(("any-one", each) in stricter and (each, "every") in stricter for each in GROOVES)
    assert not as_strict(Counted("every", 2), Counted("every", 1))


# --- random packs -----------------------------------------------------------------------------------------------------

LENGTHS = ("5 mm", "6 mm", "1/4 in", "8 mm", "3/8 in")
DUALS = ({"value": "1/4 in", "also-printed": "6 mm"}, {"value": "3/8 in", "also-printed": "10 mm"})
SHARES = ("1/2", "60 %", "3/4")
DAYS = ("2020-01-01", "2021-01-01", "2022-01-01")
SOME_FINDINGS = ("bulge", "leak", "weather-cracking")
CLASSES = FACTS["tire.class"].values


def some(words: Sequence[str], most: int = 3) -> st.SearchStrategy[list[str]]:
    return st.lists(st.sampled_from(words), min_size=1, max_size=most, unique=True)


ceilings = st.sampled_from(["at-most", "less-than"])
floors = st.sampled_from(["at-least", "more-than"])
counted = st.fixed_dictionaries({"grooves": st.sampled_from(GROOVES), "places": st.sampled_from(PLACES)})


BODIES: dict[str, st.SearchStrategy[dict[str, Any]]] = {
    "size": st.builds(limit, st.just("repair.diameter"), ceilings, st.sampled_from([*LENGTHS, *DUALS])),
    "tread": st.one_of(
        st.builds(limit, st.just("tire.tread_depth"), floors, st.sampled_from(LENGTHS)),
        st.builds(limit, st.just("tire.tread_depth"), floors, st.sampled_from(LENGTHS), counted=counted),
    ),
    "count": st.builds(limit, st.just("repairs.count"), ceilings, st.integers(1, 4)),
    "band": st.builds(
        limit,
        st.just("injury.reach"),
        ceilings,
        st.fixed_dictionaries(
            {"half-of": st.sampled_from(["tire.tread_width", "tire.section_width"]), "share": st.sampled_from(SHARES)},
            optional={"inset": st.sampled_from(["10 mm", "1 in"])},
        ),
    ),
    "angle": st.builds(limit, st.just("injury.angle"), ceilings, st.sampled_from(["15 deg", "25 deg", "35 deg"])),
    "zone": st.builds(
        lambda body, words: {body: {"fact": "repair.zone", "values": words}},
        st.sampled_from(["permit", "prohibit"]),
        some(FACTS["repair.zone"].values),
    ),
    "findings": some(SOME_FINDINGS).map(lambda words: {"disqualify": {"findings": words}}),
    "steps": some(["demount", "maker-standard", "no-tube-instead"]).map(lambda steps: {"require": {"steps": steps}}),
}


def either(words: Sequence[str]) -> st.SearchStrategy[Any]:
    return st.one_of(some(words), some(words).map(lambda chosen: {"not": chosen}))


def span(figures: Sequence[Any]) -> st.SearchStrategy[Any]:
    pair = st.lists(st.sampled_from(range(len(figures))), min_size=2, max_size=2, unique=True).map(sorted)
    return st.one_of(
        st.builds(lambda relation, figure: {relation: figure}, st.one_of(ceilings, floors), st.sampled_from(figures)),
        st.builds(
            lambda ends, low, high: {low: figures[ends[0]], high: figures[ends[1]]},
            pair,
            floors,
            ceilings,
        ),
    )


TESTS: dict[str, st.SearchStrategy[Any]] = {
    "tire.class": either(("passenger", "bus", "motorcycle")),
    "tire.load_range": st.one_of(some(("B", "E", "F")), span(("B", "E", "H"))),
    "vehicle.gvwr": span(("4000 kg", "10000 lb", "5000 kg")),
    "tire.retread": st.booleans(),
    "repairs.count": span((1, 3)),
    "findings": either(SOME_FINDINGS),
    "injury.kind": st.sampled_from(["cut", {"not": "cut"}, ["puncture", "cut"]]),
    "method": some(("one-piece", "two-piece")),
    "repair.method": either(("one-piece", "two-piece")),
}
conditions = st.lists(st.sampled_from(sorted(TESTS)), max_size=2, unique=True).flatmap(
    lambda facts: st.fixed_dictionaries({fact: TESTS[fact] for fact in facts})
)
periods = st.one_of(
    st.just({}),
    st.sampled_from(DAYS).map(lambda day: {"from": day}),
    st.sampled_from(DAYS).map(lambda day: {"until": day}),
    st.just({"from": DAYS[0], "until": DAYS[2]}),
)
acts = some(("repair", "road-use", "used-tire-installation"), 2)


@st.composite
def rules(draw: st.DrawFn, bodies: Iterable[str] = tuple(BODIES)) -> dict[str, Any]:
    """Draw one rule without an id."""
    said: dict[str, Any] = {"says": "Invented.", "activity": draw(acts), "source": "text"}
    said |= draw(BODIES[draw(st.sampled_from(sorted(bodies)))])
    when, period = draw(conditions), draw(periods)
    return said | ({"when": when} if when else {}) | ({"in-force": period} if period else {})


def named(found: Iterable[dict[str, Any]], prefix: str = "rule") -> Rules:
    return [
        {"id": f"{prefix}-{number}", **{k: v for k, v in each.items() if k != "id"}}
        for number, each in enumerate(found)
    ]


several = st.lists(rules(), min_size=1, max_size=4)


# --- a rewrite that preserves the meaning changes nothing -------------------------------------------------------------


def in_other_units(value: Any) -> Any:
    """Return a rule in which every figure is stated in another unit, or as another fraction."""
    if isinstance(value, dict):
        return {key: in_other_units(each) for key, each in value.items()}
    if isinstance(value, list):
        return [in_other_units(each) for each in value]
    found = re.fullmatch(r"([0-9./]+) (mm|in|kg|lb|deg)", value) if isinstance(value, str) else None
    if found is None:
        return value
    number, unit = Fraction(found[1]), found[2]
    inch, pound = Fraction(254, 10), Fraction(45359237, 10**8)  # the exact definitions; kg has too many digits in lb
    match unit:
        case "mm":
            number, unit = number / inch, "in"
        case "in":
            number, unit = number * inch, "mm"
        case "lb":
            number, unit = number * pound, "kg"
    return f"{number.numerator}/{number.denominator} {unit}"


def split_by_class(said: dict[str, Any], words: Sequence[str]) -> Rules:
    """Return two rules, one for the tire classes `words` and one for the others."""
    test = said.get("when", {}).get("tire.class", {"not": []})
    listed = test["not"] if isinstance(test, dict) else test
    mine = set(CLASSES) - set(listed) if isinstance(test, dict) else set(listed)
    parts = [sorted(mine & set(words)), sorted(mine - set(words))]
    return [{**said, "when": {**said.get("when", {}), "tire.class": part}} for part in parts if part]


def split_by_day(said: dict[str, Any], day: str) -> Rules:
    period = said.get("in-force", {})
    start, end = period.get("from", "0001-01-01"), period.get("until", "9999-12-31")
    if not start < day < end:
        return [said]
    return [{**said, "in-force": {**period, "until": day}}, {**said, "in-force": {**period, "from": day}}]


def other_way_round(said: dict[str, Any]) -> dict[str, Any]:
    """Return a rule that says by exception what it said by list, and counts the other way."""
    said = deepcopy(said)
    for body, other in (("permit", "prohibit"), ("prohibit", "permit")):
        if body in said:
            every = FACTS[said[body]["fact"]].values
            rest = [word for word in every if word not in said[body]["values"]]
            if rest:
                said[other] = {**said.pop(body), "values": rest}
            return said
    if said.get("limit", {}).get("fact") == "repairs.count":
        figure = said["limit"].pop("at-most", None)
        said["limit"] |= (
            {"less-than": figure + 1} if figure is not None else {"at-most": said["limit"].pop("less-than") - 1}
        )
    test = said.get("when", {}).get("tire.class")
    if test is not None:
        rest = [word for word in CLASSES if word not in (test["not"] if isinstance(test, dict) else test)]
        said["when"]["tire.class"] = rest if isinstance(test, dict) else {"not": rest}
    return said


def laxer(said: dict[str, Any]) -> dict[str, Any]:
    """Return a rule that never binds beside `said`, or the same rule again."""
    said = deepcopy(said)
    for relation in ("at-most", "less-than"):
        figure = said.get("limit", {}).get(relation)
        if isinstance(figure, str):
            said["limit"][relation] = f"50 {figure.split()[1]}"
    return said


@st.composite
def rewrites(draw: st.DrawFn) -> tuple[Rules, Rules]:
    """Draw rules, and the same rules said otherwise."""
    old = draw(several)
    new: Rules = []
    for said in old:
        parts = [said]
        for turn in draw(st.lists(st.sampled_from(["class", "day", "unit", "around", "again"]), max_size=3)):
            match turn:
                case "class":
                    words = draw(some(CLASSES, 5))
                    parts = [part for each in parts for part in split_by_class(each, words)]
                case "day":
                    day = draw(st.sampled_from(["2020-06-01", "2021-06-01"]))
                    parts = [part for each in parts for part in split_by_day(each, day)]
                case "unit":
                    parts = [in_other_units(each) for each in parts]
                case "around":
                    parts = [other_way_round(each) for each in parts]
                case _:
                    parts += [laxer(each) for each in parts]
        new += parts
    return named(old), named(draw(st.permutations(new)), "other")


@law(rewrites(), examples=40)
def test_a_rewrite_that_preserves_the_meaning_changes_nothing(pair):
    old, new = (pack_of(each) for each in pair)
    found = compare_packs(old, new)
    assert [str(change) for change in found if change.kind not in (Kind.TEXT, Kind.EVIDENCE)] == []
    assert max((change.level for change in found), default=Level.PATCH) is Level.PATCH


def test_the_order_of_rules_conditions_activities_and_sources_changes_nothing():
    both = {"tire.class": ["bus", "passenger"], "axle.steer": True}
    first = one(at_most("6 mm"), "a", when=both, activity=["used-tire-sale", "used-tire-installation"])
    turned = {
        **first,
        "when": {"axle.steer": True, "tire.class": ["passenger", "bus"]},
        "activity": first["activity"][::-1],
    }
    second = one({"prohibit": {"fact": "repair.zone", "values": ["bead", "sidewall"]}}, "b")
    more = "more: {citation: Invented Code § 2, authority: company, evidence: text-read}"
    old, new = (
        pack_text(
            "\n".join(f"- {json.dumps(each)}" for each in said),
            coverage="{used-tire-installation: rules, used-tire-sale: rules}",
        )
        for said in ([first, second], [second, turned])
    )
    old = old.replace("sources:\n", f"sources:\n  {more}\n")
    new = new.replace("rules:\n", f"  {more}\nrules:\n", 1)

    def said(classes: str) -> str:
        acts = "used-tire-installation, used-tire-sale"
        return f"at most 6 mm [{acts}; axle.steer is yes; tire.class is {classes}; unknown to now]"

    found = compare_packs(*(held.pack for side in (old, new) for held in hold([("x.yaml", side.encode())])))
    assert [str(change) for change in found] == [
        "rule a is stated otherwise and means the same: "
        f"{said('bus or passenger')} -> {said('passenger or bus')} (text)"
    ]


# --- a loosening is always called looser, a tightening tighter --------------------------------------------------------

ORDER = ("5 mm", "6 mm", "1/4 in", "8 mm", "3/8 in")  # rising
BODY_OF = {  # which bodies can be loosened so
    "raise a ceiling": "size",
    "lower a floor": "tread",
    "include the figure": "size",
    "raise a share": "band",
    "drop a prohibited word": "zone",
    "add a permitted word": "zone",
    "drop a finding": "findings",
    "drop a step": "steps",
    "drop a figure": "size",
    "count otherwise": "tread",
}
ANY_BODY = ("narrow a condition", "add a condition", "start later", "end earlier", "drop the rule")


def _index(figure: Any) -> int:
    return ORDER.index(figure["also-printed"] if isinstance(figure, dict) else figure)


@st.composite
def loosenings(draw: st.DrawFn) -> tuple[Rules, Rules]:
    """Draw rules that each limit a thing of their own, and the same rules with one of them loosened."""
    how = draw(st.sampled_from([*BODY_OF, *ANY_BODY]))
    body = BODY_OF.get(how) or draw(st.sampled_from(sorted(set(BODIES) - {"angle"})))
    old = draw(rules([body]))
    when = old.setdefault("when", {})
    when.pop("repairs.count", None)  # beside a limit on it, it can leave nothing to loosen
    new: dict[str, Any] | None = deepcopy(old)
    figure = next((each for key, each in old.get("limit", {}).items() if key != "fact" and key != "counted"), None)
    relation = next((key for key in old.get("limit", {}) if key != "fact"), "")
    assert new is not None
    match how:
        case "raise a ceiling":
            low, high = sorted(draw(st.lists(st.integers(0, 4), min_size=2, max_size=2, unique=True)))
            old["limit"][relation], new["limit"][relation] = ORDER[low], ORDER[high]
        case "lower a floor":
            low, high = sorted(draw(st.lists(st.integers(0, 4), min_size=2, max_size=2, unique=True)))
            old["limit"][relation], new["limit"][relation] = ORDER[high], ORDER[low]
        case "include the figure":
            old["limit"] = {"fact": "repair.diameter", "less-than": figure}
            new["limit"] = {"fact": "repair.diameter", "at-most": figure}
        case "raise a share":
            low, high = sorted(draw(st.lists(st.integers(0, 2), min_size=2, max_size=2, unique=True)))
            old["limit"][relation], new["limit"][relation] = ({**figure, "share": SHARES[each]} for each in (low, high))
        case "drop a prohibited word":
            words = draw(some(FACTS["repair.zone"].values, 4).filter(lambda found: len(found) > 1))
            for each in (old, new):
                each.pop("permit", None)
            old["prohibit"] = {"fact": "repair.zone", "values": words}
            new["prohibit"] = {"fact": "repair.zone", "values": words[1:]}
        case "add a permitted word":
            words = draw(some(FACTS["repair.zone"].values, 4).filter(lambda found: len(found) > 1))
            for each in (old, new):
                each.pop("prohibit", None)
            old["permit"] = {"fact": "repair.zone", "values": words[1:]}
            new["permit"] = {"fact": "repair.zone", "values": words}
        case "drop a finding":
            words = draw(some(FINDINGS, 4).filter(lambda found: len(found) > 1))
            old["disqualify"], new["disqualify"] = {"findings": words}, {"findings": words[1:]}
        case "drop a step":
            old["require"] = {"steps": ["demount", "maker-standard"]}
            new["require"] = {"steps": ["demount"]}
        case "drop a figure":
            old["limit"] = {"fact": "repair.diameter", "at-most": {"value": "1/4 in", "also-printed": "6 mm"}}
            new["limit"] = {"fact": "repair.diameter", "at-most": "1/4 in"}
        case "count otherwise":
            old["limit"].pop("counted", None)
            new["limit"]["counted"] = {
                "grooves": draw(st.sampled_from(GROOVES[1:])),
                "places": draw(st.sampled_from(PLACES)),
            }
        case "narrow a condition":
            words = draw(some(CLASSES, 5).filter(lambda found: len(found) > 1))
            when["tire.class"], new["when"]["tire.class"] = words, words[1:]
        case "add a condition":
            when.pop("tire.run_flat", None)
            new["when"]["tire.run_flat"] = draw(st.booleans())
        case "start later":
            old["in-force"], new["in-force"] = {"from": "2020-01-01"}, {"from": "2020-01-02"}
        case "end earlier":
            old["in-force"] = draw(st.sampled_from([{}, {"until": "2022-01-01"}]))
            new["in-force"] = {"until": "2021-12-31"}
        case _:
            new = None
    fact = _limited(old)
    others = [each for each in draw(st.lists(rules(), max_size=3)) if _limited(each) != fact]
    before, after = ([_said(each)] if each else [] for each in (old, new))
    return named([*before, *others]), named([*after, *others])


def _said(found: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in found.items() if value != {}}


def _limited(said: dict[str, Any]) -> str:
    body = next(said[key] for key in ("limit", "permit", "prohibit", "disqualify", "require") if key in said)
    return body.get("fact", "findings" if "findings" in body else "steps")


@law(loosenings(), examples=80)
def test_a_loosening_is_always_called_looser_and_a_tightening_tighter(pair):
    old, new = (pack_of(each) for each in pair)
    there, back = limit_changes(old.rules, new.rules), limit_changes(new.rules, old.rules)
    assert effects(there) == {Effect.LOOSER}
    assert {change.level for change in there} == {Level.MAJOR}
    assert effects(back) == {Effect.TIGHTER}
    assert {change.level for change in back} == {Level.MINOR}


@law(several, several, examples=40)
def test_comparing_the_other_way_round_says_the_mirror_image(old, new):
    there, back = (changes_of(named(one), named(other)) for one, other in ((old, new), (new, old)))
    assert sorted(map(mirrored, there)) == sorted(map(plain, back))
    for change in there:
        assert change.old != change.new
        assert change.says


SWAPPED = {"looser": "tighter", "tighter": "looser"}


def plain(change: Change) -> tuple[str, ...]:
    days = f"{change.start} {change.end}"
    whom = (*sorted(change.activities), *change.when, *sorted(change.rules))
    return (change.kind, change.effect, change.subject, change.old, change.new, days, *whom)


def mirrored(change: Change) -> tuple[str, ...]:
    kind, effect, subject, old, new, *whom = plain(change)
    return (SWAPPED.get(kind, kind), SWAPPED.get(effect, effect), subject, new, old, *whom)


# --- held against the engine ------------------------------------------------------------------------------------------

GRID_BODIES = st.builds(limit, st.just("repair.diameter"), ceilings, st.sampled_from(["5 mm", "6 mm", "8 mm"]))
GRID_CLASSES = ("passenger", "bus", "trailer")
GRID_TESTS = {"tire.class": either(("passenger", "bus")), "vehicle.gvwr": span(("4000 kg", "5000 kg"))}


@st.composite
def grid_rules(draw: st.DrawFn) -> Rules:
    found = []
    for _ in range(draw(st.integers(0, 3))):
        when = draw(st.fixed_dictionaries({}, optional=GRID_TESTS))
        period = draw(st.sampled_from([{}, {"from": DAYS[0]}, {"until": DAYS[1]}, {"from": DAYS[0], "until": DAYS[1]}]))
        found.append(_said(one(draw(GRID_BODIES), when=when, **{"in-force": period})))
    return named(found)


def grid() -> Iterable[Case]:
    """Yield every day and tire that rules of `grid_rules` can tell apart."""
    weights = (3999, 4000, 4500, 5000, 5001)
    for day, tire_class, weight, half in itertools.product(DAYS, GRID_CLASSES, weights, range(9, 18)):
        yield record.case_from_json(
            {
                "jurisdictions": ["US"],
                "activity": "used-tire-installation",
                "on": str(date.fromisoformat(day) - timedelta(days=1)),
                "tire": {"class": tire_class},
                "vehicle": {"gvwr": f"{weight} kg"},
                "earlier_repairs": [{"diameter": f"{half}/2 mm"}],
            }
        )


GRID = tuple(grid())
#: An invented country and an invented baseline that say nothing, so that what fails is what a pack beside them says.
SILENT = world()


def fails(found: Pack) -> list[bool]:
    """Return of each case of the grid whether a rule of `found` fails."""
    rulebook = with_packs(SILENT, found)
    return [rulebook.decide(case).verdict is Verdict.OUTSIDE for case in GRID]


@law(grid_rules(), grid_rules(), examples=25)
def test_what_is_called_looser_or_tighter_is_just_what_the_engine_answers_otherwise(old, new):
    before, after = pack_of(old), pack_of(new)
    flips = set(zip(fails(before), fails(after), strict=True))
    told = effects(limit_changes(before.rules, after.rules))
    assert (Effect.LOOSER in told or Effect.MIXED in told) == ((True, False) in flips)
    assert (Effect.TIGHTER in told or Effect.MIXED in told) == ((False, True) in flips)


LEVELS_OF_TREAD = ("4.9 mm", "5 mm", "6.2 mm", "8 mm", "9.6 mm")
READINGS_OF_TREAD = st.lists(st.lists(st.sampled_from(LEVELS_OF_TREAD), min_size=3, max_size=3), min_size=3, max_size=3)


@st.composite
def whole_cases(draw: st.DrawFn) -> dict[str, Any]:
    """Draw a case in which every fact that the random rules read is known."""
    pick = lambda *words: draw(st.sampled_from(words))  # noqa: E731
    activity = pick("repair", "repair", "road-use", "used-tire-installation")
    size = st.sampled_from(["5 mm", "6 mm", "6.2 mm", "1/4 in", "8 mm", "9.6 mm"])
    injury = st.fixed_dictionaries(
        {
            "kind": st.sampled_from(["puncture", "cut"]),
            "zone": st.just("crown"),
            "diameter": size,
            "angle": st.sampled_from(["14 deg", "25 deg", "34 deg"]),
            "leans": st.just("along-circumference"),
            "from_centerline": st.sampled_from(["10 mm", "50 mm", "60 mm", "70 mm"]),
        }
    )
    repair = st.fixed_dictionaries(
        {
            "diameter": size,
            "zone": st.sampled_from(FACTS["repair.zone"].values),
            "method": st.sampled_from(["one-piece", "two-piece", "section"]),
        }
    )
    unit = st.fixed_dictionaries(
        {
            "method": st.sampled_from(["one-piece", "two-piece"]),
            "rated_angle": st.sampled_from(["14 deg", "25 deg", "40 deg"]),
        },
        optional={"document": st.just("invented sheet")},
    )
    tire = {
        "class": pick("passenger", "bus", "motorcycle", "trailer"),
        "load_range": pick("A", "B", "D", "E", "F", "H", "J"),
        "retread": draw(st.booleans()),
        "tread_grid": draw(READINGS_OF_TREAD),
        "thickness": "10 mm",
        "tread_width": pick("30 mm", "180 mm", "240 mm"),
        "section_width": pick("150 mm", "250 mm"),
    }
    said = {
        "jurisdictions": ["US"],
        "activity": activity,
        "on": pick("2019-12-31", "2020-01-01", "2020-12-31", "2021-01-01", "2021-12-31", "2022-01-01"),
        "tire": tire,
        "vehicle": {"gvwr": pick("3999 kg", "4000 kg", "10000 lb", "4800 kg", "5000 kg", "5001 kg")},
        "injuries": draw(st.lists(injury, min_size=activity == "repair", max_size=2)),
        "findings": draw(st.lists(st.sampled_from(SOME_FINDINGS), max_size=2, unique=True)),
        "earlier_repairs": draw(st.lists(repair, max_size=2)),
        "reading": pick("strict", "as-enacted"),
    }
    return said | ({"repair_unit": draw(unit)} if draw(st.booleans()) else {})


def failing(found: Pack, case: Case) -> set[object]:
    """Return where a rule of `found` fails: the whole tire and its injuries, or one injury by one method."""
    decision = with_packs(SILENT, found).decide(case)
    parts: dict[object, Iterable[Reason]] = {"common": decision.reasons}
    parts |= {(each.injury, each.method): (*decision.reasons, *each.reasons) for each in decision.methods}
    return {part for part, reasons in parts.items() if any(each.outcome is Outcome.FAILS for each in reasons)}


EXTENDED = st.builds(
    lambda figure, cap: {**at_most(figure, "injury.angle"), "extendable": {"up-to": cap, "by": "repair-material"}},
    st.sampled_from(["15 deg", "24 deg"]),
    st.sampled_from(["25 deg", "35 deg"]),
)


@st.composite
def edits(draw: st.DrawFn) -> tuple[Rules, Rules]:
    """Draw rules, and the same rules after a few edits at random, so that much stays and something changes."""
    old = draw(st.lists(rules(), min_size=1, max_size=3))
    if draw(st.booleans()):
        old.append(
            {
                "says": "Invented.",
                "activity": ["repair"],
                "source": "text",
                "when": {"method": ["one-piece"]},
                **draw(EXTENDED),
            }
        )
    new = deepcopy(old)
    for _ in range(draw(st.integers(1, 2))):
        place = draw(st.integers(0, len(new) - 1))
        other = draw(rules())
        match draw(st.sampled_from(["when", "body", "period", "activity", "drop", "add"])):
            case "when":
                new[place]["when"] = draw(conditions)
            case "body":
                new[place] = {
                    key: new[place][key]
                    for key in new[place].keys() & {"says", "activity", "source", "when", "in-force"}
                }
                new[place] |= draw(BODIES[draw(st.sampled_from(sorted(BODIES)))])
            case "period":
                new[place]["in-force"] = draw(periods)
            case "activity":
                new[place]["activity"] = draw(acts)
            case "drop" if len(new) > 1:
                del new[place]
            case _:
                new.append(other)
    return named(map(_said, old)), named(map(_said, new))


@law(edits(), st.lists(whole_cases(), min_size=8, max_size=8), examples=30)
def test_nothing_becomes_looser_or_tighter_unsaid(pair, cases):
    old, new = map(pack_of, pair)
    changes = limit_changes(old.rules, new.rules)
    for case in map(record.case_from_json, cases):
        before, after = failing(old, case), failing(new, case)
        told = effects(change for change in changes if concerns(change, case))
        assert before <= after or told & {Effect.LOOSER, Effect.MIXED}
        assert after <= before or told & {Effect.TIGHTER, Effect.MIXED}


#: What tells of a repair besides the acts that it answers to.
REPAIRED = ("repair, with what it leads to", "repair, on the tire as repaired")


def concerns(change: Change, case: Case) -> bool:
    """Whether a change says that it may touch a case, as far as its acts, its day and its tire's class tell."""
    acts = {*answering(Activity(case.activity)), *(REPAIRED if case.activity == "repair" else ())}
    assert case.on is not None
    in_time = (change.start is None or change.start <= case.on) and (change.end is None or case.on < change.end)
    classes = [said.removeprefix("tire.class ") for said in change.when if said.startswith("tire.class ")]
    return bool(acts & set(change.activities)) and in_time and all(names(said, case.tire.class_) for said in classes)


def names(said: str, word: str | None) -> bool:
    """Whether ``passenger or bus`` or ``other than passenger or bus`` names a word."""
    without = said.removeprefix("other than ")
    return (word in without.split(" or ")) is (without == said)
