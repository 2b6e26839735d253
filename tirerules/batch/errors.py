"""How the batch says no, beside the errors of the library itself."""

from __future__ import annotations

from tirerules.errors import ProblemsError, TirerulesError

__all__ = ["BatchError", "MissingExtraError"]


class BatchError(ProblemsError):
    """A table, a file or an audit as a whole that cannot be decided; one bad row is set aside instead."""


class MissingExtraError(TirerulesError, ImportError):
    """A library that an optional part of this one is made of is not installed."""

    def __init__(self, extra: str, library: str) -> None:
        super().__init__(extra, library)
        self.extra, self.library = extra, library

    def __str__(self) -> str:
        return f'{self.library} is not installed -- pip install "tirerules[{self.extra}]"'
