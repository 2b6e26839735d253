"""What a verdict does not say and a person should know, also of selling or fitting the tire once it is repaired."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from tests.reference.derived import is_commercial
from tests.reference.hearing import Heard
from tests.reference.oracle import Reading
from tests.reference.resale import failing_after
from tests.reference.rules import taken
from tests.reference.words import IMPLIED, RESALE

__all__ = ["notices_of"]

Notice = dict[str, Any]


def notices_of(packs: list[dict[str, Any]], reading: Reading) -> list[Notice]:
    """All notices, in the order in which a decision gives them."""
    return [
        *_coverage(reading),
        *_gaps(reading.answers),
        *_reliance(reading.answers),
        *_not_yet(packs, reading.case),
        *_named_zones(reading.case),
        *_carrier(reading),
        *_resale(packs, reading),
    ]


def _notice(kind: str, text: str, rules: Iterable[str] = ()) -> Notice:
    return {"kind": kind, "text": text, "rules": list(rules)}


def _coverage(reading: Reading) -> Iterator[Notice]:
    """What the packs of the places say of having found nothing, or of not having looked."""
    act = reading.case["activity"]
    trade = {each for pack in reading.packs if pack["kind"] == "baseline" for each in pack["coverage"]}
    for pack in reading.packs:
        if pack["kind"] in ("country", "jurisdiction"):
            for each in (act, *([IMPLIED[act]] if act in IMPLIED else [])):
                said, title = pack["coverage"].get(each, "not-reviewed"), pack["title"]
                if said == "none-located":
                    governs = "the trade baseline governs" if each in trade else "nothing here governs it"
                    text = f"no law on {each} was located (reviewed {pack['reviewed']}); {governs}."
                    yield _notice(said, f"{title}: {text}")
                elif said == "partial":
                    yield _notice(said, f"{title}: its law on {each} was read only in part.")
                elif said == "not-reviewed":
                    yield _notice(said, f"{title}: its law on {each} has not been reviewed.")


def _gaps(answers: Iterable[Heard]) -> Iterator[Notice]:
    """What no rule speaks to, each once."""
    for text in dict.fromkeys(each.says for each in answers if each.rule is None):
        yield _notice("gap", text)


def _reliance(answers: list[Heard]) -> Iterator[Notice]:
    """How far the rules behind the answer can be relied on."""
    for grade, words in (
        ("secondary", "Known from a description, not from the text itself"),
        ("memory", "Known from memory only; the text was not read"),
    ):
        if names := _names(each for each in answers if each.rule and each.rule["source"]["evidence"] == grade):
            yield _notice("evidence", f"{words}: {', '.join(names)}.", names)
    doubtful = [each for each in answers if each.rule and each.rule["source"].get("currency") == "unconfirmed"]
    if names := _names(doubtful):
        yield _notice("currency", f"Not confirmed to be still in force: {', '.join(names)}.", names)
    extended = [(each, each.demand) for each in answers if each.demand and each.demand.extended]
    if extended:
        names = _names(each for each, _ in extended)
        figure = extended[0][1].figure
        text = f"The limit of {', '.join(names)} is extended to {figure} on the unit's documented rating."
        yield _notice("extension", text, names)


def _names(answers: Iterable[Heard]) -> list[str]:
    return sorted({each.name for each in answers})


def _not_yet(packs: list[dict[str, Any]], case: dict[str, Any]) -> Iterator[Notice]:
    """Which rules start only after the day that is asked about."""
    for rule in taken(packs, case, on_any_day=True):
        start = str(rule.get("in-force", {}).get("from", "unknown"))
        if start != "unknown" and start > case["on"]:
            text = f"{rule['name']} starts only on {start}, after the day asked about."
            yield _notice("not-yet-in-force", text, [rule["name"]])


def _named_zones(case: dict[str, Any]) -> Iterator[Notice]:
    """Whose zone somebody named without measuring its place."""
    named = [
        f"{label} {number}"
        for key, label in (("injuries", "injury"), ("earlier_repairs", "earlier repair"))
        for number, item in enumerate(case.get(key) or (), start=1)
        if item.get("zone") is not None and item.get("from_centerline") is None
    ]
    if named and case.get("zones") != "measured":
        text = f"Named, not measured from the center line of the tread: the zone of {', '.join(named)}."
        yield _notice("zone-named", text)


def _carrier(reading: Reading) -> Iterator[Notice]:
    """What it rests on that a vehicle which may be in commerce was taken as no commercial motor vehicle."""
    fact, tire = "vehicle.commercial_motor_vehicle", reading.tire
    vehicle = reading.case.get("vehicle") or {}
    worked_out = vehicle.get("commercial_motor_vehicle") is None and is_commercial(tire.known) is False
    if (
        worked_out
        and vehicle.get("use") in (None, "commercial")
        and any(fact in rule["reads"] for rule in reading.rules)
    ):
        text = (
            f"Taken as no commercial motor vehicle: a {vehicle['kind']} below 10,001 lb. It is one with a trailer to "
            "that weight, placarded hazardous material or seats for more than 8 (49 CFR 390.5); then state it "
            f"({fact})."
        )
        yield _notice("carrier", text)


def _resale(packs: list[dict[str, Any]], reading: Reading) -> Iterator[Notice]:
    """How the repaired tire would fare as a used one, by each method that may repair some injury of it."""
    if reading.verdict == "outside-limits":
        return
    able = dict.fromkeys(method for (_, method), said in reading.methods.items() if said != "outside-limits")
    for method in able:
        for act, words in RESALE.items():
            if failing := failing_after(packs, reading.case, method, act):
                text = f"After a {method} repair this tire may not be {words} here ({', '.join(failing)})."
                yield _notice("resale", text, failing)
