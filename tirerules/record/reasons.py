"""The texts of the reasons of one decision: pieces by instance and state, joined in the order in which they are told.

What a program's rules say is encoded once (`ReasonPieces`); the subjects, the shown values and the figures that follow
from the case are encoded for each decision (`Reasons`) and not kept.
"""

from __future__ import annotations

from tirerules.engine.kernel import bits_of
from tirerules.engine.limits import LimitTables
from tirerules.packs.rule import Require
from tirerules.record.pieces import measured, reason, with_limit
from tirerules.vocabulary import PAIRED

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from typing import TypeAlias

    from tirerules.engine.evaluator import Evaluation, Look
    from tirerules.engine.own_rules import Gap
    from tirerules.engine.program import Instance, Program
    from tirerules.record.pieces import Measured, Reason, Text

    #: What the subject and the shown value of a reason follow from, beside the look: the fact that is shown, the groups
    #: by which its subject is labelled, the method where that matters, and whether it is on the repair that results.
    Kind: TypeAlias = "tuple[str, tuple[str, ...], str | None, bool]"
    #: Who is told of, and the instances of a look by outcome.
    Judged: TypeAlias = "tuple[_Told, tuple[int, int, int, int]]"

__all__ = ["ReasonPieces", "Reasons"]

#: How an instance can be judged, in the order in which reasons are told: the outcome, and whether it applies.
_STATES: tuple[tuple[str, bool | None], ...] = (
    ("fails", True),
    ("unknown", True),
    ("unknown", None),
    ("passes", True),
    ("passes", None),
)
#: Each of them twice: with the limit that the rule states, and from here on without, where that follows from the case.
_NO_LIMIT = len(_STATES)
_COUNT = 2 * _NO_LIMIT
#: By outcome, in the order of telling: the states of what surely applies, and of what only may.
_STATES_OF = ((0, 0), (1, 2), (3, 4))
#: Facts that are known of one method at a time.
_BY_METHOD = ("method", "repair.method")


