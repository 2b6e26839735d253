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
from tirerules.vocabulary import EVIDENCE, ZONE_EVIDENCE, Activity, answering

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
            what = {"pack": pack.id, "version": pack.version_text, "sha256": pack.sha256}
            yield Notice.of("replaced", "notice.replaced", what)


@_notice("places")
def _coverage(told: Told) -> Iterator[Notice]:
    """Yield what the packs of a place say about having found nothing; silence and "none located" are different."""
    baseline = {each for pack in told.packs if pack.kind == "baseline" for each in pack.coverage}
    for pack in told.packs:
        if pack.kind not in ("country", "jurisdiction"):
            continue
        for each in answering(Activity(told.evaluation.row.activity)):
            covered, what = pack.covers(each), {"title": pack.title, "activity": str(each)}
            if covered == "none-located":
                governs = "trade" if each in baseline else "nothing"
                yield Notice.of(covered, f"notice.none-located.{governs}", what | {"day": str(pack.reviewed)})
            elif covered in ("partial", "not-reviewed"):
                yield Notice.of(covered, f"notice.{covered}", what)


@_notice("case")
def _gaps(told: Told) -> Iterator[Notice]:
    """Yield what no rule speaks to, each once."""
    activity = told.evaluation.row.activity
    found = (Notice.of("gap", gap.rule.template, gap.parameters(activity)) for gap in told.gaps)
    return iter({notice.text: notice for notice in found}.values())


#: Grades of evidence of which a person is told.
_WEAK = EVIDENCE[1:]


@_notice("evidence")
def _evidence(told: Told) -> Iterator[Notice]:
    """Yield how far the rules behind a decision can be relied on."""
    for grade in _WEAK:
        names = _names(rule for rule in _rules(told) if rule.source.evidence == grade)
        if names:
            yield Notice.of("evidence", f"notice.{grade}", {}, names)


@_notice("currency")
def _currency(told: Told) -> Iterator[Notice]:
    names = _names(rule for rule in _rules(told) if not rule.source.confirmed)
    if names:
        yield Notice.of("currency", "notice.currency", {}, names)


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
        yield Notice.of("extension", "notice.extension", {"figure": str(extended[0].chosen)}, names)


@_notice("places")
def _starts(told: Told) -> Iterator[Notice]:
    """Yield which rules start only after the day asked about."""
    on = told.evaluation.row.on or ""
    for rule in told.rules:
        if rule.start is not None and str(rule.start) > on:
            yield Notice.of("not-yet-in-force", "notice.not-yet-in-force", {"day": str(rule.start)}, (rule.name,))


@_notice("case")
def _zones(told: Told) -> Iterator[Notice]:
    """Yield whose zone is as somebody named it, because its place was not measured: a word, not a measure."""
    row = told.evaluation.row
    listed = (("injury", "injury", INJURY, row.injuries), ("earlier repair", "repair", REPAIR, row.repairs))
    named = tuple(
        f"{label} {number}"
        for label, group, layout, rows in listed
        for number, each in enumerate(rows or (), start=1)
        if _named(layout, group, each)
    )
    if named and row.zones == ZONE_EVIDENCE[0]:
        yield Notice.of("zone-named", "notice.zone-named", {"subjects": named})


def _named(layout: Layout, group: str, row: Row) -> bool:
    return row[layout[f"{group}.zone"]] is not None and row[layout[f"{group}.from_centerline"]] is None


@_notice("case")
def _carrier(told: Told) -> Iterator[Notice]:
    """Yield what it rests on that a vehicle which may be in commerce was taken as no commercial motor vehicle."""
    tire = told.evaluation.row.tire
    if CARRIER not in told.evaluation.program.read or tire[TIRE[CARRIER]] is not None:
        return
    if told.evaluation.tire[CARRIER] is False and tire[TIRE["vehicle.use"]] in (None, "commercial"):
        yield Notice.of("carrier", "notice.carrier", {"vehicle": tire[TIRE["vehicle.kind"]]})


@_notice("case")
def _resale(told: Told) -> Iterator[Notice]:
    """Yield how the repaired tire would fare as a used tire, for each method that may repair it."""
    for method, activity, failing in failing_after(told.evaluation, told.programs):
        yield Notice.of("resale", f"notice.resale.{activity}", {"method": method}, failing)


def _names(found: Iterable[Rule]) -> tuple[str, ...]:
    return tuple(sorted({rule.name for rule in found}))


#: What makes the notices of each kind, in the order in which they are told, and what they rest on.
NOTICES = tuple(_MAKERS)
