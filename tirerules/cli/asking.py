"""Flags that state a case and choose a rulebook, made from the vocabulary so that every fact can be given."""

from __future__ import annotations

from tirerules.cli.parser import NONE, Pins, Words
from tirerules.errors import CaseError, MissingDataError, Problem
from tirerules.packs.rule import READINGS
from tirerules.rulebook import load
from tirerules.vocabulary import ACTIVITIES, FACTS, METHODS, ZONE_EVIDENCE

TYPE_CHECKING = False
if TYPE_CHECKING:
    import argparse
    from collections.abc import Mapping
    from typing import Any, Final

    from tirerules.rulebook import Rulebook
    from tirerules.vocabulary import Fact

__all__ = [
    "add_activity_flag",
    "add_case_flags",
    "add_rulebook_flags",
    "case_of",
    "flag_of",
    "read_text",
    "rulebook_of",
    "stated_flags",
]

#: The lists of a case and the group of facts that one item of each holds.
_LISTS: Final = {"injury": "injuries", "repair": "earlier_repairs"}
#: What a case may state on the command line; a grid of readings is for a file.
_STATED: Final = tuple(fact for fact in FACTS.values() if not fact.derived and fact.kind != "grid")
#: The attributes of what is stated beside the facts.
_PLAIN: Final = (
    "jurisdiction",
    "activity",
    "on",
    "reading",
    "zones",
    "unit_method",
    "unit_rated_angle",
    "unit_document",
)
#: A longer number counts nothing on a tire, and Python refuses to read very long ones.
_MOST_DIGITS: Final = 9
_PROGRAM: Final = {"flag": "yes|no", "count": "N", "text": "TEXT", "set": "none|WORD,WORD"}


def add_rulebook_flags(parser: argparse.ArgumentParser) -> None:
    """Add the flags that choose packs."""
    group = parser.add_argument_group("packs")
    group.add_argument(
        "--packs", action="append", default=[], metavar="PATH", help="a folder or file of your own packs; repeatable"
    )
    group.add_argument("--pin", action=Pins, default={}, metavar="PACK=SPEC", help='such as "US-SC=~=1.2"; repeatable')
    group.add_argument(
        "--replace",
        action="append",
        default=[],
        metavar="NAME",
        help="let your own pack of this name stand in place of the built-in one; every answer says so; repeatable",
    )
    group.add_argument("--lock", metavar="FILE", help="demand exactly the packs that a recorded decision names")


def rulebook_of(options: argparse.Namespace) -> Rulebook:
    """Load the rulebook that the flags ask for. Raises as `tirerules.load`."""
    lock = None
    if options.lock is not None:
        from tirerules.record import lock_from_json, parse

        said = parse(read_text(options.lock))
        lock = lock_from_json(said.get("packs", said) if isinstance(said, dict) else said)
    return load(*options.packs, pins=options.pin, lock=lock, replace=options.replace)


def read_text(path: str) -> str:
    """Return a file's text. Raises MissingDataError or CaseError where it cannot be read."""
    try:
        with open(path, encoding="utf-8") as file:
            return file.read()
    except UnicodeDecodeError:
        problem = Problem("not-utf-8", "the file is no UTF-8 text", "save it as UTF-8", file=path)
        raise CaseError([problem]) from None
    except OSError as error:
        raise MissingDataError(f"{path}: {error.strerror or error}") from None


