"""The whole of what a decision must say, in the form in which it is written as JSON.

Left out are the wordings that stand in the library's table of facts and steps (a question's text, a step's), what the
packs are by their bytes, and the digest over it all.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, Final

from tests.reference.hearing import Heard
from tests.reference.limits import limits_of, source_of
from tests.reference.measures import decimal
from tests.reference.notices import notices_of
from tests.reference.oracle import Reading
from tests.reference.places import is_measured, is_reach_known, openings_of
from tests.reference.questions import questions_of
from tests.reference.rules import limits_reach
from tests.reference.wording import limit_in_words, when_in_words
from tests.reference.words import GROUPS, STEPS

__all__ = ["statement"]

_FIRST: Final = ("fails", "unknown", "passes")
_SAY: Final = {
    "repair": ("Repairable within the limits", "Not repairable within the limits"),
    "used-tire-installation": ("May be installed as a used tire", "May not be installed as a used tire"),
    "used-tire-sale": ("May be sold as a used tire", "May not be sold as a used tire"),
    "tire-sale": ("May be sold", "May not be sold"),
    "vehicle-sale": ("The vehicle may be sold with this tire", "The vehicle may not be sold with this tire"),
    "road-use": ("May be used on the road", "May not be used on the road"),
    "inspection": ("Passes the located inspection rules", "Fails inspection"),
}


def statement(packs: list[dict[str, Any]], case: dict[str, Any]) -> dict[str, Any]:
    """What must be said of `case` by `packs`, which are plain YAML data."""
    reading = Reading(packs, case)
    answers = reading.answers
    return {
        "verdict": reading.verdict,
        "activity": case["activity"],
        "say": _say(reading),
        "methods": [
            {
                "method": method,
                "injury": injury,
                "verdict": verdict,
                "reasons": _reasons(reading.by_method[injury, method]),
            }
            for (injury, method), verdict in reading.methods.items()
        ],
        "limits": limits_of(answers),
        "limits_method": reading.leading,
        "reasons": _reasons(reading.common),
        "geometry": list(_geometry(reading)),
        "questions": questions_of(reading),
        "requirements": _requirements(answers),
        "notices": notices_of(packs, reading),
        "case": _echo(case),
        "packs": {pack["pack"]: pack["version"] for pack in reading.packs},
        "on": case["on"],
    }


def _say(reading: Reading) -> str:
    yes, no = _SAY[reading.case["activity"]]
    if reading.verdict == "undetermined":
        return "Cannot be told yet"
    if reading.verdict == "outside-limits":
        return no
    if not reading.methods:
        return yes
    by_method: dict[str, set[str]] = {}
    for (_, method), verdict in reading.methods.items():
        by_method.setdefault(method, set()).add(verdict)
    one = next((method for method, verdicts in by_method.items() if verdicts == {"within-limits"}), None)
    return f"{yes}, each injury by its own method" if one is None else f"{yes}, by the {one} method"


def _reasons(said: Iterable[Heard]) -> list[dict[str, Any]]:
    """What each rule says, what fails first; a rule that requires steps is no reason."""
    heard = [each for each in said if each.fact is not None]
    heard.sort(key=lambda each: (_FIRST.index(each.outcome), each.name, each.subject))
    return [_reason(each) for each in heard]


def _reason(each: Heard) -> dict[str, Any]:
    limit = limit_in_words(each.rule, each.demand.figure) if each.rule and each.demand else ""
    said: dict[str, Any] = {"rule": each.name, "fact": each.fact}
    texts = {"subject": each.subject, "measured": each.measured, "limit": limit}
    said |= {key: text for key, text in texts.items() if text}
    said |= {"outcome": each.outcome, "applies": each.applies}
    if each.rule is None:
        return said | {"says": each.says}
    said["says"] = " ".join(each.rule["says"].split())
    if each.demand and each.demand.extended:
        said["extended"] = True
    return said | source_of(each.rule)


def _geometry(reading: Reading) -> Iterator[dict[str, Any]]:
    """Where each measured injury lies on both faces, against the narrowest band that surely applies, of any method."""
    for number, own in enumerate(reading.injuries, start=1):
        by_method = [found for (injury, _), found in reading.by_method.items() if injury == number]
        heard = [each for found in (own, *by_method) for each in found]
        bands = [each for each in heard if each.rule and limits_reach(each.rule, "injury")]
        view = next((each.view for each in bands if each.view and is_measured(each.view)), None)
        if view is None:
            continue
        known = is_reach_known(view)
        said: dict[str, Any] = {"injury": number, "offset": view.shown["injury.from_centerline"], "known": known}
        outer, inner = openings_of(view)
        if known:
            said |= {"reach_outside": f"{decimal(outer[1])} mm", "reach_inside": f"{decimal(inner[1])} mm"}
        strict = [
            (each.demand.strict, each.name)
            for each in bands
            if each.applies and each.demand and each.demand.strict is not None
        ]
        if strict:
            band, name = min(strict)
            said |= {"band": f"{decimal(band)} mm", "rule": name}
            if known:
                said["margin"] = f"{decimal(band - max(outer[1], inner[1]))} mm"
        yield said


def _requirements(answers: Iterable[Heard]) -> list[dict[str, Any]]:
    """What must be done, by the rules that may apply; where none surely does, on what that depends."""
    asking = [(each, each.rule) for each in answers if each.rule and "require" in each.rule]
    found = []
    for step in STEPS:
        of_step = [(each, rule) for each, rule in asking if step in rule["require"]["steps"]]
        if of_step:
            depends = "" if any(each.applies for each, _ in of_step) else when_in_words(of_step[0][1])
            names = sorted({each.name for each, _ in of_step})
            found.append({"step": step, **({"when": depends} if depends else {}), "rules": names})
    return found


def _echo(case: dict[str, Any]) -> dict[str, Any]:
    """The case as it was understood: without what is unknown, findings sorted and each once."""
    said = {key: case[key] for key in ("jurisdictions", "activity", "on", "method") if case.get(key) is not None}
    said |= {group: known for group in (*GROUPS, "repair_unit") if (known := _known(case.get(group) or {}))}
    for key in ("injuries", "earlier_repairs"):
        if case.get(key) is not None:
            said[key] = [_known(item) for item in case[key]]
    if case.get("findings") is not None:
        said["findings"] = sorted(set(case["findings"]))
    said["reading"] = case.get("reading") or "strict"
    if case.get("zones") == "measured":
        said["zones"] = "measured"
    return said


def _known(block: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in block.items() if value is not None}
