"""A program: the rules of some places, an activity, a reading and a span of days, compiled to bit masks.

A rule that a method changes is judged once for each method, and a rule on what a repair leads to once more for the
repair that an injury becomes. Each of these is an *instance* with a bit of its own, in which the method is already
known; so all that is judged of one injury, by every method, is one mask (see `tirerules.engine.tables` for its planes).

    lane of a bit:  | tire | injury | one-piece | two-piece | section |

INVARIANT: a program is a function of its rules. It is shared by threads and never changes but for what its tables and
its covers keep, whose bounds are stated there.
"""

from __future__ import annotations

from itertools import product

from tirerules.case.row import INJURY, REPAIR, TIRE
from tirerules.engine.own_rules import OWN_RULES
from tirerules.engine.tables import Reader, Scales, Table
from tirerules.packs.rule import Counted, Limit, Permit, Prohibit, Relative, Require
from tirerules.strictest.bounds import Strictest
from tirerules.vocabulary import FACTS, IMPLIES, JUDGES_REPAIRS, NO_HIGHWAY, PAIRED, Activity, Kind, settles

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from typing import Any, TypeVar

    from tirerules.packs.rule import Condition, Rule
    from tirerules.quantities import Quantity
    from tirerules.strictest.bounds import Constraint

    _Made = TypeVar("_Made")

__all__ = ["Instance", "Program", "mask_of"]

REGROOVED = "tire.regrooved"
#: Beyond this many combinations of unknown words, a gap in the rules is not looked for: it is taken to exist.
_MOST_COMBINATIONS = 20_000
#: What the repair that an injury becomes is known by: its own facts, as those of an earlier repair.
_MENDED = {f"repair.{key}": f"injury.{key}" for key in ("diameter", "zone", "reach")}


class Instance:
    """One rule as it is judged: for one `method` where that matters, as `mended` where on the repair an injury becomes.

    `fact` is what the body limits and `tests` the conditions, each with the fact it reads here; both leave out what the
    method settles. `chosen` is the figure that binds under the reading, None where it follows from the tire.
    """

    __slots__ = (
        *("bit", "chosen", "constraint", "counted", "cures", "fact", "lane", "mended", "method", "named", "place"),
        *("relative", "rule", "tests"),
    )

    def __init__(self, rule: Rule, lane: str, method: str | None, mended: bool, cures: bool, reading: str) -> None:
        self.rule, self.lane, self.method, self.mended, self.cures = rule, lane, method, mended, cures
        self.tests = tuple(
            (self.reads(condition.fact), condition)
            for condition in rule.conditions
            if method is None or condition.fact not in ("method", "repair.method" if mended else "method")
        )
        body = rule.body
        self.fact = "" if isinstance(body, Require) else self.reads(body.fact)
        self.chosen: Quantity | int | None = body.chosen(reading) if isinstance(body, Limit) else None
        self.constraint: Constraint | None = body.constraint(reading)
        limit = body if isinstance(body, Limit) else None
        #: What its figure follows from, where it follows from the tire.
        self.relative = limit.value if limit is not None and isinstance(limit.value, Relative) else None
        #: Whether a grid of tread readings answers it in a way of its own.
        self.counted = limit is not None and (limit.indicators or limit.counted != Counted())
        #: The facts that the rule reads, as the pack names them.
        self.named = _read_by(rule)
        self.place = self.bit = 0

    def reads(self, fact: str) -> str:
        """Return the fact that is read in the place of `fact`."""
        return _MENDED.get(fact, fact) if self.mended else fact

    @property
    def band(self) -> bool:
        """Whether it draws a band in which an injury or an earlier repair must lie."""
        return isinstance(self.rule.body, Limit) and self.rule.body.fact in ("injury.reach", "repair.reach")

    @property
    def located(self) -> bool:
        """Whether law or trade says it by a source that somebody looked up: what alone can settle what is open."""
        return not (self.rule.overlay or self.rule.contradicts) and self.rule.source.evidence != "memory"


def mask_of(looks: Iterable[tuple[int, Table]], row: Sequence[Any]) -> int:
    """Return what the facts of a row do together: the OR over the tables of facts, each looked up at its place."""
    mask = 0
    for place, table in looks:
        mask |= table[row[place]]
    return mask