def add_case_flags(parser: argparse.ArgumentParser) -> None:
    """Add a flag for every fact, and those for place, day, reading, method and repair unit."""
    asked = parser.add_argument_group("the question")
    asked.add_argument("--on", metavar="YYYY-MM-DD", help="the day asked about (default: today)")
    asked.add_argument("--reading", choices=READINGS, help="how a limit printed in two units is read (default: strict)")
    asked.add_argument(
        "--zones",
        choices=ZONE_EVIDENCE,
        help="whether a named zone is enough, or only a measured place (default: as-named)",
    )
    asked.add_argument("--unit-method", choices=METHODS, help="the method of the repair unit at hand")
    asked.add_argument("--unit-rated-angle", metavar='"35 deg"', help="the angle its maker rates it for")
    asked.add_argument("--unit-document", metavar="TEXT", help="the document that says so")
    facts = parser.add_argument_group("the facts (leave out what is unknown)")
    for fact in _STATED:
        name, kind, question = fact.name, fact.kind, fact.question
        if kind == "records":
            facts.add_argument(_flag(name), choices=("none",), help=f"{question} Say none, or use the flags below.")
        else:
            shown = "{" + ",".join(fact.values) + "}" if kind in ("choice", "scale") else _PROGRAM.get(kind)
            action = Words if kind == "set" else "store"
            facts.add_argument(
                _flag(name), action=action, metavar=shown or '"N UNIT"', help=question.replace("%", "%%")
            )


def add_activity_flag(parser: argparse.ArgumentParser, default: str | None) -> None:
    """Add --activity."""
    parser.add_argument("--activity", choices=ACTIVITIES, help=f"what is being done (default: {default or 'all'})")


def case_of(options: Mapping[str, Any], jurisdictions: list[str], activity: str) -> dict[str, Any]:
    """Return the JSON form of the case that flags state, by attribute; reading it back checks every word.

    Raises CaseError for flags that contradict each other.
    """
    case: dict[str, Any] = {"jurisdictions": jurisdictions, "activity": activity}
    case |= {key: value for key in ("on", "reading", "zones") if (value := options.get(key)) is not None}
    for fact in _STATED:
        said = options.get(_attribute(fact.name))
        if said is None:
            continue
        group, _, key = fact.name.rpartition(".")
        if fact.kind == "records":
            case[key] = []
        elif group in _LISTS:
            if options.get(_LISTS[group]) is not None:
                raise _contradiction(_LISTS[group], fact.name)
            case.setdefault(_LISTS[group], [{}])[0][key] = _value(fact, said)
        elif group:
            case.setdefault(group, {})[key] = _value(fact, said)
        else:
            case[key] = _value(fact, said)
    unit = {key: options.get(f"unit_{key}") for key in ("method", "rated_angle", "document")}
    if any(value is not None for value in unit.values()):
        case["repair_unit"] = {key: value for key, value in unit.items() if value is not None}
    return case


def _contradiction(records: str, fact: str) -> CaseError:
    message = f"{_flag(records)} none contradicts {_flag(fact)}"
    return CaseError([Problem("case-flags", message, "leave one of them out")])


def stated_flags(options: argparse.Namespace) -> list[str]:
    """Return the flags that state a case, as given; a file or a stream states its own."""
    given = [f"--{name.replace('_', '-')}" for name in _PLAIN if getattr(options, name) not in (None, [])]
    return given + [_flag(fact.name) for fact in _STATED if getattr(options, _attribute(fact.name)) is not None]


def _flag(fact: str) -> str:
    return "--" + fact.replace(".", "-").replace("_", "-")


def _attribute(fact: str) -> str:
    """Return the attribute under which the options hold a fact."""
    return fact.replace(".", "_")


def flag_of(fact: str) -> str:
    """Return the flag that states a fact; empty where none does."""
    stated = fact in {each.name for each in _STATED} and fact != "injuries"
    return _flag(fact) if stated else ""


def _value(fact: Fact, said: Any) -> Any:
    """Turn what a flag says into what the case reader expects; a wrong word stays, for the reader to refuse it."""
    kind = fact.kind
    if kind == "flag":
        return {"yes": True, "no": False}.get(said, said)
    if kind == "count":
        return int(said) if said.isascii() and said.isdecimal() and len(said) <= _MOST_DIGITS else said
    if kind == "set":
        return [] if said == [NONE] else said
    return said
