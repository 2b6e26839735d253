"""`tirerules decide` in a process that starts for one case: what most calls need, and nothing more.

It takes only flags and files that are well formed, and cases whose decision is told by a form that was kept. For
everything else it answers None, and the full command goes on, which also says what is wrong. Where it answers, the two
never differ.
"""

from __future__ import annotations

import sys

from tirerules.cli.asking import STATED, attribute, case_of, read_text
from tirerules.index.plain import plain_case
from tirerules.record.forms import Form
from tirerules.record.keeping import kept
from tirerules.rulebook import load
from tirerules.words import VERDICTS

TYPE_CHECKING = False  # typing's own constant would import typing
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any, Final

__all__ = ["COLOURS", "EXIT", "coloured", "decided"]

#: Exit codes by verdict; 2 says that the question itself was wrong.
EXIT: Final = {"within-limits": 0, "outside-limits": 3, "undetermined": 4}
COLOURS: Final = {"within-limits": "32", "outside-limits": "31", "undetermined": "33"}
_ONCE: Final = frozenset({"activity", "on", "reading", *(attribute(fact[0]) for fact in STATED)})
_OFTEN: Final = ("jurisdiction", "packs")
_FILE: Final = "file"


def decided(given: Sequence[str]) -> int | None:
    """Decide and print, and return the exit code; None where the full command must do it."""
    options = _options(given)
    if options is None:
        return None
    try:
        case = _case(options)
        if plain_case(case) is None:
            return None
        rulebook = load(*options["packs"])
        decision = rulebook.decide(case)
        kind = _kind(options["json"])
        form = kept(rulebook, decision, kind.__name__)
    except _wrong():
        return None
    if form is None:
        return None
    text = kind.read(form).filled(decision._asked, str(decision._on))  # type: ignore[arg-type]  # it is plain
    verdict = VERDICTS[decision._found.verdict]  # type: ignore[union-attr]  # what a form tells was found
    print(text if options["json"] else coloured(text, verdict))
    return EXIT[verdict]


def _kind(as_json: bool) -> type[Form]:
    if not as_json:
        return Form
    from tirerules.record.written import JsonForm

    return JsonForm


def _wrong() -> type[Exception]:
    """Return what is raised for a question that is wrong; it is asked for only then."""
    from tirerules.errors import TirerulesError

    return TirerulesError


def _options(given: Sequence[str]) -> dict[str, Any] | None:
    """Return what flags say, by attribute; None for what only the full command can read or refuse."""
    options: dict[str, Any] = {"json": False, "jurisdiction": [], "packs": []}
    left = list(given)
    while left:
        name, equals, value = left.pop(0).partition("=")
        key = name[2:].replace("-", "_")
        if not name.startswith("--"):
            key, value = _FILE, name + equals + value
        elif "_" in name or (name == "--json" and equals):
            return None
        elif name == "--json":
            options["json"] = True
            continue
        elif not equals:
            value = left.pop(0) if left else ""
        if not value or value.startswith("-"):
            return None
        if key in _OFTEN:
            options[key].append(value)
        elif key in options or (key not in _ONCE and key != _FILE):
            return None
        else:
            options[key] = value
    return options


def _case(options: dict[str, Any]) -> Any:
    """Return the case that a file or flags state, in its JSON form; None where they do not state one."""
    stated = options["jurisdiction"] or not _ONCE.isdisjoint(options)
    if _FILE in options:
        if stated:
            return None
        from tirerules.record.parsing import parse

        return parse(read_text(options[_FILE]))
    if not options["jurisdiction"]:
        return None
    return case_of(options, options["jurisdiction"], options.get("activity", "repair"))


def coloured(text: str, verdict: str) -> str:
    """Return a text with its first line in the colour of the verdict, where it is printed on a terminal."""
    import os

    if not sys.stdout.isatty() or os.environ.get("NO_COLOR"):
        return text
    first, line_end, rest = text.partition("\n")
    return f"\x1b[1;{COLOURS[verdict]}m{first}\x1b[0m{line_end}{rest}"
