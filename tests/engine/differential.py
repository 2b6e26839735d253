"""Cases drawn without end, decided by the library and by the specification, and compared in every part.

Only the public face of the library is used, so that nothing here changes with what lies under it. Run as a program with
a seed and a number of cases it prints the first disagreement and exits with 1; that is how mutants are tried.
"""

from __future__ import annotations

import hashlib
import json
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from itertools import count, islice
from random import Random
from typing import Any, Final

import tirerules
from tests.reference.drawing import drawn_cases, drawn_packs
from tests.reference.smaller import smaller
from tests.reference.statement import statement
from tests.support import builtin_packs, rulebook_of
from tirerules import Rulebook, case_from_json, decision_to_json
from tirerules.labels import label
from tirerules.templates import filled
from tirerules.vocabulary import FACTS

__all__ = ["Book", "books", "builtin", "compared", "disagreement", "explained"]

Case = dict[str, Any]
Packs = list[dict[str, Any]]
#: A rulebook, the packs that it was made of, and cases for it.
Book = tuple[Rulebook, Packs, Iterator[Case]]

_CASES_OF_A_BOOK: Final = 40
#: Every so many cases, the typed form and the text form of a case must be answered as the plain one is.
_IN_ALL_FORMS: Final = 8
_CAUTIONS: Final = [
    "Not legal advice: check the law in force and the tire maker's policy.",
    "Dismount the tire and inspect it inside and outside before any repair.",
    "Only trained persons repair tires.",
]


def books(seed: int) -> Iterator[Book]:
    """Yield rulebooks of invented packs, each with a few cases for it."""
    for number in count():
        rng = Random(f"{seed} {number}")
        packs = drawn_packs(rng, placed=True)
        yield rulebook_of(packs), packs, islice(drawn_cases(rng, packs, placed=True), _CASES_OF_A_BOOK)


def builtin(seed: int) -> Book:
    """Return the rulebook of the packs that ship, with cases for it."""
    packs = builtin_packs()
    return tirerules.load(), packs, drawn_cases(Random(f"{seed} built in"), packs, placed=True)


def compared(book: Book, cases: int, seen: Counter[Any]) -> str | None:
    """Compare at most so many cases of a book; return the first disagreement in words, or None.

    `seen` counts what occurred in the statements of the specification.
    """
    rulebook, packs, drawn = book
    for number, case in enumerate(islice(drawn, cases)):
        expected = statement(packs, case)
        if _disagreement(rulebook, expected, case, in_all_forms=number % _IN_ALL_FORMS == 0):
            return explained(packs, case)
        _count(expected, seen)
    return None


def disagreement(rulebook: Rulebook, packs: Packs, case: Case, *, in_all_forms: bool) -> str | None:
    """Return the first part of a decision that is not what the specification says, with both; None where all are."""
    return _disagreement(rulebook, statement(packs, case), case, in_all_forms=in_all_forms)


def _disagreement(rulebook: Rulebook, expected: dict[str, Any], case: Case, *, in_all_forms: bool) -> str | None:
    said = _said(lambda: decision_to_json(rulebook.decide(case)))
    differing = _differing(said, _complete(expected))
    if differing is None and in_all_forms:
        differing = _differing(_said(lambda: decision_to_json(rulebook.decide(case_from_json(case)))), said)
    if differing is None and in_all_forms:
        differing = _differing(_said(lambda: json.loads(rulebook.decide_json(json.dumps(case)))), said)
    return differing


def _said(decide: Callable[[], dict[str, Any]]) -> dict[str, Any]:
    """What the library says, with its digest and its lock of packs proved; a refusal is one more thing that it says."""
    try:
        said = decide()
    except Exception as error:  # any refusal of a good case is a disagreement, to be shown like the others
        return {"refused": f"{type(error).__name__}: {error}"}
    text = json.dumps(
        {key: value for key, value in said.items() if key != "digest"}, sort_keys=True, separators=(",", ":")
    )
    said["digest"] = said["digest"] == f"sha256:{hashlib.sha256(text.encode()).hexdigest()}"
    said["packs"] = {pack: entry["version"] for pack, entry in said["packs"].items()}
    for notice in said["notices"]:  # the specification words a notice itself: what fills the template must give that
        parameters = {
            key: tuple(value) if isinstance(value, list) else value for key, value in notice.pop("parameters").items()
        }
        assert filled(notice.pop("template"), parameters | {"rules": tuple(notice["rules"])}) == notice["text"]
    return said


def _complete(expected: dict[str, Any]) -> dict[str, Any]:
    """What the specification says, with the wordings that stand in the vocabulary alone."""
    questions = [_worded(each) for each in expected["questions"]]
    requirements = [
        {
            **each,
            "say": filled(f"step.{each['step']}", {}),
            "template": f"step.{each['step']}",
            "parameters": {"when": each["when"].split("; ") if "when" in each else []},
        }
        for each in expected["requirements"]
    ]
    more = {"cautions": _CAUTIONS, "engine": tirerules.__version__, "form": 3, "digest": True}
    return {**expected, "questions": questions, "requirements": requirements, **more}


def _worded(question: dict[str, Any]) -> dict[str, Any]:
    fact = question["fact"]
    choices = {"choices": [{"word": word, "label": label(fact, word)} for word in question.get("choices", ())]}
    return {**question, "ask": FACTS[fact].question, **(choices if choices["choices"] else {})}


