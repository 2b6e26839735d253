"""What a check found, as text for people, JSON for programs, annotations for a workflow, and SARIF for code scanning.

Pure: values in, text out. A pack is somebody else's text: what a terminal or a workflow could take for a command
(control characters, marks that turn the direction of text) is shown, never passed on.
"""

from __future__ import annotations

import json
import unicodedata
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final
from urllib.parse import quote

from tirerules._version import __version__
from tirerules.authoring.checking import Checked
from tirerules.authoring.checks import CODES, Code
from tirerules.errors import Problem
from tirerules.escaping import escaped, escaped_json

__all__ = ["FORMATS", "codes_table", "github", "json_report", "sarif", "summary", "text"]

#: How many columns of a line an excerpt shows.
_WIDTH: Final = 100
_COLOURS: Final = MappingProxyType({"error": "31", "warning": "33", "information": "36"})
_COMMANDS: Final = MappingProxyType({"error": "error", "warning": "warning", "information": "notice"})
_LEVELS: Final = MappingProxyType({"error": "error", "warning": "warning", "information": "note"})
#: The schema as published with the standard (SARIF 2.1.0, errata 01).
_SCHEMA: Final = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"


def summary(checked: Checked) -> str:
    """Return in one line how much was checked and found."""
    found = len(checked.problems)
    count = Counter(problem.severity for problem in checked.problems)
    kinds = [
        f"{count[severity]} {severity}{'s' * (count[severity] != 1 and severity != 'information')}"
        for severity in _COLOURS
        if count[severity]
    ]
    files = f"{checked.files} file{'s' * (checked.files != 1)} checked"
    told = f" ({', '.join(kinds)})" if kinds else ""
    return f"{files}, {found} finding{'s' * (found != 1)}{told}"


# --- text -------------------------------------------------------------------------------------------------------------


def text(checked: Checked, *, colour: bool = False) -> str:
    """Return every finding for people: place, severity, code, message, the line with a caret, what to write instead."""
    return "\n".join(
        line for problem in checked.problems for line in _finding(problem, checked.lines.get(problem.file, ()), colour)
    )


def _finding(problem: Problem, lines: Sequence[str], colour: bool) -> Iterator[str]:
    def painted(part: str) -> str:
        return f"\x1b[1;{_COLOURS[problem.severity]}m{part}\x1b[0m" if colour else part

    place = ":".join(str(part) for part in (problem.file, problem.line, problem.column) if part)
    where = f" at {problem.path}:" if problem.path else ""
    said = escaped(f"{where} {problem.message}")
    yield f"{escaped(place)}: {painted(problem.severity)} [{problem.code}]{said}"
    if 0 < problem.line <= len(lines):
        shown, before = _excerpt(lines[problem.line - 1], problem.column)
        number = str(problem.line)
        yield f"  {number} | {shown}"
        yield f"  {' ' * len(number)} | {' ' * before}{painted('^')}"
    for hint in problem.hint.split("\n") if problem.hint else ():
        yield f"  hint: {escaped(hint)}"


