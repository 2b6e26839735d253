"""The compiled form of a pack: plain JSON data from which its values are built without YAML, schema or exact reading.

The data structure is three lists, each of which is one line of text where it is kept:

- the head: id, version, engine, kind, title, day of review;
- the rules: what is said of each activity, the sources, the rules; a rule names its source by its place in the list;
- the rest: examples, notes, texts that are no law.

A value is the list of its fields, in the order of its class; a bound or a share is a numerator and a denominator, words
are sorted, a day is YYYY-MM-DD, and what is missing is null. INVARIANT: `pack_of` gives back the very pack that
`to_plain` was given, texts as printed included, for any pack that was built from a file; what was checked then is not
checked again. Whoever changes what is written here raises `tirerules.packs.shipped.FORMAT`.
"""

from __future__ import annotations

from types import MappingProxyType

from tirerules.packs.pack import Example, NotLaw, Pack, Rest
from tirerules.packs.rule import (
    Condition,
    Counted,
    Disqualify,
    Limit,
    Permit,
    Prohibit,
    Relative,
    Require,
    Rule,
    Share,
    Source,
)
from tirerules.plain_json import parsed
from tirerules.quantities import Quantity
from tirerules.strictest.bounds import Ceiling, Floor, Strictest
from tirerules.vocabulary import Activity

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date
    from typing import Any, Final

    from tirerules.packs.rule import Body

else:
    try:
        from _datetime import date  # what datetime gives under this name; before Python 3.13 datetime takes 2 ms
    except ImportError:
        from datetime import date

__all__ = ["pack_of", "rest_of", "to_plain", "unpacked"]

#: Stands first where a figure follows from the tire; where it does not, a numerator does.
_HALF: Final = "half-of"
_ACTIVITIES: Final = {str(activity): activity for activity in Activity}
#: Name of a body whose only lists are of words -> its class.
_WORDED: Final = {"permit": Permit, "prohibit": Prohibit, "disqualify": Disqualify, "require": Require}


# --- from values to plain data


def to_plain(pack: Pack) -> list[Any]:
    """Return the head, the rules and the rest of `pack`. Numbers with a point in examples stay `decimal.Decimal`."""
    places = {key: at for at, key in enumerate(pack.sources)}
    coverage = {str(activity): said for activity, said in pack.coverage.items()}
    sources = [_plain_source(source) for source in pack.sources.values()]
    rules = [_plain_rule(rule, places[rule.source.id]) for rule in pack.rules]
    examples = [[dict(each.case), dict(each.expect), each.line] for each in pack.examples]
    not_law = [[each.title, each.outcome, each.would_set, each.year, each.url] for each in pack.not_law]
    return [
        [pack.id, pack.version_text, pack.engine_text, pack.kind, pack.title, pack.reviewed.isoformat()],
        [coverage, sources, rules],
        [examples, [*pack.notes], not_law],
    ]


def _plain_source(said: Source) -> list[Any]:
    read = said.read and said.read.isoformat()
    return [said.id, said.citation, said.authority, said.evidence, said.url, read, said.confirmed, said.note]


def _plain_rule(rule: Rule, source: int) -> list[Any]:
    return [
        rule.id,
        rule.says,
        sorted(map(str, rule.activities)),
        [[each.fact, _plain_test(each.test), each.text, each.negated] for each in rule.conditions],
        _plain_body(rule.body),
        source,
        rule.start and rule.start.isoformat(),
        rule.end and rule.end.isoformat(),
        _plain_quantity(rule.up_to),
        rule.note,
        rule.contradicts,
        rule.overlay,
    ]


def _plain_test(test: Strictest) -> list[Any]:
    permitted = None if test.permitted is None else sorted(test.permitted)
    return [_plain_bound(test.ceiling), _plain_bound(test.floor), permitted, sorted(test.prohibited)]


def _plain_bound(bound: Ceiling | Floor | None) -> list[Any] | None:
    return None if bound is None else [bound.above, bound.below, bound.inclusive]


def _plain_quantity(said: Quantity | None) -> list[Any] | None:
    return None if said is None else [said.above, said.below, said.unit, said.text]


def _plain_body(body: Body) -> list[Any]:
    match body:
        case Limit(fact, relation, value, also, counted, indicators):
            counts = [counted.grooves, counted.places]
            return ["limit", fact, relation, _plain_figure(value), _plain_quantity(also), counts, indicators]
        case Permit(fact, values):
            return ["permit", fact, [*values]]
        case Prohibit(fact, values):
            return ["prohibit", fact, [*values]]
        case Disqualify(values):
            return ["disqualify", [*values]]
        case Require(steps):
            return ["require", [*steps]]


