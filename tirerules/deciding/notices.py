"""What a verdict does not say and a person should know: gaps in the law, weak evidence, resale after a repair."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any, Final

from tirerules.case import Case, Injury
from tirerules.deciding.decision import Notice
from tirerules.deciding.facts import repaired
from tirerules.deciding.gaps import Gap
from tirerules.deciding.judging import Answer
from tirerules.deciding.judgment import Judgment
from tirerules.packs.pack import Pack
from tirerules.packs.rule import Rule
from tirerules.stated import INJURY, MEASURED_ZONES, REPAIR, WHOLE, Stated
from tirerules.vocabulary import CURED_BY_REPAIR, Activity, answering
from tirerules.worked_out import CARRIER, CARRIER_FACTS

__all__ = [
    "OWN_KINDS",
    "carrier_notices",
    "coverage_notices",
    "gap_notices",
    "own_notices",
    "replaced_notices",
    "resale_notice",
    "rule_notices",
    "said_notices",
    "start_notices",
    "tire_after",
    "zone_notices",
]


def replaced_notices(packs: Iterable[Pack]) -> Iterator[Notice]:
    """Yield which packs the caller put in place of what the library ships, each with its version and its bytes."""
    for pack in sorted(packs, key=lambda each: each.id):
        if pack.replaces:
            text = f"Pack {pack.id} {pack.version} does not ship with this library: it was put in by name and decides"
            yield Notice("replaced", f"{text} in place of what ships (SHA-256 {pack.sha256}).")


def coverage_notices(packs: Sequence[Pack], activity: str) -> Iterator[Notice]:
    """Yield what the packs of a place say about having found nothing; silence and "none located" are different."""
    baseline = {each for pack in packs if pack.kind == "baseline" for each in pack.coverage}
    for pack in packs:
        if pack.kind not in ("country", "jurisdiction"):
            continue
        for each in answering(Activity(activity)):
            covered = pack.covers(each)
            if covered == "none-located":
                governs = "the trade baseline governs" if each in baseline else "nothing here governs it"
                text = f"{pack.title}: no law on {each} was located (reviewed {pack.reviewed}); {governs}."
                yield Notice("none-located", text)
            elif covered == "partial":
                yield Notice("partial", f"{pack.title}: its law on {each} was read only in part.")
            elif covered == "not-reviewed":
                yield Notice("not-reviewed", f"{pack.title}: its law on {each} has not been reviewed.")


def gap_notices(answers: Iterable[Answer]) -> Iterator[Notice]:
    """Yield what no rule speaks to."""
    return said_notices(answer.says for answer in answers if isinstance(answer, Gap))


def said_notices(texts: Iterable[str]) -> Iterator[Notice]:
    """Yield what no rule speaks to, each once."""
    return (Notice("gap", text) for text in dict.fromkeys(texts))


def rule_notices(judgments: Sequence[Judgment]) -> Iterator[Notice]:
    """Yield how far the rules behind a decision can be relied on."""
    for grade, words in (
        ("secondary", "Known from a description, not from the text itself"),
        ("memory", "Known from memory only; the text was not read"),
    ):
        names = _names(judgment for judgment in judgments if judgment.rule.source.evidence == grade)
        if names:
            yield Notice("evidence", f"{words}: {', '.join(names)}.", names)
    names = _names(judgment for judgment in judgments if not judgment.rule.source.confirmed)
    if names:
        yield Notice("currency", f"Not confirmed to be still in force: {', '.join(names)}.", names)
    extended = [judgment for judgment in judgments if judgment.extended]
    if extended:
        names = _names(extended)
        text = f"The limit of {', '.join(names)} is extended to {extended[0].chosen} on the unit's documented rating."
        yield Notice("extension", text, names)


def start_notices(rules: Iterable[Rule], on: date) -> Iterator[Notice]:
    """Yield which rules start only after the day asked about."""
    for rule in rules:
        if rule.start is not None and rule.start > on:
            text = f"{rule.name} starts only on {rule.start}, after the day asked about."
            yield Notice("not-yet-in-force", text, (rule.name,))


#: The kinds of notices that are a case's own: what else is said follows from the rules that it meets.
OWN_KINDS: Final = frozenset({"zone-named", "carrier", "resale"})


def own_notices(stated: Stated, facts: Container[str]) -> tuple[Notice, ...]:
    """Return what follows from what a case states itself, under rules that read `facts`; resale apart."""
    return (*zone_notices(stated), *(carrier_notices(stated) if CARRIER in facts else ()))


def zone_notices(stated: Stated) -> Iterator[Notice]:
    """Yield whose zone is as somebody named it, because its place was not measured: a word, not a measure."""
    listed = (("injury", INJURY, stated.injuries), ("earlier repair", REPAIR, stated.repairs))
    named = [
        f"{label} {number}"
        for label, places, rows in listed
        for number, row in enumerate(rows or (), start=1)
        if _named(places, row)
    ]
    if named and not stated.flags & MEASURED_ZONES:
        text = f"Named, not measured from the center line of the tread: the zone of {', '.join(named)}."
        yield Notice("zone-named", text)


def _named(places: Mapping[str, int], row: Sequence[Any]) -> bool:
    group = next(iter(places)).partition(".")[0]
    return row[places[f"{group}.zone"]] is not None and row[places[f"{group}.from_centerline"]] is None


def carrier_notices(stated: Stated) -> Iterator[Notice]:
    """Yield what it rests on that a vehicle which may be in commerce was taken as no commercial motor vehicle."""
    use, _, kind, _, said = (stated.whole[WHOLE[fact]] for fact in CARRIER_FACTS)
    if said is None and stated.known[WHOLE[CARRIER]] is False and use in (None, "commercial"):
        text = (
            f"Taken as no commercial motor vehicle: a {kind} below 10,001 lb. It is one with a trailer to that weight, "
            "placarded hazardous material or seats for more than 8 (49 CFR 390.5); then state it "
            "(vehicle.commercial_motor_vehicle)."
        )
        yield Notice("carrier", text)


def _names(judgments: Iterable[Judgment]) -> tuple[str, ...]:
    return tuple(sorted({judgment.rule.name for judgment in judgments}))


def tire_after(case: Case, method: str, activity: Activity) -> Case:
    """Return the case of the same tire once repaired by `method`, under another activity."""
    mended = tuple(repaired(injury, method) for injury in case.injuries or (Injury(),))
    earlier = None if case.earlier_repairs is None else (*case.earlier_repairs, *mended)
    findings = None if case.findings is None else case.findings - CURED_BY_REPAIR
    return replace(
        case,
        activity=activity,
        injuries=(),
        earlier_repairs=earlier,
        findings=findings,
        method=None,
        repair_unit=None,
    )


def resale_notice(activity: Activity, method: str, failing: Sequence[str]) -> Notice:
    """Return the notice that a tire repaired by `method` fails some rules under `activity`."""
    acts = {Activity.USED_TIRE_INSTALLATION: "installed as a used tire", Activity.USED_TIRE_SALE: "sold as a used tire"}
    text = f"After a {method} repair this tire may not be {acts[activity]} here ({', '.join(failing)})."
    return Notice("resale", text, tuple(failing))
