"""How the command line reads flags: each at most once, each by its whole name, and what is wrong with a nearest word.

argparse keeps the last of two values without a word and takes an abbreviation for the flag it may have meant; a shop
that types `--findings bulge --findings none` would be told that a bulging tire is repairable. Here a flag for one value
that is given twice is refused, whatever its values; what may repeat says so (`append`), and a list of words joins.
"""

from __future__ import annotations

import argparse
import os
import sys

from tirerules.cli.streams import tell
from tirerules.errors import nearest
from tirerules.escaping import escaped

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any, Final, NoReturn

__all__ = ["NONE", "Parser", "Pins", "Words", "columns"]

#: The word of a list that says: looked for, none found.
NONE: Final = "none"
#: The attribute of the options that holds the flags read so far. argparse's actions outlive a call; the options do not.
_READ: Final = "_read"


class _Formatter(argparse.HelpFormatter):
    """The formatter of help and usage, as wide as the terminal.

    argparse makes one for every flag, and imports shutil, with all that can be in an archive, to learn that width.
    """

    def __init__(self, prog: str, **options: Any) -> None:
        super().__init__(prog, **{"width": columns() - 2, **options})


def columns() -> int:
    """Return the width of the terminal as `shutil.get_terminal_size` tells it."""
    try:
        columns = int(os.environ["COLUMNS"])
    except (KeyError, ValueError):
        columns = 0
    if columns <= 0:
        try:
            columns = os.get_terminal_size(sys.__stdout__.fileno()).columns  # type: ignore[union-attr]  # it may be None
        except (AttributeError, ValueError, OSError):
            columns = 0
    return columns or 80


class Parser(argparse.ArgumentParser):
    """An argument parser whose flags are read once, in full. Its subparsers are of its kind."""

    def __init__(self, *given: Any, **options: Any) -> None:
        super().__init__(*given, **{"allow_abbrev": False, "formatter_class": _Formatter, **options})
        self.register("action", None, _Once)
        self.register("action", "store", _Once)
        self.register("action", "store_true", _OnceTrue)

    def refuse(self, unread: Sequence[str]) -> NoReturn:
        """Say which words no flag reads, offer the flags that look most like the first, and end the process."""
        first = next((word for word in unread if word.startswith("-")), unread[0]).partition("=")[0]
        # The one list of all flags, groups included, is argparse's own.
        offers = nearest(first, self._option_string_actions) if first.startswith("--") else ()
        hint = f" -- did you mean {' or '.join(offers)}? Flags are written in full" if offers else ""
        self.error(f"unrecognized arguments: {' '.join(unread)}{hint}")

    def error(self, message: str) -> NoReturn:
        """Say what is wrong and end the process: as argparse does, but what was given stands escaped."""
        tell(f"{self.format_usage()}{self.prog}: error: {escaped(message)}")
        self.exit(2)


class _Once(argparse.Action):
    """Store a value, or that a switch was set; refuse to do so again."""

    def __call__(
        self, parser: argparse.ArgumentParser, options: argparse.Namespace, values: Any, flag: str | None = None
    ) -> None:
        if flag is not None:  # else a place in the line, of which argparse itself takes one
            read: set[str] = vars(options).setdefault(_READ, set())
            if self.dest in read:
                raise argparse.ArgumentError(self, "is given twice -- leave one of them out")
            read.add(self.dest)
        setattr(options, self.dest, self.const if self.nargs == 0 else values)


class _OnceTrue(_Once):
    """A switch."""

    def __init__(self, option_strings: Sequence[str], dest: str, help: str | None = None) -> None:
        super().__init__(option_strings, dest, nargs=0, const=True, default=False, help=help)


class Words(argparse.Action):
    """Join the words of a list, however many flags and commas state them; refuse `none` beside any of them."""

    def __call__(
        self, parser: argparse.ArgumentParser, options: argparse.Namespace, values: Any, flag: str | None = None
    ) -> None:
        """Add the words of one flag. Raises ArgumentError."""
        said = [*(getattr(options, self.dest) or ()), *(word.strip() for word in values.split(","))]
        words = list(dict.fromkeys(said))
        if NONE in words and len(words) > 1:
            others = ", ".join(word for word in words if word != NONE)
            raise argparse.ArgumentError(self, f"{NONE} contradicts {others} -- leave one of them out")
        setattr(options, self.dest, words)


class Pins(argparse.Action):
    """Collect `PACK=SPEC` by pack; refuse a second pin of one pack, which would loosen the first."""

    def __call__(
        self, parser: argparse.ArgumentParser, options: argparse.Namespace, values: Any, flag: str | None = None
    ) -> None:
        """Add one pin. Raises ArgumentError."""
        pack, _, spec = values.partition("=")
        if not (pack and spec):
            raise argparse.ArgumentError(self, f"{values!r} pins nothing -- write PACK=SPEC, such as US-SC=~=1.2")
        pins: dict[str, str] = getattr(options, self.dest)
        if pack in pins:
            cure = f"join them: {flag} {pack}={pins[pack]},{spec}"
            raise argparse.ArgumentError(self, f"the pack {pack} is pinned twice -- {cure}")
        setattr(options, self.dest, {**pins, pack: spec})