def _excerpt(line: str, column: int) -> tuple[str, int]:
    """Return what is shown of a line around a column, counted from 1, and how many cells stand before that column."""
    cells = [" " if character == "\t" else escaped(character) for character in line]
    at = min(max(column - 1, 0), len(cells))
    first = max(0, min(at - _WIDTH // 2, len(cells) - _WIDTH))
    last = first + _WIDTH
    left = "…" if first else ""
    right = "…" if last < len(cells) else ""
    shown = left + "".join(cells[first:last]) + right
    return shown, len(left) + sum(map(_width, "".join(cells[first:at])))


def _width(character: str) -> int:
    """Return how many cells of a terminal a character takes."""
    if unicodedata.combining(character):
        return 0
    return 2 if unicodedata.east_asian_width(character) in "WF" else 1


# --- for programs -----------------------------------------------------------------------------------------------------


def json_report(checked: Checked) -> str:
    """Return every finding as JSON, in the order of the text."""
    findings = [
        {
            "file": each.file,
            "line": each.line,
            "column": each.column,
            "severity": each.severity,
            "code": each.code,
            "path": each.path,
            "message": each.message,
            "hint": each.hint,
        }
        for each in checked.problems
    ]
    said = {"format": 1, "engine": __version__, "files": checked.files, "clean": checked.clean, "findings": findings}
    return escaped_json(json.dumps(said, indent=1))


def github(checked: Checked) -> str:
    """Return a workflow command for every finding, which becomes an annotation on its line."""
    return "\n".join(_command(problem) for problem in checked.problems)


def _command(problem: Problem) -> str:
    place = {"file": problem.file, "line": problem.line, "col": problem.column, "title": f"tirerules: {problem.code}"}
    properties = ",".join(f"{name}={_property(str(value))}" for name, value in place.items() if value)
    return f"::{_COMMANDS[problem.severity]} {properties}::{_data(_message(problem))}"


def _data(said: str) -> str:
    """Escape the message of a workflow command as its documentation says: ``%``, and the ends of lines."""
    lines = (escaped(line).replace("%", "%25") for line in said.split("\n"))
    return "%0A".join(lines)


def _property(said: str) -> str:
    """Escape the value of a property, in which ``:`` and ``,`` have a meaning too."""
    return _data(said).replace(":", "%3A").replace(",", "%2C")


def _message(problem: Problem) -> str:
    return f"{problem.message}\n{problem.hint}" if problem.hint else problem.message


def sarif(checked: Checked) -> str:
    """Return the findings as a log in the Static Analysis Results Interchange Format, version 2.1.0 (OASIS)."""
    numbers = {code.name: number for number, code in enumerate(CODES)}
    driver = {
        "name": "tirerules",
        "version": __version__,
        "rules": [_described(code) for code in CODES],
    }
    results = [
        {
            "ruleId": problem.code,
            "ruleIndex": numbers[problem.code],
            "level": _LEVELS[problem.severity],
            "message": {"text": _message(problem)},
            "locations": [_location(problem)],
        }
        for problem in checked.problems
    ]
    run = {"tool": {"driver": driver}, "columnKind": "unicodeCodePoints", "results": results}
    return escaped_json(json.dumps({"$schema": _SCHEMA, "version": "2.1.0", "runs": [run]}, indent=1))


def _described(code: Code) -> Mapping[str, Any]:
    """Return a code as code scanning shows it; GitHub wants all three texts."""
    sentence = f"{code.says[0].upper()}{code.says[1:]}."
    return {
        "id": code.name,
        "shortDescription": {"text": sentence},
        "fullDescription": {"text": sentence},
        "help": {"text": f"{sentence} Each finding says what to write instead."},
        "defaultConfiguration": {"level": _LEVELS[code.severity]},
    }


def _location(problem: Problem) -> Mapping[str, Any]:
    physical: dict[str, Any] = {"artifactLocation": {"uri": _uri(problem.file)}}
    if problem.line:
        physical["region"] = {"startLine": problem.line, "startColumn": max(problem.column, 1)}
    location: dict[str, Any] = {"physicalLocation": physical}
    if problem.path:
        location["logicalLocations"] = [{"fullyQualifiedName": problem.path}]
    return location


def _uri(file: str) -> str:
    path = Path(file)
    return path.as_uri() if path.is_absolute() else quote(path.as_posix().encode("utf-8", "surrogateescape"))


#: The formats for programs, by name.
FORMATS: Final[Mapping[str, Callable[[Checked], str]]] = MappingProxyType(
    {"json": json_report, "github": github, "sarif": sarif}
)


def codes_table(codes: Sequence[Code] = CODES) -> str:
    """Return every code with its severity and what it means, one a line."""
    wide = max(len(code.name) for code in codes)
    return "\n".join(f"{code.name:{wide}}  {code.severity:11}  {code.says}" for code in codes)