class ReasonPieces(dict):  # type: ignore[type-arg]  # ``10 * place + state`` of an instance -> pieces of its reason
    """What is known of the reasons of a program before any case: a table of pieces where no figure follows from a case.

    `orders` maps the lane of a method (None: all that no method changes) to its limiting instances and, where no two of
    their rules have one name, their bits and places in the order of these names. `kind_of` has the number in `kinds` of
    what each instance shows.
    INVARIANT: all of it is a function of the program; at most `BOUND` pieces are kept, then all are made again.
    """

    BOUND = 5_000
    __slots__ = ("kind_of", "kinds", "orders", "program")

    def __init__(self, program: Program) -> None:
        super().__init__()
        self.program = program
        every = [_kind(each) for each in program.instances]
        self.kinds = tuple(dict.fromkeys(every))
        numbers = {kind: number for number, kind in enumerate(self.kinds)}
        self.kind_of = tuple(numbers[kind] for kind in every)
        lanes: dict[str | None, int] = {None: program.common}
        lanes |= {method: program.lanes[method] for method in program.methods}
        self.orders = {lane: self._order(mask & program.limiting) for lane, mask in lanes.items()}

    def _order(self, some: int) -> tuple[int, tuple[tuple[int, int], ...] | None]:
        listed = sorted((each for each in self.program.instances if each.bit & some), key=lambda each: each.rule.name)
        unique = len({each.rule.name for each in listed}) == len(listed)
        return some, tuple((each.bit, _COUNT * each.place) for each in listed) if unique else None

    def __missing__(self, number: int) -> Reason:
        instance = self.program.instances[number // _COUNT]
        if len(self) >= self.BOUND:
            self.clear()
        state = number % _COUNT
        limit = "" if state >= _NO_LIMIT else instance.rule.body.text(instance.chosen)
        made = self[number] = _pieces(instance, state % _NO_LIMIT, limit, extended=False)
        return made


def _kind(instance: Instance) -> Kind:
    groups = dict.fromkeys("pair" if fact in PAIRED else fact.partition(".")[0] for fact in instance.named)
    method = instance.method if instance.mended or instance.fact in _BY_METHOD else None
    return instance.fact, tuple(groups), method, instance.mended


def _pieces(instance: Instance, state: int, limit: str, *, extended: bool) -> Reason:
    rule, body = instance.rule, instance.rule.body
    assert not isinstance(body, Require)  # INVARIANT: an instance with a fact limits something
    outcome, applies = _STATES[state]
    return reason(rule.name, body.fact, limit, outcome, applies, extended, rule.says, rule.source)


class _Told:
    """Who reasons are told of, and what stands for each kind, by number, between the pieces of its reasons."""

    __slots__ = ("_evaluation", "_kinds", "_look", "_subject", "values")

    def __init__(self, kinds: Sequence[Kind], evaluation: Evaluation, look: Look) -> None:
        self._kinds, self._evaluation, self._look, self._subject = kinds, evaluation, look, evaluation.of(look)
        self.values: dict[int, Measured] = {}

    def value(self, number: int) -> Measured:
        """Return the subject and the shown value of reasons of one kind."""
        fact, groups, method, mended = self._kinds[number]
        subject = self._subject
        injured = self._look.injured
        if mended and injured is not None:
            subject = self._evaluation.subject_of(injured, method).mended()
        elif method is not None:
            subject = self._evaluation.of(self._look, method)
        labels = subject.labels
        label = ", ".join([labels[group] for group in labels if group in groups]) if labels else ""
        value = self.values[number] = measured(label, subject.shown(fact))
        return value


class Reasons:
    """Makes the texts of the reasons of one decision."""

    __slots__ = ("_evaluation", "_known", "_made", "_told", "figures")

    def __init__(self, known: ReasonPieces, evaluation: Evaluation) -> None:
        self._known, self._evaluation = known, evaluation
        #: The figures that follow from this case, by place (see `LimitTables.figures`), and pieces with them.
        self.figures = known.program.once(LimitTables).figures(evaluation)
        self._made: dict[int, Reason] = {}
        self._told: dict[tuple[int, int | None, int | None], _Told] = {}

    def text(self, lane: str | None, looks: Iterable[Look], gaps: Sequence[Gap]) -> Text:
        """Return the reasons of the instances of one lane (see `ReasonPieces.orders`), as judged for some looks."""
        wanted, order = self._known.orders[lane]
        found = [
            (self._of(look), _outcomes(look, relevant, self._known.program.width))
            for look in looks
            if (relevant := look.rules & wanted & ~look.mask)
        ]
        if gaps or order is None:
            return self._sorted(found, gaps)
        shown: list[str] = []
        canonical: list[str] = []
        for outcome in range(3):
            self._in_order(found, outcome, order, shown, canonical)
        return f"[{''.join(shown)[2:]}]", f"[{''.join(canonical)[1:]}]"

    def _of(self, look: Look) -> _Told:
        """Return who is told of; looks of one injury, repair and pair, by other rules, share it."""
        key = id(look.injured), look.repair, look.pair
        told = self._told.get(key)
        if told is None:
            told = self._told[key] = _Told(self._known.kinds, self._evaluation, look)
        return told

    def _in_order(
        self,
        found: Sequence[Judged],
        outcome: int,
        order: Sequence[tuple[int, int]],
        shown: list[str],
        canonical: list[str],
    ) -> None:
        """Add the reasons of one outcome by the name of the rule, as `order` stands; of one rule, by the subject."""
        known, kinds, figures = self._known, self._known.kind_of, self.figures
        sure, perhaps = _STATES_OF[outcome]
        parts = [(told, outcomes[outcome], outcomes[3]) for told, outcomes in found if outcomes[outcome]]
        if len(parts) < 2:
            for told, some, may in parts:
                values = told.values
                for bit, number in order:
                    if some & bit:
                        state = number + (perhaps if may & bit else sure)
                        place = number // _COUNT
                        kind = kinds[place]
                        pieces = self._pieces(state) if place in figures else known[state]
                        value = values.get(kind) or told.value(kind)
                        shown += (pieces[0], value[0], pieces[1])
                        canonical += (pieces[2], value[1], pieces[3], value[2])
            return
        every = 0
        for _, some, _ in parts:
            every |= some
        for bit, number in order:
            if every & bit:
                place = number // _COUNT
                kind = kinds[place]
                rows = []
                for told, some, may in parts:
                    if some & bit:
                        state = number + (perhaps if may & bit else sure)
                        pieces = self._pieces(state) if place in figures else known[state]
                        rows.append((told.values.get(kind) or told.value(kind), pieces))
                if len(rows) > 1:
                    rows.sort(key=_subject)
                for value, pieces in rows:
                    shown += (pieces[0], value[0], pieces[1])
                    canonical += (pieces[2], value[1], pieces[3], value[2])

    def _sorted(self, found: Sequence[Judged], gaps: Sequence[Gap]) -> Text:
        """Return reasons by outcome, rule and subject, where gaps stand among them or names do not tell rules apart."""
        program, kinds = self._known.program, self._known.kind_of
        rows: list[tuple[int, str, str, int, Reason, Measured]] = []
        for told, outcomes in found:
            for outcome, (sure, perhaps) in enumerate(_STATES_OF):
                for place in bits_of(outcomes[outcome]):
                    state = _COUNT * place + (perhaps if outcomes[3] >> place & 1 else sure)
                    pieces = self._pieces(state) if place in self.figures else self._known[state]
                    value = told.values.get(kinds[place]) or told.value(kinds[place])
                    rows.append((outcome, program.instances[place].rule.name, value[3], len(rows), pieces, value))
        activity = self._evaluation.row.activity
        for gap in gaps:
            rule = gap.rule
            pieces = reason(rule.name, rule.fact, "", "unknown", True, False, gap.says(activity), None)
            value = measured(gap.label(self._evaluation), gap.measured)
            rows.append((1, rule.name, value[3], len(rows), pieces, value))
        rows.sort()
        shown = "".join([f"{pieces[0]}{value[0]}{pieces[1]}" for *_, pieces, value in rows])
        canonical = "".join([f"{pieces[2]}{value[1]}{pieces[3]}{value[2]}" for *_, pieces, value in rows])
        return f"[{shown[2:]}]", f"[{canonical[1:]}]"

    def _pieces(self, number: int) -> Reason:
        """Return the pieces for a place and a state, with the figure that follows from this case."""
        made = self._made.get(number)
        if made is None:
            place, state = divmod(number, _COUNT)
            instance = self._known.program.instances[place]
            chosen, _, extended = self.figures[place]
            limit = instance.rule.body.text(chosen)
            if extended:
                made = _pieces(instance, state, limit, extended=True)
            else:
                made = with_limit(self._known[number + _NO_LIMIT], limit)
            self._made[number] = made
        return made


def _subject(row: tuple[Measured, Reason]) -> str:
    return row[0][3]


def _outcomes(look: Look, relevant: int, width: int) -> tuple[int, int, int, int]:
    """Return the instances of a look that fail, that are open, that pass, and those that may not apply."""
    mask = look.mask
    may = mask >> width
    missed = relevant & mask >> 2 * width
    unsure = missed & (may | mask >> 3 * width)
    return missed ^ unsure, unsure, relevant ^ missed, may