def _differing(said: dict[str, Any], expected: dict[str, Any]) -> str | None:
    if "refused" in said:
        return f"refused: {said['refused']}"
    for part in (*expected, *said):
        found, wanted = said.get(part), expected.get(part)
        same = found == wanted and (part != "limits" or list(said[part]) == list(expected[part]))
        if not same:
            return f"{part}:\n{_difference(found, wanted)}"
    return None


def _difference(found: Any, wanted: Any) -> str:
    """Only what differs, of two lists or two mappings."""
    if isinstance(found, dict) and isinstance(wanted, dict):
        keys = [key for key in {**found, **wanted} if found.get(key) != wanted.get(key)]
        found, wanted = ({key: each.get(key) for key in keys} or list(each) for each in (found, wanted))
    elif isinstance(found, list) and isinstance(wanted, list):
        here, there = [each for each in found if each not in wanted], [each for each in wanted if each not in found]
        found, wanted = (here, there) if here or there else (found, wanted)
    lines = (json.dumps(each, ensure_ascii=False, indent=1) for each in (found, wanted))
    return "  library:       {}\n  specification: {}".format(*lines)


def explained(packs: Packs, case: Case) -> str:
    """Say how the two disagree on a case, on the smallest packs and case that show it in the same part."""
    keys = ("note", "given", "examples", "notes", "not-law")
    packs = [{key: value for key, value in pack.items() if key not in keys} for pack in packs]
    first = disagreement(rulebook_of(packs), packs, case, in_all_forms=True)
    if first is None:
        return f"the library answered otherwise when asked again: {json.dumps(case, ensure_ascii=False)}"
    part = first.partition(":")[0]

    def still(fewer: Packs, less: Case) -> bool:
        try:
            found = disagreement(rulebook_of(fewer), fewer, less, in_all_forms=True)
        except Exception:  # the cut took away what the rest needs
            return False
        return found is not None and found.partition(":")[0] == part

    packs, case = smaller(packs, case, still)
    lines = [str(disagreement(rulebook_of(packs), packs, case, in_all_forms=True))]
    lines.append(f"case: {json.dumps(case, ensure_ascii=False, indent=1)}")
    for pack in packs:
        head = f"pack {pack['pack']} ({pack['kind']}), {pack['coverage']}:"
        lines += [head, *(f"  - {json.dumps(rule, default=str, ensure_ascii=False)}" for rule in pack["rules"])]
        used = {rule["source"] for rule in pack["rules"]}
        lines += [f"  source {key}: {source}" for key, source in pack["sources"].items() if key in used]
    return "\n".join(lines)


def _count(expected: dict[str, Any], seen: Counter[Any]) -> None:
    """Count what the specification said of a case, so that a comparison of nothing is noticed."""
    case = expected["case"]
    seen["cases"] += 1
    seen["verdict", expected["activity"] == "repair", expected["verdict"]] += 1
    seen["activity", expected["activity"]] += 1
    seen["questions", min(len(expected["questions"]), 2)] += 1
    seen.update(("notice", each["kind"]) for each in expected["notices"])
    seen.update(("requirement", "when" in each) for each in expected["requirements"])
    seen.update(("method", each["method"], each["verdict"]) for each in expected["methods"])
    for each in expected["geometry"]:
        seen.update(("geometry", key) for key in ("known", "band", "margin") if each.get(key))
    for limits in expected["limits"].values():
        seen.update(("limit", key) for key in limits if key != "ladder")
        seen["limit", "several bind"] += len(limits["binding"]) > 1
        seen["limit", "doubtful"] += any(rung["applies"] is None for rung in limits["ladder"])
    for each in (*expected["reasons"], *(each for method in expected["methods"] for each in method["reasons"])):
        seen["outcome", each["outcome"]] += 1
        if each["rule"].startswith("engine/"):
            seen["rule of the library's own", each["rule"]] += 1
        for words in ("by measurement", "beyond the tread", "along the surface", "readings", "made in week"):
            seen["measured", words] += words in each.get("measured", "")
        seen["counted",] += "counted in" in each.get("limit", "")
        seen["extended",] += each.get("extended", False)
        seen["pair",] += " and " in each.get("subject", "")
        seen["as repaired",] += each.get("subject", "").startswith("the repair of")
        seen["follows from two",] += "-by-" in each["rule"]
    seen["several injuries",] += len(case.get("injuries") or ()) > 1
    seen["zones measured",] += case.get("zones") == "measured"
    for key in ("injuries", "earlier_repairs", "findings"):
        seen["unrecorded", key] += key not in case


def main(seed: int, cases: int) -> int:
    """Compare so many cases, some of them on the packs that ship; print the first disagreement and return 1 for it."""
    shipped = builtin(seed)
    for invented in books(seed):
        for (rulebook, packs, drawn), most in ((invented, _CASES_OF_A_BOOK), (shipped, _CASES_OF_A_BOOK // 4)):
            for case in islice(drawn, min(most, cases)):
                found = disagreement(rulebook, packs, case, in_all_forms=cases % _IN_ALL_FORMS == 0)
                if found is not None:
                    print(found)
                    return 1
                cases -= 1
        if cases <= 0:
            return 0
    raise AssertionError("books of cases never end")


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]), int(sys.argv[2])))
