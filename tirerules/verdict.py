"""What the rules say of a case, in one word."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Verdict"]


class Verdict(StrEnum):
    """What the rules say of a case."""

    WITHIN = "within-limits"
    OUTSIDE = "outside-limits"
    UNDETERMINED = "undetermined"

    @classmethod
    def of(cls, outcome: bool | None) -> Verdict:
        """Return the verdict for a three-valued outcome."""
        return cls.UNDETERMINED if outcome is None else cls.WITHIN if outcome else cls.OUTSIDE
