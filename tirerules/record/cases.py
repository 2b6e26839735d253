"""Cases as JSON: read with every problem told at once, and written so that reading them back gives the same case."""

from __future__ import annotations

from tirerules.case.reading import case_row
from tirerules.case.views import Case
from tirerules.case.writing import case_to_json

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

__all__ = ["case_from_json", "case_to_json"]


def case_from_json(said: Any) -> Case:
    """Read a case from its JSON form (a mapping). Raises CaseError with every problem found."""
    return case_row(said).typed
