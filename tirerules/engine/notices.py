"""What a verdict does not say and a person should know: gaps in the law, weak evidence, what a repair may spoil.

`NOTICES` holds one function for each kind of notice, in the order in which they are told, and what such a notice rests
on. A new kind is one function.
"""

from __future__ import annotations

from tirerules.case.row import INJURY, REPAIR, TIRE
from tirerules.engine.kernel import bits_of
from tirerules.engine.limits import LimitTables, standing, steps_of, told_lanes
from tirerules.engine.parts import Notice
from tirerules.engine.resale import failing_after
from tirerules.engine.worked_out import CARRIER
from tirerules.vocabulary import ZONE_EVIDENCE, Activity, answering

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence
    from typing import TypeAlias

    from tirerules.case.row import Layout, Row
    from tirerules.engine.evaluator import Evaluation
    from tirerules.engine.own_rules import Gap
    from tirerules.engine.program import Program
    from tirerules.engine.programs import Programs
    from tirerules.packs.pack import Pack
    from tirerules.packs.rule import Rule

    Make: TypeAlias = "Callable[[Told], Iterator[Notice]]"

__all__ = ["NOTICES", "NoticeTables", "Told", "groups_of", "notices_of"]


class Told:
    """What notices are made from: the evaluation, the packs of its places, the rules of any day, the programs."""

    __slots__ = ("evaluation", "packs", "programs", "rules")

    def __init__(
        self, evaluation: Evaluation, packs: Sequence[Pack], rules: Sequence[Rule], programs: Programs
    ) -> None:
        self.evaluation, self.packs, self.rules, self.programs = evaluation, packs, rules, programs

    @property
    def gaps(self) -> list[Gap]:
        """The gaps that no method changes, then those of the leading method."""
        evaluation, leading = self.evaluation, self.evaluation.leading
        numbers = range(len(evaluation.injuries)) if leading is not None else ()
        return [*evaluation.gaps, *(gap for number in numbers for gap in evaluation.gaps_of(number, leading or ""))]


_MAKERS: list[tuple[Make, str]] = []


def _notice(rests_on: str) -> Callable[[Make], Make]:
    """Let a function make the notices of one kind; they are told in the order in which these functions stand here.

    They rest on the ``places``, day and activity alone; on these and the ``evidence`` or the ``currency`` of the rules
    that may apply; or on all that is known of the ``case``.
    """

    def add(make: Make) -> Make:
        _MAKERS.append((make, rests_on))
        return make

    return add


def notices_of(told: Told) -> tuple[Notice, ...]:
    """Return every notice of a decision."""
    return tuple(notice for _, notices in groups_of(told) for notice in notices)


def groups_of(told: Told) -> Iterator[tuple[object, Sequence[Notice]]]:
    """Yield the notices of a decision kind by kind.

    With them comes a key, where all cases of the program with this key are told the same; else None.
    """
    for make, key, notices in told.evaluation.program.once(NoticeTables).groups(told):
        yield (None, tuple(make(told))) if key is None else (key, notices)


class NoticeTables(dict):  # type: ignore[type-arg]  # a mask -> groups of notices
    """The notices that follow from the rules of one program: mask -> what makes each kind, its key, and the notices.

    The mask is that of the instances that the decision is told by (see `told_lanes`), as far as any notice speaks of
    them. What rests on the case is made for it, and has no key here. INVARIANT: an entry is a function of the program
    alone; at most `BOUND` are kept, then all are made again.
    """

    BOUND = 1_000
    __slots__ = ("_masks", "_spoken_of", "_told")

    def __init__(self, program: Program) -> None:
        super().__init__()
        self._told = told_lanes(program, program.full)
        #: What notices rest on -> the instances that they speak of.
        self._masks = {
            "places": 0,
            "evidence": program.where(lambda each: each.rule.source.evidence in _WEAK),
            "currency": program.where(lambda each: not each.rule.source.confirmed),
        }
        self._spoken_of = self._masks["evidence"] | self._masks["currency"]

    def relevant(self, evaluation: Evaluation) -> int:
        """Return the instances that a decision is told by and that may apply."""
        return evaluation.relevant & self._told[evaluation.leading]

    def groups(self, told: Told) -> Sequence[tuple[Make, object, Sequence[Notice]]]:
        """Return what makes each kind of notice; with a key and the notices where these follow from the program."""
        mask = self.relevant(told.evaluation) & self._spoken_of
        groups = self.get(mask)
        if groups is None:
            if len(self) >= self.BOUND:
                self.clear()
            groups = self[mask] = tuple(
                (make, None, ())
                if rests_on == "case"
                else (make, (make, mask & self._masks[rests_on]), tuple(make(told)))
                for make, rests_on in NOTICES
            )
        return groups


def _rules(told: Told) -> Iterator[Rule]:
    """Yield the rules that a decision is told by and that may apply."""
    program = told.evaluation.program
    return (program.instances[place].rule for place in bits_of(program.once(NoticeTables).relevant(told.evaluation)))


@_notice("places")
def _replaced(told: Told) -> Iterator[Notice]:
    """Yield which packs the caller put in place of what the library ships, each with its version and its bytes."""
    for pack in told.packs:
        if pack.replaces:
            text = f"Pack {pack.id} {pack.version_text} does not ship with this library: it was put in by name and"
            yield Notice("replaced", f"{text} decides in place of what ships (SHA-256 {pack.sha256}).")


