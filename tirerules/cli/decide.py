"""`tirerules decide`: one case from flags or a file, or a stream of cases as JSON lines."""

from __future__ import annotations

import gc
import os
import sys

from tirerules.cli import asking
from tirerules.cli.parser import columns
from tirerules.cli.streams import give, give_json, tell
from tirerules.engine.parts import Verdict
from tirerules.errors import CaseError, Problem

TYPE_CHECKING = False
if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator
    from typing import Any, BinaryIO, Final

    from tirerules.decision import Decision
    from tirerules.rulebook import Rulebook

__all__ = ["configure"]

#: Exit codes by verdict; 2 says that the question itself was wrong.
_EXIT: Final = {Verdict.WITHIN: 0, Verdict.OUTSIDE: 3, Verdict.UNDETERMINED: 4}
_COLOURS: Final = {Verdict.WITHIN: "32", Verdict.OUTSIDE: "31", Verdict.UNDETERMINED: "33"}
_WRONG: Final = 2
#: Which exit code a stream ends with: the first of these that any line earned.
_WORST: Final = (_WRONG, *(_EXIT[each] for each in (Verdict.OUTSIDE, Verdict.UNDETERMINED, Verdict.WITHIN)))


def configure(commands: Any) -> None:
    """Add the subcommand."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "decide",
        help="decide a case",
        description="Decide a case given by flags, by a JSON FILE, or as JSON lines on standard input (FILE is -).",
        epilog="Exit codes: 0 within limits, 3 outside limits, 4 undetermined, 2 the question itself was wrong. "
        "A stream ends with the worst of its lines: 2, 3, 4, 0.",
    )
    parser.add_argument("file", nargs="?", metavar="FILE|-", help="a JSON case, or - for JSON lines on standard input")
    parser.add_argument("--jurisdiction", action="append", default=[], metavar="CODE", help="such as US-SC; repeatable")
    asking.add_activity_flag(parser, "repair")
    parser.add_argument("--full", action="store_true", help="print everything, arranged by subject")
    parser.add_argument("--line", action="store_true", help="print one line")
    parser.add_argument("--json", action="store_true", help="print the whole decision as JSON")
    parser.add_argument("--brief", action="store_true", help="print the brief record of the decision as JSON")
    parser.add_argument("--further", action="store_true", help="print the decision as JSON, with remedies and margins")
    asking.add_case_flags(parser)
    asking.add_rulebook_flags(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Decide and print. Raises TirerulesError for a question that is wrong."""
    flags = asking.stated_flags(options)
    if options.file is not None and flags:
        message = f"{flags[0]} is not used with {options.file}, which states its own cases"
        raise CaseError([Problem("case-flags", message, "leave the flags or the file out")])
    if options.file == "-":
        return _stream(asking.rulebook_of(options), sys.stdin.buffer)
    if options.file is not None:
        from tirerules.record import parse

        case = parse(asking.read_text(options.file))
    elif options.jurisdiction:
        case = asking.case_of(vars(options), options.jurisdiction, options.activity or "repair")
    else:
        raise CaseError([Problem("case-place", "no jurisdiction is named", "add, for example, --jurisdiction US-SC")])
    rulebook = asking.rulebook_of(options)
    decision = rulebook.decide(case)
    form = _form(options)
    if form is not None:
        from tirerules.protocol import text_of

        give_json(text_of(decision, form))
    else:
        give(_coloured(_text(decision, options), decision.verdict))
    return _EXIT[decision.verdict]


def _text(decision: Decision, options: argparse.Namespace) -> str:
    if options.full:
        from tirerules.cli.text import decision_text

        return decision_text(decision)
    from tirerules.cli.short import line_text, short_text

    return line_text(decision) if options.line else short_text(decision, columns())


def _form(options: argparse.Namespace) -> str | None:
    """Return the form of JSON that was asked for, None for text. Raises CaseError where more than one was."""
    asked = [
        form for form, flag in (("whole", "json"), ("brief", "brief"), ("further", "further")) if getattr(options, flag)
    ]
    if len(asked) > 1:
        message = "--json, --brief and --further each ask for one form of the decision"
        raise CaseError([Problem("case-flags", message, "leave all but one of them out")])
    return asked[0] if asked else None


def _coloured(text: str, verdict: Verdict) -> str:
    """Return a text with its first line in the colour of the verdict, where it is printed on a terminal."""
    if not sys.stdout.isatty() or os.environ.get("NO_COLOR"):
        return text
    first, line_end, rest = text.partition("\n")
    return f"\x1b[1;{_COLOURS[verdict]}m{first}\x1b[0m{line_end}{rest}"


def _stream(rulebook: Rulebook, lines: BinaryIO) -> int:
    gc.freeze()  # the rules stay
    gc.enable()  # a stream may be long
    codes = set()
    for answer, code in _answers(rulebook, lines):
        codes.add(code)
        give_json(answer)
    return next((code for code in _WORST if code in codes), 0)


def _answers(rulebook: Rulebook, lines: BinaryIO) -> Iterator[tuple[str, int]]:
    """Yield one answer, as JSON text, for each line that is not blank; a bad line costs only itself."""
    from tirerules.protocol import error_text, reply

    for number, line in _bounded(lines):
        if not line.strip():
            continue
        try:
            found = reply(rulebook, line, number)
        except Exception as error:  # a defect of the library costs only this line too
            from tirerules.cli.defect import defect_text

            tell(defect_text(error))
            told = f"a defect of the library: {type(error).__name__}: {error}"
            yield error_text([Problem("defect", told, "report it, with this line")], {"line": number}), _WRONG
        else:
            yield found.text, 0 if found.about else _WRONG if found.verdict is None else _EXIT[found.verdict]


def _bounded(lines: BinaryIO) -> Iterator[tuple[int, bytes]]:
    """Yield each line with its number, without its end; of one that is too long, as much as shows that it is."""
    from tirerules.protocol import LONGEST

    number = 0
    while line := lines.readline(LONGEST + 2):
        number += 1
        rest = line
        while rest and not rest.endswith(b"\n") and len(line) > LONGEST:
            rest = lines.readline(LONGEST)  # passed over
        yield number, line.rstrip(b"\r\n")