def _plain_figure(value: Quantity | int | Relative) -> Any:
    if isinstance(value, Relative):
        shares = [[_plain_quantity(each.through), each.above, each.below] for each in value.shares]
        return [_HALF, value.of, shares, _plain_quantity(value.inset), value.text]
    return value if isinstance(value, int) else _plain_quantity(value)


# --- and back


def pack_of(said: Sequence[Any], file: str, sha256: str) -> Pack:
    """Return the pack of what `to_plain` gave; `file` is where its bytes are, and `sha256` their digest."""
    *first, rest = said
    return _pack_of(first, rest_of(rest), file, sha256)


def unpacked(lines: Sequence[str], file: str, sha256: str) -> Pack:
    """Return the pack of the lines that `tirerules.packs.compiling.compiled` makes; the rest waits until it is read."""
    *first, rest = lines
    return _pack_of([*map(parsed, first)], _Unread(rest), file, sha256)


class _Unread:
    """The line of the rest of a pack, which is read when it is called."""

    __slots__ = ("line",)

    def __init__(self, line: str) -> None:
        self.line = line

    def __call__(self) -> Rest:
        return rest_of(parsed(self.line))


def rest_of(said: Sequence[Any]) -> Rest:
    """Return the rest of what `to_plain` gave."""
    examples, notes, not_law = said
    return Rest(
        tuple([Example(MappingProxyType(case), MappingProxyType(expect), line) for case, expect, line in examples]),
        tuple(notes),
        tuple([NotLaw(*each) for each in not_law]),
    )


def _pack_of(said: Sequence[Any], rest: Rest | Callable[[], Rest], file: str, sha256: str) -> Pack:
    (name, version, engine, kind, title, reviewed), (coverage, sources, rules) = said
    held = [_source(*each) for each in sources]
    return Pack(
        name,
        version,
        engine,
        kind,
        title,
        date.fromisoformat(reviewed),
        MappingProxyType({_ACTIVITIES[activity]: each for activity, each in coverage.items()}),
        MappingProxyType({source.id: source for source in held}),
        tuple([_rule(name, held, *each) for each in rules]),
        sha256,
        rest,
        file,
    )


def _day(said: str | None) -> date | None:
    return None if said is None else date.fromisoformat(said)


def _source(
    key: str, citation: str, authority: str, evidence: str, url: str, read: str | None, confirmed: bool, note: str
) -> Source:
    return Source(key, citation, authority, evidence, url, _day(read), confirmed, note)


def _rule(
    pack: str,
    sources: Sequence[Source],
    key: str,
    says: str,
    activities: Sequence[str],
    conditions: Sequence[Sequence[Any]],
    body: Sequence[Any],
    source: int,
    start: str | None,
    end: str | None,
    up_to: Sequence[Any] | None,
    note: str,
    contradicts: str,
    overlay: bool,
) -> Rule:
    return Rule(
        key,
        pack,
        says,
        frozenset([_ACTIVITIES[activity] for activity in activities]),
        tuple([Condition(fact, _test(*test), text, negated) for fact, test, text, negated in conditions]),
        _body(*body),
        sources[source],
        _day(start),
        _day(end),
        _quantity(up_to),
        note,
        contradicts,
        overlay,
    )


def _test(
    ceiling: Sequence[Any] | None,
    floor: Sequence[Any] | None,
    permitted: Sequence[str] | None,
    prohibited: Sequence[str],
) -> Strictest:
    return Strictest(
        None if ceiling is None else Ceiling(*ceiling),
        None if floor is None else Floor(*floor),
        None if permitted is None else frozenset(permitted),
        frozenset(prohibited),
    )


def _quantity(said: Sequence[Any] | None) -> Quantity | None:
    return None if said is None else Quantity(*said)


def _body(name: str, *said: Any) -> Body:
    if name == "limit":
        fact, relation, value, also, counts, indicators = said
        return Limit(fact, relation, _figure(value), _quantity(also), Counted(*counts), indicators)
    *fact, words = said
    made: Body = _WORDED[name](*fact, tuple(words))
    return made


def _figure(said: Any) -> Quantity | int | Relative:
    if isinstance(said, int):
        return said
    if said[0] != _HALF:
        return Quantity(*said)
    _, of, shares, inset, text = said
    steps = [Share(_quantity(through), above, below) for through, above, below in shares]
    return Relative(of, tuple(steps), _quantity(inset), text)
