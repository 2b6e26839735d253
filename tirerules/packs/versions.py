"""Version numbers and specifiers, bounded before they are read: Python refuses to convert thousands of digits.

What is longer is told as what is malformed is, by the same exceptions, so that whoever reads versions handles both.
"""

from __future__ import annotations

from typing import Final

from packaging.specifiers import InvalidSpecifier, SpecifierSet
from packaging.version import InvalidVersion, Version

__all__ = ["MAX_DIGITS", "specifiers_of", "version_of"]

#: The digits that one number of a pack's version may have; its schema says so too.
MAX_DIGITS: Final = 9
#: No version and no pin that anybody writes is longer.
_LONGEST: Final = 200


def version_of(text: str) -> Version:
    """Return the version that a text states. Raises InvalidVersion."""
    if len(text) > _LONGEST:
        raise InvalidVersion(f"a version of {len(text)} characters")
    return Version(text)


def specifiers_of(text: str) -> SpecifierSet:
    """Return the version specifiers that a text states, such as ``>=1,<2``. Raises InvalidSpecifier."""
    if len(text) > _LONGEST:
        raise InvalidSpecifier(f"version specifiers of {len(text)} characters")
    return SpecifierSet(text)
