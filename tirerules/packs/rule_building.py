"""From one entry under `rules` to a rule: bodies, conditions, figures and dates, every mistake told with its place."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from fractions import Fraction
from typing import Any, Final

from tirerules.errors import Problem, QuantityError, nearest
from tirerules.packs.document import Document, Path
from tirerules.packs.pack import OVERLAYS
from tirerules.packs.rule import (
    RELATIONS,
    Body,
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
from tirerules.quantities import Quantity, quantity
from tirerules.strictest.bounds import Ceiling, Floor, Interval, Permitted, Strictest
from tirerules.values import replace
from tirerules.vocabulary import FACTS, Activity, Fact, Kind

__all__ = ["Collector", "RuleBuilder"]

_BODIES: Final = ("limit", "permit", "prohibit", "disqualify", "require")
#: An extension concerns the angle alone: a unit's rating never changes size or zone.
_EXTENDABLE: Final = "injury.angle"
#: An angle between two places around the tire, which a channel's angle from straight through is not.
_AROUND: Final = "repairs.spacing_angle"


class Collector:
    """Reads a document of the right shape, collecting problems instead of stopping at the first."""

    def __init__(self, document: Document, problems: list[Problem] | None = None) -> None:
        self.document = document
        self.data: Mapping[str, Any] = document.data
        self.problems: list[Problem] = [] if problems is None else problems

    def add(self, code: str, path: Path, message: str, hint: str = "") -> None:
        """Add a problem at the value of `path`."""
        self.problems.append(self.document.problem(code, path, message, hint))

    def date(self, path: Path) -> date | None:
        """Return the day at `path`, or None where it is none and left a problem."""
        text: Any = self.data
        for step in path:
            text = text[step]
        try:
            return date.fromisoformat(text)
        except ValueError:
            self.add("date", path, f"{text!r} is no day of the calendar", "write YYYY-MM-DD")
            return None


class RuleBuilder(Collector):
    """Builds the rules of one pack."""

    def build(self, index: int, sources: Mapping[str, Source]) -> Rule | None:
        """Return the rule at `index`, or None where it left a problem."""
        path: Path = ("rules", index)
        said = self.data["rules"][index]
        before = len(self.problems)
        source = sources.get(said["source"])
        if source is None:
            offers = nearest(said["source"], sources)
            hint = f"did you mean {' or '.join(offers)}?" if offers else "add it under `sources`"
            self.add("unknown-source", (*path, "source"), f"no source has the key {said['source']!r}", hint)
        body = self._body(path, said)
        conditions = tuple(
            condition
            for name, test in said.get("when", {}).items()
            if (condition := self._condition(FACTS[name], test, (*path, "when", name)))
        )
        start, end = self._period(path, said.get("in-force", {}))
        up_to = self._extension(path, said, body, source)
        body = self._contradiction(path, said, body)
        if len(self.problems) > before or body is None or source is None:
            return None
        return Rule(
            id=said["id"],
            pack=self.data["pack"],
            says=" ".join(said["says"].split()),
            activities=frozenset(Activity(name) for name in said["activity"]),
            conditions=conditions,
            body=body,
            source=source,
            start=start,
            end=end,
            up_to=up_to,
            note=" ".join(said.get("note", "").split()),
            contradicts=said.get("contradicts", ""),
            overlay=self.data["kind"] in OVERLAYS,
        )

    def _period(self, path: Path, said: Mapping[str, Any]) -> tuple[date | None, date | None]:
        start = None if said.get("from", "unknown") == "unknown" else self.date((*path, "in-force", "from"))
        end = self.date((*path, "in-force", "until")) if "until" in said else None
        if start and end and end <= start:
            message = f"the rule ends on {end}, which is not after its start on {start}"
            self.add(
                "dates-reversed", (*path, "in-force", "until"), message, "`until` is the first day no longer in force"
            )
        return start, end

    def _body(self, path: Path, said: Mapping[str, Any]) -> Body | None:
        bodies = [name for name in _BODIES if name in said]
        if len(bodies) != 1:
            message = f"a rule has one body; this one has {' and '.join(bodies) or 'none'}"
            self.add("rule-body", path, message, f"keep one of: {', '.join(_BODIES)}")
            return None
        name = bodies[0]
        body, here = said[name], (*path, name)
        match name:
            case "limit":
                return self._limit(body, here)
            case "disqualify":
                return Disqualify(tuple(dict.fromkeys(_found(body["findings"]))))
            case "require":
                return Require(tuple(body["steps"]))
            case _:
                values = tuple(_word(value) for value in body["values"])
                return Permit(body["fact"], values) if name == "permit" else Prohibit(body["fact"], values)

    def _limit(self, said: Mapping[str, Any], path: Path) -> Limit | None:
        relations = [relation for relation in RELATIONS if relation in said]
        if len(relations) != 1:
            message = f"a limit has one figure; this one has {' and '.join(relations) or 'none'}"
            self.add("limit-figure", path, message, f"keep one of: {', '.join(RELATIONS)}")
            return None
        relation = relations[0]
        fact, figure, here = FACTS[said["fact"]], said[relation], (*path, relation)
        counted = Counted(**said.get("counted", {}))
        if counted != Counted() and RELATIONS[relation][0]:
            self.add(
                "counted", (*path, "counted"), "only a floor is counted over grooves and places", "delete `counted`"
            )
        if isinstance(figure, Mapping) and "half-of" in figure:
            length = self._relative(figure, here)
            return None if length is None else Limit(fact.name, relation, length)
        if not isinstance(figure, Mapping):
            value = self._figure(fact, figure, here)
            return None if value is None else Limit(fact.name, relation, value, counted=counted)
        value = self._figure(fact, figure["value"], (*here, "value"))
        also = self._figure(fact, figure["also-printed"], (*here, "also-printed"))
        if value is None or not isinstance(also, Quantity):
            return None
        return Limit(fact.name, relation, value, also, counted)

    def _relative(self, said: Mapping[str, Any], path: Path) -> Relative | None:
        inset = self._length(said["inset"], (*path, "inset")) if "inset" in said else None
        steps = said.get("share", "1/1")
        rows = steps if isinstance(steps, list) else [{"share": steps}]
        shares: list[Share] = []
        for index, row in enumerate(rows):
            last = index == len(rows) - 1
            if ("through" in row) is last:
                message = "the last step has no `through`, every other one has"
                self.add("share-steps", (*path, "share", index), message, "name the widths up to which a share holds")
                return None
            through = self._length(row["through"], (*path, "share", index, "through")) if not last else None
            shares.append(Share.of(through, _share(row["share"])))
        limits = [share.through for share in shares if share.through is not None]
        if limits != sorted(set(limits)):
            self.add("share-steps", (*path, "share"), "the steps are not in rising order", "order them by `through`")
            return None
        if any(not 0 < share.value <= 1 for share in shares):
            self.add(
                "share", (*path, "share"), "a share is more than nothing and at most the whole", "write 3/4 or 70 %"
            )
            return None
        return Relative(said["half-of"], tuple(shares), inset, _relative_text(said))

    def _length(self, said: Any, path: Path) -> Quantity | None:
        value = self._figure(FACTS["injury.reach"], said, path)
        return value if isinstance(value, Quantity) else None

    def _figure(self, fact: Fact, said: Any, path: Path) -> Quantity | int | None:
        if fact.dimension is None:
            return int(said)
        try:
            return quantity(said, fact.dimension, around=fact.name == _AROUND)
        except QuantityError as error:
            self.add("quantity", path, f"{error.text!r} {error.reason}", error.hint)
            return None

    def _extension(
        self, path: Path, said: Mapping[str, Any], body: Body | None, source: Source | None
    ) -> Quantity | None:
        if "extendable" not in said:
            return None
        here = (*path, "extendable")
        if not isinstance(body, Limit) or body.fact != _EXTENDABLE or not body.ceiling:
            self.add("extension", here, f"only a ceiling on {_EXTENDABLE} can be extended", "delete `extendable`")
            return None
        if source is not None and source.law:
            self.add("extension", here, "no repair-material maker can extend a law", "delete `extendable`")
        up_to = self._figure(FACTS[body.fact], said["extendable"]["up-to"], (*here, "up-to"))
        if not isinstance(up_to, Quantity):
            return None
        if isinstance(body, Limit) and isinstance(body.value, Quantity) and up_to <= body.value:
            message = f"{up_to} is not above the limit of {body.value}, so it extends nothing"
            self.add("extension", (*here, "up-to"), message, "name the higher figure")
        return up_to

    def _contradiction(self, path: Path, said: Mapping[str, Any], body: Body | None) -> Body | None:
        """Return the body of a rule that may contradict a finding: a plain floor on tread in the baseline."""
        if "contradicts" not in said:
            return body
        here = (*path, "contradicts")
        plain = isinstance(body, Limit) and body.fact == "tire.tread_depth" and body.counted == Counted()
        if not isinstance(body, Limit) or not plain or body.ceiling:
            message = "only a floor on tread depth, counted in no other way, contradicts a finding"
            self.add("contradicts", here, message, "delete `contradicts`")
            return None
        if self.data["kind"] != "baseline" or "in-force" in said:
            message = "a rule that contradicts a finding stands in a baseline and has no dates"
            self.add("contradicts", here, message, "delete `contradicts`, or `in-force`")
            return None
        return replace(body, indicators=True)

    # --- conditions

    def _condition(self, fact: Fact, said: Any, path: Path) -> Condition | None:
        text = f"{fact.name} {_condition_text(said)}"
        if isinstance(said, Mapping) and "not" in said:
            if len(said) > 1:
                self.add("condition", path, "`not` stands alone in a condition", "split the rule in two")
                return None
            words = _words(said["not"])
            if fact.kind is Kind.SET:
                words = frozenset(_found(words))
            return Condition(fact.name, Strictest(prohibited=words), text)
        if isinstance(said, Mapping):
            return self._span(fact, said, path, text)
        words = _words(said)
        if fact.kind is Kind.SET:
            return Condition(fact.name, Strictest(prohibited=frozenset(_found(words))), text, negated=True)
        return Condition(fact.name, Strictest(permitted=words), text)

    def _span(self, fact: Fact, said: Mapping[str, Any], path: Path, text: str) -> Condition | None:
        bounds: list[Ceiling | Floor] = []
        for relation, figure in said.items():
            ceiling, inclusive = RELATIONS[relation]
            if fact.kind is Kind.SCALE:
                exact = Fraction(fact.values.index(figure))
            else:
                value = self._figure(fact, figure, (*path, relation))
                if value is None:
                    return None
                exact = value.exact if isinstance(value, Quantity) else Fraction(value)
            bounds.append(Ceiling.of(exact, inclusive) if ceiling else Floor.of(exact, inclusive))
        span = Strictest.of(*bounds)
        inside = [word for step, word in enumerate(fact.values) if _step_in(step, bounds)]
        if _nothing_in(fact, bounds, inside):
            self.add("condition", path, "no value can satisfy this range", "exchange or mend its ends")
            return None
        if fact.kind is Kind.SCALE:
            # A scale has few steps: naming them keeps one way to test words.
            span = Strictest.of(Permitted(frozenset(inside)))
        return Condition(fact.name, span, text)


def _nothing_in(fact: Fact, bounds: Iterable[Ceiling | Floor], inside: list[str]) -> bool:
    """Whether no value of `fact` lies in a range: none of its steps, no whole number, nothing from zero up."""
    if fact.kind is Kind.SCALE:
        return not inside
    span = Strictest.of(*bounds, Floor.of(0, True))
    if span.empty or fact.kind is not Kind.COUNT:
        return span.empty
    assert span.floor is not None  # INVARIANT: zero is one
    first = math.ceil(span.floor.value) if span.floor.inclusive else math.floor(span.floor.value) + 1
    return span.admits(Interval(Fraction(first), Fraction(first))) is False


def _step_in(step: int, bounds: Iterable[Ceiling | Floor]) -> bool:
    def holds(bound: Ceiling | Floor) -> bool:
        if step == bound.value:
            return bound.inclusive
        return (step < bound.value) is isinstance(bound, Ceiling)

    return all(holds(bound) for bound in bounds)


def _word(value: Any) -> str:
    """A flag's true and false are the words yes and no everywhere inside the library."""
    return ("no", "yes")[value] if isinstance(value, bool) else str(value)


