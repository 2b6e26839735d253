"""A limit printed in two units whose figures differ by more than a tenth of the first: a slip, or a doubtful source.

Print rounds 1/4 in (6.35 mm) to 6 mm and 3/8 in (9.525 mm) to 10 mm. What differs more is worth a second look at the
source. Where the source does print both, the rule's `note` says so and names the second figure; then it is told as
information alone.

Bad, `dual-figures`::

    rules:
      - id: size
        says: Invented.
        activity: [repair]
        limit: {fact: injury.diameter, at-most: {value: 1/4 in, also-printed: 8 mm}}
        source: text

Bad, `dual-figures-noted`::

    rules:
      - id: size
        says: Invented.
        activity: [repair]
        limit: {fact: injury.diameter, at-most: {value: 1/4 in, also-printed: 8 mm}}
        source: text
        note: The invented text does print 8 in millimeters.

Good::

    rules:
      - id: size
        says: Invented.
        activity: [repair]
        limit: {fact: injury.diameter, at-most: {value: 1/4 in, also-printed: 6 mm}}
        source: text
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from tirerules.authoring.checks._subject import Check, Code, Subject
from tirerules.errors import Problem
from tirerules.packs.rule import Limit
from tirerules.quantities import Quantity, decimal_text

__all__ = ["CHECK"]

_MOST: Final = Fraction(1, 10)
_DIFFER: Final = Code("dual-figures", "warning", "the two printed figures of a limit differ by more than 10 %")
_NOTED: Final = Code(
    "dual-figures-noted", "information", "the two printed figures differ by more than 10 %, as the rule's note says"
)


def _find(subject: Subject) -> Iterator[Problem]:
    for index, rule in enumerate(subject.pack.rules):
        body = rule.body
        if not isinstance(body, Limit) or body.also is None or not isinstance(body.value, Quantity):
            continue
        apart = abs(body.value.exact - body.also.exact)
        if apart <= body.value.exact * _MOST:
            continue
        path = ("rules", index, "limit", body.relation, "also-printed")
        share = f" by {decimal_text(apart / body.value.exact * 100, 0)} %" if body.value.exact else ""
        message = f"the two printed figures of {rule.id!r}, {body.value} and {body.also}, differ{share}"
        if _names(rule.note, body.also):
            yield subject.finding(_NOTED, path, message, "nothing is to be done: the rule's note speaks of it")
        else:
            hint = f"look at the source again; if it does print {body.also}, say so in the rule's `note`"
            yield subject.finding(_DIFFER, path, message, hint)


def _names(note: str, figure: Quantity) -> bool:
    """Whether a note names the number of a figure, as a word of its own."""
    number = re.escape(re.split(r"\s*[A-Za-z°\"]", figure.text, maxsplit=1)[0])
    return re.search(rf"(?<![\d./]){number}(?![\d/]|\.\d)", note) is not None


CHECK: Final = Check((_DIFFER, _NOTED), _find)
