"""`tirerules decide`: one case from flags or a file, or a stream of cases as JSON lines."""

from __future__ import annotations

import gc
import os
import sys

from tirerules.cli import asking
from tirerules.cli.streams import give, tell
from tirerules.engine.parts import Verdict
from tirerules.errors import CaseError, Problem, ProblemsError, TirerulesError
from tirerules.escaping import escaped_json

TYPE_CHECKING = False
if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator
    from typing import Any, BinaryIO, Final

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
    parser.add_argument("--json", action="store_true", help="print the whole decision as JSON")
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
    if options.json:
        from tirerules.record.written import written

        give(escaped_json(written(decision)))
    else:
        from tirerules.cli.text import decision_text

        give(_coloured(decision_text(decision), decision.verdict))
    return _EXIT[decision.verdict]


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
        give(escaped_json(answer))
    return next((code for code in _WORST if code in codes), 0)


def _answers(rulebook: Rulebook, lines: BinaryIO) -> Iterator[tuple[str, int]]:
    """Yield one answer, as JSON text, for each line that is not blank; a bad line costs only itself."""
    from tirerules.record import parse
    from tirerules.record.written import written

    for number, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        try:
            decision = rulebook.decide(parse(line.decode("utf-8")))
            text = written(decision)
        except UnicodeDecodeError:
            yield _error(number, [Problem("not-utf-8", "the line is no UTF-8 text", "write UTF-8")]), _WRONG
        except ProblemsError as error:
            yield _error(number, error.problems), _WRONG
        except TirerulesError as error:
            yield _error(number, [Problem("case-place", str(error))]), _WRONG
        except Exception as error:  # a defect of the library costs only this line too
            from tirerules.cli.defect import defect_text

            tell(defect_text(error))
            told = f"a defect of the library: {type(error).__name__}: {error}"
            yield _error(number, [Problem("defect", told, "report it, with this line")]), _WRONG
        else:
            yield text, _EXIT[decision.verdict]


def _error(number: int, problems: Any) -> str:
    import json

    said = [
        {key: text for key in ("code", "path", "message", "hint") if (text := getattr(problem, key))}
        for problem in problems
    ]
    return json.dumps({"error": {"line": number, "problems": said}}, ensure_ascii=False)