@_notice("places")
def _coverage(told: Told) -> Iterator[Notice]:
    """Yield what the packs of a place say about having found nothing; silence and "none located" are different."""
    baseline = {each for pack in told.packs if pack.kind == "baseline" for each in pack.coverage}
    for pack in told.packs:
        if pack.kind not in ("country", "jurisdiction"):
            continue
        for each in answering(Activity(told.evaluation.row.activity)):
            covered = pack.covers(each)
            if covered == "none-located":
                governs = "the trade baseline governs" if each in baseline else "nothing here governs it"
                text = f"{pack.title}: no law on {each} was located (reviewed {pack.reviewed}); {governs}."
                yield Notice("none-located", text)
            elif covered == "partial":
                yield Notice("partial", f"{pack.title}: its law on {each} was read only in part.")
            elif covered == "not-reviewed":
                yield Notice("not-reviewed", f"{pack.title}: its law on {each} has not been reviewed.")


@_notice("case")
def _gaps(told: Told) -> Iterator[Notice]:
    """Yield what no rule speaks to, each once."""
    activity = told.evaluation.row.activity
    return (Notice("gap", text) for text in dict.fromkeys(gap.says(activity) for gap in told.gaps))


#: Grades of evidence of which a person is told, and in which words.
_WEAK = {
    "secondary": "Known from a description, not from the text itself",
    "memory": "Known from memory only; the text was not read",
}


@_notice("evidence")
def _evidence(told: Told) -> Iterator[Notice]:
    """Yield how far the rules behind a decision can be relied on."""
    for grade, words in _WEAK.items():
        names = _names(rule for rule in _rules(told) if rule.source.evidence == grade)
        if names:
            yield Notice("evidence", f"{words}: {', '.join(names)}.", names)


@_notice("currency")
def _currency(told: Told) -> Iterator[Notice]:
    names = _names(rule for rule in _rules(told) if not rule.source.confirmed)
    if names:
        yield Notice("currency", f"Not confirmed to be still in force: {', '.join(names)}.", names)


@_notice("case")
def _extension(told: Told) -> Iterator[Notice]:
    evaluation, program = told.evaluation, told.evaluation.program
    if evaluation.row.unit is None:
        return
    steps = steps_of(evaluation, told_lanes(program, program.limiting)[evaluation.leading])
    figures = program.once(LimitTables).figures(evaluation)
    extended = [each for each in standing(program, steps, figures) if each.extended]
    if extended:
        names = _names(each.rule for each in extended)
        text = f"The limit of {', '.join(names)} is extended to {extended[0].chosen} on the unit's documented rating."
        yield Notice("extension", text, names)


@_notice("places")
def _starts(told: Told) -> Iterator[Notice]:
    """Yield which rules start only after the day asked about."""
    on = told.evaluation.row.on or ""
    for rule in told.rules:
        if rule.start is not None and str(rule.start) > on:
            text = f"{rule.name} starts only on {rule.start}, after the day asked about."
            yield Notice("not-yet-in-force", text, (rule.name,))


@_notice("case")
def _zones(told: Told) -> Iterator[Notice]:
    """Yield whose zone is as somebody named it, because its place was not measured: a word, not a measure."""
    row = told.evaluation.row
    listed = (("injury", "injury", INJURY, row.injuries), ("earlier repair", "repair", REPAIR, row.repairs))
    named = [
        f"{label} {number}"
        for label, group, layout, rows in listed
        for number, each in enumerate(rows or (), start=1)
        if _named(layout, group, each)
    ]
    if named and row.zones == ZONE_EVIDENCE[0]:
        text = f"Named, not measured from the center line of the tread: the zone of {', '.join(named)}."
        yield Notice("zone-named", text)


def _named(layout: Layout, group: str, row: Row) -> bool:
    return row[layout[f"{group}.zone"]] is not None and row[layout[f"{group}.from_centerline"]] is None


@_notice("case")
def _carrier(told: Told) -> Iterator[Notice]:
    """Yield what it rests on that a vehicle which may be in commerce was taken as no commercial motor vehicle."""
    tire = told.evaluation.row.tire
    if CARRIER not in told.evaluation.program.read or tire[TIRE[CARRIER]] is not None:
        return
    if told.evaluation.tire[CARRIER] is False and tire[TIRE["vehicle.use"]] in (None, "commercial"):
        text = (
            f"Taken as no commercial motor vehicle: a {tire[TIRE['vehicle.kind']]} below 10,001 lb. It is one with a "
            "trailer to that weight, placarded hazardous material or seats for more than 8 (49 CFR 390.5); then state "
            "it (vehicle.commercial_motor_vehicle)."
        )
        yield Notice("carrier", text)


_RESALE_WORDS = {
    Activity.USED_TIRE_INSTALLATION: "installed as a used tire",
    Activity.USED_TIRE_SALE: "sold as a used tire",
}


@_notice("case")
def _resale(told: Told) -> Iterator[Notice]:
    """Yield how the repaired tire would fare as a used tire, for each method that may repair it."""
    for method, activity, failing in failing_after(told.evaluation, told.programs):
        text = f"After a {method} repair this tire may not be {_RESALE_WORDS[activity]} here ({', '.join(failing)})."
        yield Notice("resale", text, failing)


def _names(found: Iterable[Rule]) -> tuple[str, ...]:
    return tuple(sorted({rule.name for rule in found}))


#: What makes the notices of each kind, in the order in which they are told, and what they rest on.
NOTICES = tuple(_MAKERS)