class Program:
    """Rules as instances, and what is known of them before any case."""

    def __init__(
        self,
        rules: Iterable[Rule],
        codes: Sequence[str],
        activity: str,
        reading: str,
        methods: Sequence[str],
        *,
        unreviewed: Sequence[str] = (),
        scales: Scales | None = None,
    ) -> None:
        """Compile `rules`: those in force for the activity and for those that it implies.

        An injury is judged by each of `methods`, none unless it is repaired. `unreviewed` are the places whose law on
        the act was never read, so that nothing can pass there; `scales` those of other programs.
        """
        self.codes, self.activity, self.reading = tuple(codes), activity, reading
        self.repairing = activity == Activity.REPAIR
        self.methods = tuple(methods) if self.repairing else ()
        self.unreviewed: tuple[str, ...] = tuple(unreviewed)
        self.rules = tuple(sorted(rules, key=lambda rule: rule.name))
        self.instances = tuple(self._instances())
        for place, instance in enumerate(self.instances):
            instance.place, instance.bit = place, 1 << place
        self.width = len(self.instances)
        self._lay_out()
        self.tables = self._tables(scales)
        #: Which facts of a row are looked up, each by its place and its table (see `mask_of`).
        self.of_tire, self.of_injury, self.of_repair = (self._looks(layout) for layout in (TIRE, INJURY, REPAIR))
        of_pairs = tuple((TIRE[fact], table) for fact, table in self.tables.items() if fact in PAIRED)
        self.of_tire_and_pairs = (*self.of_tire, *of_pairs)
        #: What is known of an earlier repair, of an injury, and of one by some method, of which nothing is known.
        self.unlisted, self.uninjured = self.repair_mask(REPAIR.nothing), self.injury_mask(INJURY.nothing)
        self.unmended = self.uninjured | (self.full & ~self.common) << self.width
        self.paired_tables = {fact: table for fact, table in self.tables.items() if fact in PAIRED}
        self.judging = self._judging()
        #: Facts that some rule reads, in its conditions or its body.
        self.read = frozenset(fact for rule in self.rules for fact in _read_by(rule))
        self._covers: dict[tuple[str, ...], Cover | None] = {}
        #: The engine's own rules that can find something here, by what they are asked of.
        self.own_rules = {
            of: tuple(rule for rule in OWN_RULES if rule.of == of and rule.concerns(self))
            for of in ("tire", "injury", "method")
        }
        self._made: dict[Callable[[Program], Any], Any] = {}

    def tire_mask(self, row: Sequence[Any]) -> int:
        """Return the mask of the tire's values where there are no pairs of repairs."""
        return self.constant | mask_of(self.of_tire_and_pairs, row)

    def injury_mask(self, row: Sequence[Any]) -> int:
        """Return the mask of an injury's values."""
        return mask_of(self.of_injury, row)

    def repair_mask(self, row: Sequence[Any]) -> int:
        """Return the mask of an earlier repair's values."""
        return mask_of(self.of_repair, row)

    def once(self, make: Callable[[Program], _Made]) -> _Made:
        """Return what `make` makes of this program, made when it is first asked for: a function of the rules alone."""
        made: _Made | None = self._made.get(make)
        if made is None:
            made = self._made[make] = make(self)
        return made

    # --- instances

    def _instances(self) -> Iterable[Instance]:
        """Yield the instances lane by lane, those that only require something behind all others."""
        limiting = [rule for rule in self.rules if not isinstance(rule.body, Require)]
        requiring = [rule for rule in self.rules if isinstance(rule.body, Require)]
        for listed in (limiting, requiring):
            for lane in ("", "injury"):
                yield from (self._instance(rule, lane) for rule in listed if _lane(rule) == lane)
            for method in self.methods:
                for lane in ("injury+method", "method"):
                    for rule in listed:
                        if _lane(rule) == lane and _admitted(rule, "method", method):
                            yield self._instance(rule, method, method)
                for rule in listed:
                    if self._leads_to(rule) and _admitted(rule, "repair.method", method):
                        yield self._instance(rule, method, method, mended=True)

    def _instance(self, rule: Rule, lane: str, method: str | None = None, *, mended: bool = False) -> Instance:
        # A rule on what the repair leads to does not hear of findings that the repair removes.
        cures = self.repairing and self.activity not in rule.activities
        return Instance(rule, lane, method, mended, cures, self.reading)

    def _leads_to(self, rule: Rule) -> bool:
        """Whether a rule is on what a repair leads to, and judges repairs that a tire already carries."""
        implied = IMPLIES.get(self.activity, ())
        return not rule.activities.isdisjoint(implied) and rule.groups & {"repair", "injury", "method"} == {"repair"}

    def _lay_out(self) -> None:
        """Set the masks of instances by what they are judged for."""
        self.full = (1 << self.width) - 1
        self.limiting = self.where(lambda each: bool(each.fact))
        self.lanes = {lane: self._lane(lane) for lane in ("", "injury", *self.methods)}
        #: What no method changes.
        self.common = self.lanes[""] | self.lanes["injury"]
        #: What is judged with the first injury, and with any other: the tire is judged once.
        self.by_injury = (self.full, self.full & ~self.lanes[""])
        mended = self.where(lambda each: each.mended)
        #: Judged once for each earlier repair; once for each pair of repairs.
        self.each_repair = self.where(lambda each: "repair" in each.rule.groups) & ~mended
        self.each_pair = self.where(lambda each: "pair" in each.rule.groups) & ~mended
        #: What instances ask of pairs: bit -> facts.
        self.facts_of_pairs = tuple(
            (each.bit, tuple(fact for fact in (each.fact, *(fact for fact, _ in each.tests)) if fact in PAIRED))
            for each in self.instances
            if each.bit & self.each_pair
        )
        #: Bands, and those that prove that what lies within is the crown; of injuries and of earlier repairs.
        self.bands = self.where(lambda each: each.band and each.fact == "injury.reach" and not each.mended)
        self.repair_bands = self.where(lambda each: each.band and each.fact == "repair.reach")
        self.proving = self.where(
            lambda each: each.band and not each.rule.overlay and each.rule.source.evidence != "memory"
        )
        self.computed = tuple(each for each in self.instances if each.relative or each.counted or each.rule.up_to)
        #: Those whose figure follows from the tire, that a grid of readings answers, and that a repair unit extends.
        self.relative = self.where(lambda each: each.relative)
        self.counted = self.where(lambda each: each.counted)
        self.rated = self.where(lambda each: each.rule.up_to)
        guards = self.guards("injury.diameter")
        #: Method -> the ceilings on an injury's size that speak for it.
        self.size_guards = {method: guards & (self.lanes["injury"] | self.lanes[method]) for method in self.methods}
        #: The ceilings on the size of an earlier repair: what limits it for one injury or one method leaves it open for
        #: every other.
        alone = self.where(lambda each: "pair" not in each.rule.groups)
        self.repair_guards = self.guards("repair.diameter") & self.each_repair & self.lanes[""] & alone
        self.judges_repairs: bool = self.activity in JUDGES_REPAIRS
        #: Place -> the floors on tread that speak for it.
        self.tread_guards = {code: self.guards("tire.tread_depth", code) for code in self.codes}

    def _lane(self, lane: str) -> int:
        return self.where(lambda each: each.lane == lane)

    def where(self, test: Callable[[Instance], object]) -> int:
        """Return the mask of the instances for which a test holds."""
        return sum(1 << place for place, each in enumerate(self.instances) if test(each))

    def guards(self, fact: str, code: str | None = None) -> int:
        """Return the instances of law or trade that limit `fact` (in one place): without one, nothing can pass."""

        def guards(each: Instance) -> bool:
            pack = each.rule.pack
            if not each.located or each.mended or not isinstance(each.rule.body, Limit):
                return False
            if code is None:
                speaks = settles(pack, self.codes)
            else:
                speaks = not pack[:1].isupper() or pack in (code, code.partition("-")[0])
            return speaks and each.fact == fact and each.rule.body.ceiling is (fact != "tire.tread_depth")

        return self.where(guards)

    # --- tables

    def _tables(self, scales: Scales | None) -> dict[str, Table]:
        readers: dict[str, list[Reader]] = {}
        self.constant = 0
        width = self.width
        for each in self.instances:
            bit = each.bit
            may, missed = bit << width, bit << 2 * width
            if each.rule.contradicts:
                self.constant |= may  # it tells of a contradiction, which never decides by itself
            for fact, condition in each.tests:
                cures = each.cures and FACTS[fact].kind is Kind.SET
                reader = Reader(
                    condition.test, no=bit, maybe=may, absent=bit, negated=condition.negated, cures=cures, weak=False
                )
                self._add(readers, each, fact, reader)
            if not each.fact:
                continue
            doubtful = missed | bit << 3 * width
            test = None if each.constraint is None else Strictest.of(each.constraint)
            cures = each.cures and FACTS[each.fact].kind is Kind.SET
            weak = isinstance(each.rule.body, Limit) and each.rule.body.counted != Counted()
            reader = Reader(test, no=missed, maybe=doubtful, absent=bit, negated=False, cures=cures, weak=weak)
            self._add(readers, each, each.fact, reader)
        return {fact: Table(fact, FACTS[fact].limitable, readers[fact], scales) for fact in FACTS if fact in readers}

    def _add(self, readers: dict[str, list[Reader]], each: Instance, fact: str, reader: Reader) -> None:
        """Let a reader hear of a fact; what is known beforehand goes into the constant."""
        word = each.method if fact == "method" or (each.mended and fact == "repair.method") else None
        if word is not None:
            self.constant |= reader.mask(frozenset({word}))
        elif each.mended and fact.startswith("repair."):
            self.constant |= reader.maybe  # of the new repair nobody says so
        else:
            readers.setdefault(fact, []).append(reader)

    def _looks(self, layout: Mapping[str, int]) -> tuple[tuple[int, Table], ...]:
        """Return where the facts of a layout stand in a row, and what their values do."""
        return tuple(
            (layout[fact], table) for fact, table in self.tables.items() if fact in layout and fact not in PAIRED
        )

    # --- what judges a finding, and what covers every answer

    def _judging(self) -> dict[str, int]:
        """Return the instances that judge each finding, by disqualifying it or by applying because of it.

        One that reads whether the tire was regrooved judges a regroove; one that permits or prohibits classes, those
        that are made for no highway.
        """
        found: dict[str, int] = {}
        for each in self.instances:
            rule, body = each.rule, each.rule.body
            if rule.overlay or not settles(rule.pack, self.codes):
                continue
            tests = [condition for condition in rule.conditions if condition.negated]
            judged = {word for condition in tests for word in condition.test.prohibited}
            if each.fact == "findings":
                judged |= set(body.values)  # type: ignore[union-attr]  # a body on findings disqualifies
            if REGROOVED in {each.fact, *(condition.fact for condition in rule.conditions)}:
                judged.add("regroove")
            if isinstance(body, (Permit, Prohibit)) and body.fact == "tire.class":
                words = NO_HIGHWAY if isinstance(body, Permit) else body.values
                judged |= {NO_HIGHWAY[word] for word in words if word in NO_HIGHWAY}
            for word in judged:
                found[word] = found.get(word, 0) | each.bit
        return found

    def cover(self, facts: Iterable[str]) -> Cover | None:
        """Return what some unknown words may be together; None where they cannot be counted."""
        key = tuple(sorted(facts))
        if key not in self._covers:
            self._covers[key] = Cover.of(key)
        return self._covers[key]


