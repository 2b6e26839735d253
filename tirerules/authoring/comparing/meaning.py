"""What changed in meaning between two versions of a pack, for whom and when.

Meaning is what the kernel makes of the rules, cell by cell and day by day; how rules are named, ordered, split or
printed is none of it. A rule that tests the very fact it limits is compared by what it says of every value, not by what
remains possible, which can only make a change look larger.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from tirerules.authoring.comparing.axes import axes_for
from tirerules.authoring.comparing.change import Change, Effect, Kind, Level, period_text
from tirerules.authoring.comparing.demands import Demand, Demands, own_steps, steps_of
from tirerules.authoring.comparing.regions import Box, Cell, Leaf, boxes, text_of, walk
from tirerules.authoring.comparing.telling import ALWAYS, demand_text, difference_text, scope_text, setting_rules
from tirerules.authoring.comparing.topics import (
    Channel,
    Clause,
    Sort,
    Topic,
    channels,
    clauses_by_topic,
    in_force,
)
from tirerules.packs.rule import Rule
from tirerules.vocabulary import ACTIVITIES, Activity

__all__ = ["limit_changes"]


def limit_changes(old: Sequence[Rule], new: Sequence[Rule]) -> tuple[Change, ...]:
    """Return what changed in meaning from the rules `old` to the rules `new`.

    Raises TooManyCellsError where the rules on one fact test too much together to be compared.
    """
    found: list[Change] = []
    effects: dict[tuple[str, Sort, str], set[Effect]] = {}
    told_of: dict[str, set[Change]] = {}  # by channel, without their activities
    for channel in channels([*old, *new]):
        before, after = clauses_by_topic(old, channel), clauses_by_topic(new, channel)
        for topic in sorted(before.keys() | after.keys()):
            changes = _topic_changes(topic, before.get(topic, ()), after.get(topic, ()))
            key = (topic.fact, topic.sort, topic.of)
            if channel.implied:
                # What a repair leads to is told only where it goes another way than the activities themselves.
                told = effects.get(key, set())
                changes = tuple(each for each in changes if each.effect not in told)
            elif _reaches(channel):
                effects.setdefault(key, set()).update(each.effect for each in changes)
            # What changes for an act changes alike for every act that implies it, and is told once.
            alike = {each for act in channel.own - {channel.name} for each in told_of.get(act, ())}
            bare = {replace(each, activities=()): each for each in changes}
            told_of.setdefault(channel.name, set()).update(bare)
            found += [each for said, each in bare.items() if said not in alike]
    return tuple(sorted(_joined(found), key=_order))


def _topic_changes(topic: Topic, old: tuple[Clause, ...], new: tuple[Clause, ...]) -> tuple[Change, ...]:
    return () if set(old) == set(new) else tuple(_Comparison(topic, old, new).changes())


def _reaches(channel: Channel) -> bool:
    """Whether a repair answers to this activity."""
    return channel.name in (Activity.REPAIR, Activity.ROAD_USE)


def _joined(changes: Iterable[Change]) -> Iterator[Change]:
    """Put together what differs only in its activity."""
    together: dict[Change, list[str]] = {}
    for change in changes:
        together.setdefault(replace(change, activities=()), []).extend(change.activities)
    order: dict[str, int] = {name: number for number, name in enumerate(ACTIVITIES)}
    for change, activities in together.items():
        yield replace(change, activities=tuple(sorted(activities, key=lambda each: order.get(each, len(order)))))


def _order(change: Change) -> tuple[object, ...]:
    return (list(Kind).index(change.kind), change.activities, change.subject, change.when, str(change.start))


# --- one topic --------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Period:
    """A span of days on which neither side changes, and what each demands on them."""

    start: date | None
    end: date | None
    old: Demand
    new: Demand
    effect: Effect

    @property
    def identity(self) -> tuple[object, ...]:
        return self.old.identity, self.new.identity, self.effect


def _effect(old: Demand, new: Demand) -> Effect:
    tighter, looser = new.within(old), old.within(new)
    if tighter and looser:
        return Effect.NONE
    return Effect.TIGHTER if tighter else Effect.LOOSER if looser else Effect.MIXED


@dataclass(slots=True)
class _Group:
    """All cells in which the same changed on the same days, with one of them to tell it by."""

    periods: tuple[_Period, ...]
    leaf: Leaf[Clause]
    rules: dict[Cell, dict[date | None, frozenset[str]]] = field(default_factory=dict)  #: by the start of the period

    def rules_in(self, box: Box, period: _Period) -> frozenset[str]:
        """Return the rules that set the limits before and after in some of the cells."""
        cells = (cell for cell in self.rules if all(atom in atoms for atom, atoms in zip(cell, box, strict=True)))
        return frozenset().union(*(self.rules[cell].get(period.start, frozenset()) for cell in cells))


@dataclass(frozen=True, slots=True)
class _Run:
    """A span of days on which one side demands the same, in words."""

    identity: object
    text: str
    period: str

    def __str__(self) -> str:
        return f"{self.text} {self.period}" if self.period else self.text


class _Comparison:
    """Compares what two sides demand on one topic."""

    def __init__(self, topic: Topic, old: tuple[Clause, ...], new: tuple[Clause, ...]) -> None:
        self.topic, self.old, self.new = topic, old, new
        both = (*old, *new)
        self.demands = Demands(topic, both)
        conditions = [each for clause in both for each in clause.conditions]
        printed = [each for clause in both for each in clause.rule.conditions]
        steps = steps_of(both)
        if topic.sort in (Sort.CEILING, Sort.FLOOR) and any(each.fact == topic.fact for each in conditions):
            steps[topic.fact] = own_steps(both, self.demands.ways)
        self.axes = axes_for(conditions, topic.fact, steps, printed)

    def changes(self) -> Iterator[Change]:
        """Yield what changed, each for the few boxes of conditions that hold all its cells."""
        for group in self._groups():
            for box in boxes(self.axes, group.rules):
                yield from self._told(group, box)

    def _groups(self) -> Iterable[_Group]:
        groups: dict[tuple[object, ...], _Group] = {}
        for leaf in walk(self.axes, self.old, self.new, f"{self.topic.subject} ({self.topic.channel})"):
            periods = tuple(self._periods(leaf))
            changed = [period for period in periods if period.effect is not Effect.NONE]
            if changed:
                key = tuple((period.start, period.identity) for period in periods)
                group = groups.setdefault(key, _Group(periods, leaf))
                group.rules[leaf.cell] = {period.start: self._setting(leaf, period) for period in changed}
        return groups.values()

    def _periods(self, leaf: Leaf[Clause]) -> Iterator[_Period]:
        """Yield the fewest periods, in order."""
        both = (*leaf.old, *leaf.new)
        days = sorted({day for clause in both for day in (clause.start, clause.end) if day is not None})
        current: _Period | None = None
        for start, end in zip([None, *days], [*days, None], strict=True):
            old, new = (self.demands.of(_alive(clauses, start), leaf.known) for clauses in (leaf.old, leaf.new))
            period = _Period(start, end, old, new, _effect(old, new))
            if current is not None and current.identity == period.identity:
                current = replace(current, end=end)
                continue
            if current is not None:
                yield current
            current = period
        assert current is not None  # INVARIANT: there is at least one period
        yield current

    def _setting(self, leaf: Leaf[Clause], period: _Period) -> frozenset[str]:
        sides = ((leaf.old, period.old, period.new), (leaf.new, period.new, period.old))
        return frozenset().union(
            *(
                setting_rules(self.demands, _alive(clauses, period.start), leaf.known, mine, other)
                for clauses, mine, other in sides
            )
        )

    # --- in words

    def _told(self, group: _Group, box: Box) -> Iterator[Change]:
        when = text_of(self.axes, box)
        changed = [period for period in group.periods if period.effect is not Effect.NONE]
        old, new = self._runs(group, after=False), self._runs(group, after=True)
        settles = self.topic.sort.settles
        same = [run.identity for run in old] == [run.identity for run in new]
        if old and same and not settles:
            names = frozenset().union(*(group.rules_in(box, period) for period in changed))
            yield self._moved(Effect.of(period.effect for period in changed), when, old, new, names)
            return
        for period in changed:
            yield self._changed(group, when, period, group.rules_in(box, period))

    def _runs(self, group: _Group, *, after: bool) -> list[_Run]:
        """Return what one side demands in the course of time, but for where it is nothing before and after."""
        spans: list[_Period] = []
        for period in group.periods:
            mine = period.new if after else period.old
            if spans and spans[-1].new.identity == mine.identity:
                spans[-1] = replace(spans[-1], end=period.end)
            else:
                spans.append(replace(period, old=mine, new=mine))
        while spans and spans[0].new.nothing:
            del spans[0]
        while spans and spans[-1].new.nothing:
            del spans[-1]
        return [
            _Run(span.new.identity, self._text(group, span, after), period_text(span.start, span.end)) for span in spans
        ]

    def _text(self, group: _Group, period: _Period, after: bool) -> str:
        clauses = group.leaf.new if after else group.leaf.old
        return demand_text(self.demands, _alive(clauses, period.start), group.leaf.known)

    def _moved(
        self, effect: Effect, when: tuple[str, ...], old: Sequence[_Run], new: Sequence[_Run], rules: frozenset[str]
    ) -> Change:
        before, after = ("; ".join(map(str, runs)) for runs in (old, new))
        says = f"{before} -> {after}"
        if len(old) == 1 and old[0].text == new[0].text:
            says = f"{old[0].text}: {old[0].period or ALWAYS} -> {new[0].period or ALWAYS}"
        return Change(
            kind=Kind.MOVED,
            level=effect.level,
            subject=self.topic.subject,
            old=before,
            new=after,
            says=says,
            effect=effect,
            activities=(self.topic.channel,),
            when=when,
            rules=tuple(sorted(rules)),
        )

    def _changed(self, group: _Group, when: tuple[str, ...], period: _Period, rules: frozenset[str]) -> Change:
        old, new = (self._text(group, period, after) for after in (False, True))
        if self.topic.sort not in (Sort.CEILING, Sort.FLOOR, Sort.VALUES):
            says = difference_text(self.topic, period.old.strictest[0], period.new.strictest[0])
        else:
            says = f"{old} -> {new}{scope_text(self.demands, period.old, period.new)}"
        settles = self.topic.sort.settles
        return Change(
            kind=Kind.COVERAGE if settles else Kind(period.effect),
            level=Level.MINOR if settles else period.effect.level,
            subject=self.topic.subject,
            old=old,
            new=new,
            says=says,
            effect=Effect.NONE if settles else period.effect,
            activities=(self.topic.channel,),
            when=when,
            start=period.start,
            end=period.end,
            rules=tuple(sorted(rules)),
        )


def _alive(clauses: Iterable[Clause], since: date | None) -> list[Clause]:
    return [clause for clause in clauses if in_force(clause, since)]
