"""Where the vectors of a rule start: a complete case to which the rule applies and which passes, or the best known.

The case states every fact that the rules of its place and activity read. It is looked for among a few ordinary tires on
ordinary vehicles, each changed so that the conditions of the rule hold; where none of them passes (nothing limits the
tread there, say, or nobody has read the law), the one that the fewest rules leave open or bar is taken.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date
from fractions import Fraction
from typing import Any, Final

from tirerules.authoring.vectors.answers import Answer
from tirerules.authoring.vectors.cases import Json, listed, stated, with_fact
from tirerules.authoring.vectors.figures import BASE, inside, text_of
from tirerules.engine.parts import Verdict
from tirerules.engine.programs import rules_for
from tirerules.packs.pack import Pack
from tirerules.packs.rule import READINGS, Condition, Disqualify, Limit, Permit, Prohibit, Relative, Require, Rule
from tirerules.quantities import Quantity, measure
from tirerules.strictest.bounds import Interval, KnownValue, Strictest
from tirerules.vocabulary import FACTS, PAIRED, REPAIR_METHODS, Activity, Fact, Kind

__all__ = ["Ask", "ordinary", "spoken", "start", "words_of"]

_COLUMNS: Final = ("tire.class", "vehicle.kind", "vehicle.use", "vehicle.gvwr", "tire.load_range", "tire.speed_symbol")
#: Ordinary tires on ordinary vehicles; only what the rules of a place read is stated of them.
_TIRES: Final[Sequence[Mapping[str, Any]]] = tuple(
    dict(zip(_COLUMNS, row, strict=True))
    for row in (
        ("passenger", "passenger-car", "private", "1900 kg", "B", "H"),
        ("passenger", "multipurpose", "private", "2400 kg", "B", "H"),
        ("light-truck", "light-truck", "private", "3500 kg", "E", "R"),
        ("medium-truck", "truck", "private", "15000 kg", "G", "L"),
        ("medium-truck", "truck", "commercial", "15000 kg", "G", "L"),
        ("medium-truck", "truck-tractor", "commercial", "15000 kg", "G", "L"),
        ("medium-truck", "tow-truck", "emergency", "12000 kg", "G", "L"),
        ("bus", "bus", "school-bus", "12000 kg", "G", "L"),
        ("bus", "minibus", "commercial", "6000 kg", "F", "L"),
        ("motorcycle", "motorcycle", "private", "400 kg", "B", "J"),
        ("trailer", "trailer", "private", "1500 kg", "C", "M"),
    )
)
#: What is stated where no rule wants something else.
_USUAL: Final[Mapping[str, Any]] = {
    "tire.section_width": "225 mm",
    "tire.tread_width": "190 mm",
    "tire.belt_width": "180 mm",
    "tire.thickness": "12 mm",
    "tire.outside_diameter": "650 mm",
    "tire.tread_depth": "8/32 in",
    "tire.crack_depth": "1 mm",
    "tire.age": "3 years",
    "injury.diameter": "3 mm",
    "injury.surface_diameter": "3 mm",
    "injury.length": "10 mm",
    "injury.angle": "10 deg",
    "injury.from_centerline": "5 mm",
    "injury.reach": "5 mm",
    "injury.unit_length": "40 mm",
    "injury.unit_width": "40 mm",
    "repair.diameter": "3 mm",
    "repair.from_centerline": "5 mm",
    "repair.reach": "5 mm",
    "repair.unit_length": "40 mm",
    "repair.unit_width": "40 mm",
    "repairs.spacing": "600 mm",
    "repairs.spacing_angle": "80 deg",
}
#: So wide that no band drawn on it binds; for the tires of vectors about another band.
_WIDE: Final = "600 mm"
_BANDS: Final = ("tire.section_width", "tire.tread_width", "tire.belt_width")
#: More repairs than any rule counts.
_MANY: Final = 100
#: What is said of every tire, of every injury and of every earlier repair, whether a rule reads it or not.
_ALWAYS: Final = ("tire.class", "tire.tread_depth")
_INJURY: Final = ("injury.kind", "injury.zone", "injury.diameter", "injury.angle")
_REPAIR: Final = ("repair.zone", "repair.diameter", "repair.method")
#: Stated only for a rule that is about it: they say that something unusual is there, or replace another measure.
_UNUSUAL: Final = frozenset(
    {
        "tire.crack_depth",
        "injury.surface_diameter",
        "injury.from_centerline",
        "injury.reach",
        "injury.clock",
        "repair.from_centerline",
        "repair.reach",
        "repair.clock",
        "repairs.count",
        *_BANDS,
    }
)
#: Where one of these is stated, bands are drawn on the measures of the tire.
_MEASURED: Final = ("injury.from_centerline", "injury.reach", "repair.from_centerline", "repair.reach")


#: Decides a case; a caller may remember the answers, for many rules of one place start from the same case.
Ask = Callable[[Json], Answer]


def start(ask: Ask, packs: Iterable[Pack], rule: Rule, code: str, activity: Activity, on: date) -> Json:
    """Return the case from which the vectors of `rule` start, in one place, under one activity, on one day.

    `packs` are those that answer for the place.
    """
    relevant = [each for each in rules_for(packs, activity) if each.in_force(on)]
    head = {"jurisdictions": [code], "activity": str(activity), "on": on.isoformat()}
    silent = rule not in relevant
    best, most = {}, None
    for tire in ordinary(rule):
        case = _case(rule, relevant, tire, head)
        worth = _worth(ask(case), rule, silent=silent)
        if most is None or worth > most:
            best, most = case, worth
        if worth[:3] == _BEST:
            break
    return best


def ordinary(rule: Rule) -> Sequence[Mapping[str, Any]]:
    """Return ordinary tires on ordinary vehicles as facts, those first that nothing must be changed of for `rule`."""
    return sorted(_TIRES, key=lambda tire: not _fits(tire, rule))


def _fits(tire: Mapping[str, Any], rule: Rule) -> bool:
    """Whether the conditions and the body of a rule hold for a tire as it stands, as far as it says anything."""
    body = rule.body
    tests = [(each.fact, each.test) for each in rule.conditions]
    tests += [(body.fact, Strictest.of(body.constraint()))] if isinstance(body, (Permit, Prohibit)) else []
    return all(test.admits(_known(name, tire[name])) for name, test in tests if name in tire)


def _known(name: str, value: str) -> KnownValue:
    dimension = FACTS[name].dimension
    if dimension is None:
        return frozenset({value})
    said = measure(value, dimension)
    return Interval(said.low.exact, said.high.exact)


#: The rule passes, so does the case, and no other rule hides what this one limits.
_BEST: Final = (True, 2, True)


def _worth(found: Answer, rule: Rule, *, silent: bool) -> tuple[bool, int, bool, int, int]:
    """Return how good a start is, as `_BEST` says; and then how few rules bar it or leave it open.

    A rule that is silent under the activity asks nothing of the start.
    """
    verdict = (Verdict.OUTSIDE, Verdict.UNDETERMINED, Verdict.WITHIN).index(found.decision.verdict)
    passes = silent or isinstance(rule.body, Require) or rule.name in found.passing
    limits = found.decision.limits.get(rule.body.fact) if isinstance(rule.body, Limit) else None
    binds = silent or limits is None or rule.name in limits.binding
    return passes, verdict, binds, -len(found.failing), -len(found.unknown)


def _case(rule: Rule, relevant: Sequence[Rule], tire: Mapping[str, Any], head: Json) -> Json:
    read = _facts(relevant) | _facts([rule])
    mine = _facts([rule])
    case: Json = {**head, "injuries": [], "findings": [], "earlier_repairs": []}
    groups = {FACTS[name].group for name in mine}
    injured = head["activity"] == Activity.REPAIR or "injury" in groups
    repaired = "repair" in groups or bool(mine & PAIRED)
    wanted = {name for name in read if name not in _UNUSUAL or name in mine} | {*_ALWAYS}
    wanted |= {*_INJURY} if injured else set()
    wanted |= {*_REPAIR} if repaired else set()
    if not wanted.isdisjoint(_MEASURED):
        wanted |= {name for name in _BANDS if name in _data([*relevant, rule])}
    skipped = {"", "repairs", *(() if injured else ("injury",)), *(() if repaired else ("repair",))}
    for fact in FACTS.values():
        if fact.name in wanted and fact.group not in skipped:
            case = _stating(case, fact.name, _usual(fact, rule, relevant, tire))
    if mine & PAIRED and head["activity"] != Activity.REPAIR:
        another = {"zone": "crown", "diameter": "3 mm", "method": "one-piece"}
        case = {**case, "earlier_repairs": [*case["earlier_repairs"], another]}
    if len(case["injuries"]) + len(case["earlier_repairs"]) > 1:
        for name in sorted(wanted & PAIRED):
            case = _stating(case, name, _usual(FACTS[name], rule, relevant, tire))
    # What is counted comes after what is listed.
    for condition in sorted(rule.conditions, key=lambda each: FACTS[each.fact].group == "repairs"):
        case = _stating(case, condition.fact, _satisfying(condition, rule, case))
    return _obeying(case, rule)


def _facts(rules: Iterable[Rule]) -> set[str]:
    found = {condition.fact for rule in rules for condition in rule.conditions}
    return found | {rule.body.fact for rule in rules if not isinstance(rule.body, Require)}


def _data(rules: Iterable[Rule]) -> set[str]:
    """Return the measures of the tire that bands are drawn on."""
    bodies = (rule.body for rule in rules)
    return {body.value.of for body in bodies if isinstance(body, Limit) and isinstance(body.value, Relative)}


def _stating(case: Json, name: str, value: Any) -> Json:
    """State a fact; what cannot be stated together with the rest stays as it is."""
    return case if value is None else with_fact(case, name, value) or case


def _usual(fact: Fact, rule: Rule, relevant: Sequence[Rule], tire: Mapping[str, Any]) -> Any:
    """Return an ordinary value that every rule of the place admits, where there is one."""
    if fact.name in _BANDS:
        mine = rule.body.value.of if isinstance(rule.body, Limit) and isinstance(rule.body.value, Relative) else None
        if fact.name != mine and fact.name in _data(relevant):
            return _WIDE
    usual = tire.get(fact.name, _USUAL.get(fact.name))
    if fact.kind is Kind.FLAG:
        return False
    if fact.choosable:
        return usual or ("one-piece" if fact.name == "repair.method" else fact.values[0])
    wanted = Strictest.of(*_bounds(fact.name, [*relevant, rule]))
    if wanted.empty:
        wanted = Strictest.of(*_bounds(fact.name, [rule]))
    return _figure(fact, wanted, usual)


def _bounds(name: str, rules: Iterable[Rule]) -> Iterator[Any]:
    for rule in rules:
        body = rule.body
        if isinstance(body, Limit) and body.fact == name and (figure := body.chosen(READINGS[0])) is not None:
            yield body.bound(figure.exact if isinstance(figure, Quantity) else Fraction(figure))


def _figure(fact: Fact, wanted: Strictest, usual: Any) -> Any:
    """Return `usual` where `wanted` admits it, else a number well inside; None where nothing is."""
    if usual is not None and fact.dimension is not None and wanted.admits(_known(fact.name, usual)):
        return usual
    number = inside(wanted, fact.dimension)
    if number is None:
        return usual
    return int(number) if fact.dimension is None else text_of(number, BASE[fact.dimension])


def words_of(name: str, test: Strictest) -> tuple[str, ...]:
    """Return the words of a fact that a test admits, in the order of the vocabulary."""
    return tuple(word for word in FACTS[name].values if test.admits(frozenset({word})))


def spoken(fact: Fact, word: str) -> Any:
    """Return a word as a case states it: yes and no are true and false."""
    return word == "yes" if fact.kind is Kind.FLAG else word


def _satisfying(condition: Condition, rule: Rule, case: Json) -> Any:
    """Return a value for which a condition of `rule` holds, and with which its body can pass if any can."""
    fact = FACTS[condition.fact]
    body = rule.body
    if fact.kind is Kind.SET:
        barred = body.values if isinstance(body, Disqualify) else ()
        named = [word for word in fact.values if word in condition.test.prohibited]
        return sorted(named, key=lambda word: word in barred)[:1] if condition.negated else []
    if fact.dimension is None and fact.limitable:
        return _count(condition.test.meet(Strictest.of(*_bounds(fact.name, [rule]))), listed(case)) or _count(
            condition.test, listed(case)
        )
    if fact.limitable:
        bounds = _bounds(fact.name, [rule])
        both = condition.test.meet(Strictest.of(*bounds))
        return _figure(fact, condition.test if both.empty else both, stated(case, fact.name))
    words = words_of(fact.name, condition.test)
    if isinstance(body, (Permit, Prohibit)) and body.fact == fact.name:
        words = tuple(word for word in words if Strictest.of(body.constraint()).admits(frozenset({word}))) or words
    return _chosen(fact, words, case)


def _count(wanted: Strictest, least: int) -> int | None:
    """Return a whole number that `wanted` admits: the first that is not below `least`, else the greatest below it."""
    numbers = (*range(least, least + _MANY), *reversed(range(least)))
    return next((number for number in numbers if wanted.admits(Interval(Fraction(number), Fraction(number)))), None)


def _obeying(case: Json, rule: Rule) -> Json:
    """State a value of the rule's fact with which it passes, where its conditions do not speak of that fact."""
    body = rule.body
    if not isinstance(body, (Permit, Prohibit)) or body.fact in {each.fact for each in rule.conditions}:
        return case
    fact = FACTS[body.fact]
    words = words_of(body.fact, Strictest.of(body.constraint()))
    return _stating(case, body.fact, _chosen(fact, words, case)) if words else case


def _chosen(fact: Fact, words: Sequence[str], case: Json) -> Any:
    """Return what the case says already where that is one of `words`, else the first of them."""
    said = stated(case, fact.name)
    if said is not None and any(spoken(fact, word) == said for word in words):
        return said
    order = (*(word for word in REPAIR_METHODS if word in words), *words) if fact.name == "method" else words
    return spoken(fact, order[0])