class Cover:
    """Every combination of the words of some facts, numbered, and for each word of each fact those in which it holds.

    Sets of combinations are bit masks, so that "some rule applies whatever the words turn out to be" is an OR of ANDs.
    """

    __slots__ = ("_admitting", "every", "holding")

    def __init__(self, facts: Sequence[str]) -> None:
        words = [FACTS[fact].values for fact in facts]
        self.holding: dict[tuple[str, str], int] = {}
        self._admitting: dict[int, int] = {}
        number = 0
        for number, combination in enumerate(product(*words), start=1):
            for fact, word in zip(facts, combination, strict=True):
                self.holding[fact, word] = self.holding.get((fact, word), 0) | 1 << (number - 1)
        self.every = (1 << number) - 1

    @classmethod
    def of(cls, facts: Sequence[str]) -> Cover | None:
        """Return the cover of some facts; None where a fact has no list of words, or there are too many of them."""
        count = 1
        for fact in facts:
            count *= len(FACTS[fact].values) if FACTS[fact].choosable else _MOST_COMBINATIONS + 1
        return None if count > _MOST_COMBINATIONS else cls(facts)

    def admitting(self, condition: Condition) -> int:
        """Return the combinations in which a condition of the program's rules holds."""
        mask = self._admitting.get(id(condition))
        if mask is None:
            mask = 0
            for word in FACTS[condition.fact].values:
                if condition.holds(frozenset({word})):
                    mask |= self.holding[condition.fact, word]
            self._admitting[id(condition)] = mask
        return mask


def _read_by(rule: Rule) -> tuple[str, ...]:
    """Return the facts that a rule reads, in its conditions and its body."""
    return (*(each.fact for each in rule.conditions), *(() if rule.body.fact is None else (rule.body.fact,)))


def _lane(rule: Rule) -> str:
    return "+".join(group for group in ("injury", "method") if group in rule.groups)


def _admitted(rule: Rule, fact: str, word: str) -> bool:
    """Whether no condition of a rule on `fact` excludes a word."""
    return all(each.holds(frozenset({word})) for each in rule.conditions if each.fact == fact)
