"""Flags that state a case and choose a rulebook, made from the vocabulary so that every fact can be given."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from tirerules.errors import CaseError, MissingDataError, Problem
from tirerules.packs.rule import READINGS
from tirerules.record import lock_from_json, parse
from tirerules.rulebook import Rulebook, load
from tirerules.vocabulary import ACTIVITIES, FACTS, METHODS, Fact, Kind

__all__ = ["add_case_flags", "add_rulebook_flags", "case_of", "read_text", "rulebook_of", "stated_flags"]

#: The lists of a case and the group of facts that one item of each holds.
_LISTS: Final = {"injury": "injuries", "repair": "earlier_repairs"}
#: What a case may state on the command line; a grid of readings is for a file.
_STATED: Final = tuple(fact for fact in FACTS.values() if not fact.derived and fact.kind is not Kind.GRID)
_PROGRAM: Final = {Kind.FLAG: "yes|no", Kind.COUNT: "N", Kind.TEXT: "TEXT", Kind.SET: "none|WORD,WORD"}


def add_rulebook_flags(parser: argparse.ArgumentParser) -> None:
    """Add the flags that choose packs."""
    group = parser.add_argument_group("packs")
    group.add_argument(
        "--packs", action="append", default=[], metavar="PATH", help="a folder or file of your own packs"
    )
    group.add_argument("--pin", action="append", default=[], metavar="PACK=SPEC", help='such as "US-SC=~=1.2"')
    group.add_argument("--lock", metavar="FILE", help="demand exactly the packs that a recorded decision names")


def rulebook_of(options: argparse.Namespace) -> Rulebook:
    """Load the rulebook that the flags ask for. Raises as `tirerules.load`."""
    pins = dict(pin.split("=", 1) if "=" in pin else (pin, "") for pin in options.pin)
    lock = None
    if options.lock:
        said = parse(read_text(options.lock))
        lock = lock_from_json(said.get("packs", said) if isinstance(said, Mapping) else said)
    return load(*options.packs, pins=pins, lock=lock)


def read_text(path: str) -> str:
    """Return a file's text. Raises MissingDataError or CaseError where it cannot be read."""
    try:
        return Path(path).read_text(encoding="utf-8")
    except UnicodeDecodeError:
        raise CaseError([Problem("not-utf-8", "the file is no UTF-8 text", file=path)]) from None
    except OSError as error:
        raise MissingDataError(f"{path}: {error.strerror}") from None


def add_case_flags(parser: argparse.ArgumentParser) -> None:
    """Add a flag for every fact, and those for place, day, reading, method and repair unit."""
    asked = parser.add_argument_group("the question")
    asked.add_argument("--on", metavar="YYYY-MM-DD", help="the day asked about (default: today)")
    asked.add_argument("--reading", choices=READINGS, help="how a limit printed in two units is read (default: strict)")
    asked.add_argument("--unit-method", choices=METHODS, help="the method of the repair unit at hand")
    asked.add_argument("--unit-rated-angle", metavar='"35 deg"', help="the angle its maker rates it for")
    asked.add_argument("--unit-document", metavar="TEXT", help="the document that says so")
    facts = parser.add_argument_group("the facts (leave out what is unknown)")
    for fact in _STATED:
        if fact.kind is Kind.RECORDS:
            facts.add_argument(
                _flag(fact), choices=("none",), help=f"{fact.question} Say none, or use the flags below."
            )
        else:
            shown = (
                "{" + ",".join(fact.values) + "}" if fact.kind in (Kind.CHOICE, Kind.SCALE) else _PROGRAM.get(fact.kind)
            )
            facts.add_argument(_flag(fact), metavar=shown or '"N UNIT"', help=fact.question.replace("%", "%%"))


def add_activity_flag(parser: argparse.ArgumentParser, default: str | None) -> None:
    """Add --activity."""
    parser.add_argument("--activity", choices=ACTIVITIES, help=f"what is being done (default: {default or 'all'})")


def case_of(options: argparse.Namespace, jurisdictions: list[str], activity: str) -> dict[str, Any]:
    """Return the JSON form of the case that the flags state; reading it back checks every word."""
    case: dict[str, Any] = {"jurisdictions": jurisdictions, "activity": activity}
    for group, records in _LISTS.items():
        stated = [fact for fact in _STATED if fact.group == group and getattr(options, _attribute(fact)) is not None]
        if getattr(options, records) is not None and stated:
            message = f"{_flag(FACTS[records])} none contradicts {_flag(stated[0])}"
            raise CaseError([Problem("case-flags", message, "leave one of them out")])
    case |= {key: value for key in ("on", "reading") if (value := getattr(options, key)) is not None}
    for fact in _STATED:
        said = getattr(options, _attribute(fact))
        if said is None:
            continue
        value = _value(fact, said)
        if fact.kind is Kind.RECORDS:
            case[fact.name] = []
        elif fact.group in _LISTS:
            case.setdefault(_LISTS[fact.group], [{}])[0][fact.key] = value
        elif fact.group:
            case.setdefault(fact.group, {})[fact.key] = value
        else:
            case[fact.name] = value
    unit = {
        "method": options.unit_method,
        "rated_angle": options.unit_rated_angle,
        "document": options.unit_document,
    }
    if any(value is not None for value in unit.values()):
        case["repair_unit"] = {key: value for key, value in unit.items() if value is not None}
    return case


def stated_flags(options: argparse.Namespace) -> list[str]:
    """Return the flags that state a case, as given; a file or a stream states its own."""
    plain = ("jurisdiction", "activity", "on", "reading", "unit_method", "unit_rated_angle", "unit_document")
    given = [f"--{name.replace('_', '-')}" for name in plain if getattr(options, name)]
    return given + [_flag(fact) for fact in _STATED if getattr(options, _attribute(fact)) is not None]


def _flag(fact: Fact) -> str:
    return "--" + fact.name.replace(".", "-").replace("_", "-")


def _attribute(fact: Fact) -> str:
    return fact.name.replace(".", "_")


def _value(fact: Fact, said: str) -> Any:
    """Turn a flag's text into what the case reader expects; a wrong word stays, for the reader to refuse it."""
    if fact.kind is Kind.FLAG:
        return {"yes": True, "no": False}.get(said, said)
    if fact.kind is Kind.COUNT:
        return int(said) if said.isdecimal() else said
    if fact.kind is Kind.SET:
        return [] if said == "none" else [word.strip() for word in said.split(",")]
    return said
