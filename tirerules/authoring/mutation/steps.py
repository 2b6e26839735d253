"""The figure next to another one, as a slip of the pen would print it, and the end of a range one word further.

A step is 1/32 in for a fraction of an inch that thirty-seconds can print, else one part of the fraction; for a decimal
it is one of its last digit; for a count, one; for a share, one in a hundred.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Final

from tirerules.authoring.vectors.figures import text_of
from tirerules.errors import QuantityError
from tirerules.packs.rule import Relative, Share
from tirerules.quantities import Quantity, quantity
from tirerules.values import replace
from tirerules.vocabulary import Dimension

__all__ = ["moved_ends", "stepped", "stepped_exact", "stepped_relative"]

_TICK: Final = 32
_SHARE: Final = Fraction(1, 100)
#: The units in which laws print a figure, the base unit first.
_UNITS: Final[Mapping[Dimension, tuple[str, ...]]] = {
    Dimension.LENGTH: ("mm", "in"),
    Dimension.ANGLE: ("deg",),
    Dimension.MASS: ("kg", "lb"),
    Dimension.TIME: ("year", "month", "day"),
}


def stepped(figure: Quantity | int, step: int) -> Quantity | int | None:
    """Return the figure `step` (1 or -1) steps away, in its own unit; None where there is none."""
    if isinstance(figure, int):
        return figure + step if figure + step >= 0 else None
    try:
        return _stepped(figure, step)
    except QuantityError:  # no pack can print it: it has too many digits, or reaches a right angle
        return None


def _stepped(figure: Quantity, step: int) -> Quantity | None:
    number, parts = figure.magnitude, figure.magnitude.denominator
    if "/" in figure.text:
        whole = _TICK if figure.unit == "in" and _TICK % parts == 0 else parts
        number += Fraction(step, whole)
        text = f"{number * whole}/{whole} {figure.unit}"
    else:
        digits = figure.text.partition(".")[2]
        places = sum(character.isdigit() for character in digits)
        number += Fraction(step, 10**places)
        text = text_of(number, figure.unit) if number >= 0 else ""
    return quantity(text, figure.dimension) if number >= 0 else None


def stepped_exact(exact: Fraction, dimension: Dimension | None, step: int) -> tuple[Fraction, str] | None:
    """Return the number `step` steps from the end of a range, which keeps no print, and how it reads; None for none.

    Its unit is the first of its dimension in which it is whole, or a whole number of thirty-seconds.
    """
    if dimension is None:
        number = int(exact) + step
        return (Fraction(number), str(number)) if number >= 0 else None
    figure = _printed(exact, dimension)
    moved = stepped(figure, step)
    return (moved.exact, moved.text) if isinstance(moved, Quantity) else None


def _printed(exact: Fraction, dimension: Dimension) -> Quantity:
    read = [quantity(f"1 {unit}", dimension) for unit in _UNITS[dimension]]
    for parts in (1, _TICK):
        for unit in read:
            number = exact / unit.exact * parts
            if number.denominator == 1:
                said = f"{number}/{parts}" if parts > 1 else str(number)
                return quantity(f"{said} {unit.unit}", dimension)
    return quantity(text_of(exact, read[-1].unit if dimension is Dimension.TIME else read[0].unit), dimension)


def stepped_relative(length: Relative, step: int) -> list[Relative]:
    """Return the lengths of which one figure is a step away: a share, a width up to which one holds, or the inset."""
    found = []
    for at, share in enumerate(length.shares):
        moved = share.value + step * _SHARE
        if 0 < moved <= 1:
            found.append(_changed(length, f"share {share.value} to {moved}", at, Share.of(share.through, moved)))
        if share.through is not None and isinstance(width := stepped(share.through, step), Quantity):
            found.append(_changed(length, f"{share.through} to {width}", at, replace(share, through=width)))
    if length.inset is not None and isinstance(inset := stepped(length.inset, step), Quantity):
        found.append(replace(length, inset=inset, text=f"{length.text} ({length.inset} to {inset})"))
    return found


def _changed(length: Relative, how: str, at: int, share: Share) -> Relative:
    shares = (*length.shares[:at], share, *length.shares[at + 1 :])
    return replace(length, shares=shares, text=f"{length.text} ({how})")


def moved_ends(words: frozenset[str], scale: Sequence[str], step: int) -> list[tuple[str, frozenset[str]]] | None:
    """Return the ranges of an ordered list of which one end is a word further up (1) or down (-1), and how each reads.

    None where `words` are no range of it. An end that is the list's own stays, and so does a range that would be empty.
    """
    places = sorted(scale.index(word) for word in words)
    first, last = places[0], places[-1]
    if last - first + 1 != len(places):
        return None
    found = []
    for low, high, moves in ((first + step, last, first > 0), (first, last + step, last < len(scale) - 1)):
        if moves and 0 <= low <= high < len(scale):
            found.append((f"{scale[low]} to {scale[high]}", frozenset(scale[low : high + 1])))
    return found
