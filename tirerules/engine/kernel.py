"""How masks become answers: the one statement of three-valued judging, for one case and for columns of cases.

A mask holds a bit for each rule instance of a program. For one case it is a whole number; for columns it is an array of
words with an entry for each row. Nothing is used on masks but ``& | ~ ^``, and on lanes (what is asked of a whole mask,
or chosen row by row) the four operations of `Lanes`; so the same functions serve both.

Three-valued throughout: an instance whose conditions are not known to hold *may* apply. It passes for certain where it
does not apply or its body is satisfied wherever the measurements lie; it fails for certain where it applies and its
body is violated wherever they lie; anything else is open.
"""

from __future__ import annotations

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence
    from typing import Any, Final

__all__ = [
    "INTS",
    "OUTSIDE",
    "UNDETERMINED",
    "WITHIN",
    "Lanes",
    "best",
    "bits_of",
    "judge",
    "outcome",
    "worst",
]

#: Verdicts, so ordered that "all of" is the least and "any of" the greatest.
OUTSIDE, UNDETERMINED, WITHIN = 0, 1, 2


class Lanes:
    """What is asked of masks as a whole: for whole numbers (`INTS`), or for arrays row by row.

    `any_` says whether a mask has a bit; `where` chooses between two answers; `least` and `most` of two verdicts.
    """

    __slots__ = ("any_", "least", "most", "where")

    def __init__(
        self,
        any_: Callable[[Any], Any],
        where: Callable[[Any, Any, Any], Any],
        least: Callable[[Any, Any], Any],
        most: Callable[[Any, Any], Any],
    ) -> None:
        self.any_, self.where, self.least, self.most = any_, where, least, most


INTS: Final = Lanes(bool, lambda asked, one, other: one if asked else other, min, max)


def judge(out: Any, may: Any, missed: Any, doubtful: Any, rules: Any) -> tuple[Any, Any, Any, Any]:
    """Judge a subject by the instances in `rules`, from the planes of what is known of it.

    `out`: surely does not apply; `may`: not known to apply; `missed`: body not satisfied; `doubtful`: body unknown.
    Return the masks of those that may apply, that surely apply, that surely fail and that are open.
    """
    relevant = rules & ~out
    missed = relevant & missed
    unsure = missed & (may | doubtful)
    return relevant, relevant & ~may, missed ^ unsure, unsure


def outcome(lanes: Lanes, failing: Any, unsure: Any, gap: Any) -> Any:
    """Return the verdict of some instances: outside where one fails, undetermined where one is open or by a `gap`."""
    # With answers as 0 and 1, this is OUTSIDE, UNDETERMINED or WITHIN by their numbers, for one case and for columns.
    return (1 - lanes.any_(failing)) * (2 - (lanes.any_(unsure) | gap))


def worst(lanes: Lanes, verdicts: Iterable[Any]) -> Any:
    """Return the verdict of what must all hold."""
    first, *others = verdicts
    for each in others:
        first = lanes.least(first, each)
    return first


def best(lanes: Lanes, verdicts: Sequence[Any]) -> tuple[Any, Any]:
    """Return the verdict of what need hold in one way only, and the number of the first way that does best."""
    found, way = verdicts[0], lanes.where(verdicts[0] == verdicts[0], 0, 0)
    for number, each in enumerate(verdicts[1:], start=1):
        way = lanes.where(each > found, number, way)
        found = lanes.most(found, each)
    return found, way


def bits_of(mask: int) -> list[int]:
    """Return the places of the bits of a mask, lowest first."""
    places = []
    while mask:
        lowest = mask & -mask
        places.append(lowest.bit_length() - 1)
        mask ^= lowest
    return places