def _share(said: str) -> Fraction:
    """Read a share, ``3/4`` or ``70 %``; the schema has checked the form."""
    percent = said.removesuffix("%").strip()
    return Fraction(percent) / 100 if percent != said else Fraction(said)


def _relative_text(said: Mapping[str, Any]) -> str:
    steps = said.get("share", "")
    if isinstance(steps, list):
        rows = (
            f"{row['share']} through {row['through']}" if "through" in row else f"{row['share']} above" for row in steps
        )
        steps = f"({', '.join(rows)})"
    share = f"{steps} of the " if steps else "the "
    datum = said["half-of"].partition(".")[2].replace("_", " ")
    return f"half of {share}{datum}" + (f" less {said['inset']}" if "inset" in said else "")


def _found(findings: Iterable[str]) -> Iterator[str]:
    """Yield findings with those that imply one of them: who names any regroove means an unmarked one too."""
    for finding in findings:
        yield finding
        if finding == "regroove":
            yield "unmarked-regroove"


def _words(said: Any) -> frozenset[str]:
    return frozenset(_word(value) for value in (said if isinstance(said, list) else [said]))


def _condition_text(said: Any) -> str:
    """A condition in words, for ladders and reasons."""
    if isinstance(said, Mapping):
        if "not" in said:
            return f"is not {_condition_text(said['not']).removeprefix('is ')}"
        return "is " + " and ".join(f"{relation.replace('-', ' ')} {figure}" for relation, figure in said.items())
    values = said if isinstance(said, list) else [said]
    return "is " + " or ".join(_word(value) for value in values)
