r"""How text that others wrote is shown: as text, whatever it holds.

Packs, cases and file names come from anywhere. On a terminal a control character can repaint the answer, a mark that
turns the direction of text can reorder it, and an end of line can begin a line of its own; in the log of a build, a
line can be a command to the machine that runs it. Every such character is shown as an escape (``\x1b``), so that a
reader sees that it is there.
"""

from __future__ import annotations

import re
from unicodedata import category

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from typing import Final

__all__ = ["BIDI_CONTROLS", "escaped", "escaped_json", "inert", "is_control", "shortened"]

#: The characters of the Unicode property Bidi_Control (UAX #9): they show text in another order than it is read.
BIDI_CONTROLS: Final = frozenset(
    "\N{ARABIC LETTER MARK}\N{LEFT-TO-RIGHT MARK}\N{RIGHT-TO-LEFT MARK}"
    "\N{LEFT-TO-RIGHT EMBEDDING}\N{RIGHT-TO-LEFT EMBEDDING}\N{POP DIRECTIONAL FORMATTING}"
    "\N{LEFT-TO-RIGHT OVERRIDE}\N{RIGHT-TO-LEFT OVERRIDE}"
    "\N{LEFT-TO-RIGHT ISOLATE}\N{RIGHT-TO-LEFT ISOLATE}\N{FIRST STRONG ISOLATE}\N{POP DIRECTIONAL ISOLATE}"
)
#: General categories of what no text needs: controls (a terminal obeys them), the line and paragraph separators (some
#: readers end a line there, others do not), and halves of characters (no encoding can write them).
_CONTROLS: Final = frozenset({"Cc", "Zl", "Zp", "Cs"})
_MOST_QUOTED: Final = 200
#: What build services take for a command: ``::name`` at the start of a line, ``##[name]`` or ``##name[`` anywhere.
_COMMAND: Final = re.compile(r"^([^\S\n]*):(?=:)", re.MULTILINE)
_OLDER_COMMAND: Final = re.compile(r"#(?=#\w*\[)")


def is_control(character: str) -> bool:
    """Whether a character steers a terminal, a log or the order of text instead of being read."""
    return category(character) in _CONTROLS or character in BIDI_CONTROLS


def escaped(text: str) -> str:
    r"""Return text on one line in which nothing acts: what is neither visible nor a space stands as an escape.

    >>> print(escaped("no\n\x1b[1mREPAIRABLE"))
    no\n\x1b[1mREPAIRABLE
    """
    return text if text.isprintable() else text.translate(_escapes(text, lambda each: ascii(each)[1:-1]))


def shortened(text: str) -> str:
    """Return what a message quotes of a text, however long that is."""
    return text if len(text) <= _MOST_QUOTED else f"{text[:20]}... ({len(text):,} characters)"


def escaped_json(text: str) -> str:
    r"""Return JSON text that says the same with nothing in it that acts; line ends between its values stay.

    What stands below a space in Unicode is escaped in a JSON text already (RFC 8259, 7).

    >>> escaped_json('["\x9b1m"]')
    '["\\u009b1m"]'
    """
    if not (text.isascii() and "\x7f" not in text) and not text.isprintable():
        text = text.translate({key: said for key, said in _escapes(text, _json_escape).items() if key != ord("\n")})
    return _OLDER_COMMAND.sub(r"\\u0023", text) if "##" in text else text


def inert(text: str) -> str:
    """Return a finished text of several lines in which no line is a command to a build service."""
    if "::" not in text and "##" not in text:
        return text
    return _OLDER_COMMAND.sub(r"\\x23", _COMMAND.sub(r"\1\\x3a", text))


def _escapes(text: str, escape: Callable[[str], str]) -> Mapping[int, str]:
    return {ord(each): escape(each) for each in set(text) if not (each.isprintable() or category(each) == "Zs")}


def _json_escape(character: str) -> str:
    units = character.encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{units[at]:02x}{units[at + 1]:02x}" for at in range(0, len(units), 2))
