"""Every way the library says no.

A mistake in data is a :class:`Problem`: one plain value with its place, what is wrong and what to write instead. All
problems of one document are collected first and raised together, so that an editor mends a file once, not line by line.
Exceptions share :class:`TirerulesError`, also inherit the nearest builtin, carry their data and survive pickling.
"""

from __future__ import annotations

from tirerules.values import Value

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from typing import Final

__all__ = [
    "CaseError",
    "ConflictError",
    "LockError",
    "MissingDataError",
    "PackError",
    "PinError",
    "Problem",
    "ProblemsError",
    "QuantityError",
    "ReplaceError",
    "ReplayError",
    "TirerulesError",
    "UnknownJurisdictionError",
    "nearest",
]

#: How alike two words must be (difflib's ratio) before one is offered for the other.
_ALIKE: Final = 0.6


def nearest(word: str, known: Iterable[str], count: int = 3) -> tuple[str, ...]:
    """Return up to `count` of `known` that look most like `word`: those that agree with it longest from the start."""

    def agreeing(candidate: str) -> int:
        return next((at for at, (a, b) in enumerate(zip(word, candidate, strict=False)) if a != b), len(candidate))

    import difflib  # here because it starts slowly and only a mistake needs it

    close = difflib.get_close_matches(word, sorted(known), n=8, cutoff=_ALIKE)
    longest = max(map(agreeing, close), default=0)
    return tuple(sorted(each for each in close if agreeing(each) == longest)[:count])


class Problem(Value):
    """One thing wrong with a document, with its place and its cure.

    `line` and `column` count from 1; 0 means that the document has no lines (a value made in Python).
    `path` names the place within the document, such as ``rules[2].limit.at-most``. `severity` is ``error``, ``warning``
    or ``information``; only the last lets a check end clean. Its text is one line in which nothing acts
    (`tirerules.escaping`); the parts are as they were found.
    """

    code: str
    message: str
    hint: str = ""
    file: str = ""
    line: int = 0
    column: int = 0
    path: str = ""
    severity: str = "error"

    def __str__(self) -> str:
        place = ":".join(str(part) for part in (self.file, self.line or "", self.column or "") if part != "")
        where = f" at {self.path}" if self.path else ""
        cure = f" -- {self.hint}" if self.hint else ""
        from tirerules.escaping import escaped  # here because it starts slowly and only a mistake needs it

        return escaped(f"{place + ': ' if place else ''}[{self.code}]{where} {self.message}{cure}")


class TirerulesError(Exception):
    """The base of every error this library raises on purpose."""


class QuantityError(TirerulesError, ValueError):
    """Text that is no exact quantity of the wanted kind."""

    def __init__(self, text: object, reason: str, hint: str = "") -> None:
        super().__init__(text, reason, hint)
        self.text, self.reason, self.hint = text, reason, hint

    def __str__(self) -> str:
        return f"{self.text!r}: {self.reason}" + (f" -- {self.hint}" if self.hint else "")


class ProblemsError(TirerulesError, ValueError):
    """A document with at least one problem; `problems` holds them all, in the order of the document."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        super().__init__(tuple(problems))
        self.problems: tuple[Problem, ...] = tuple(problems)

    def __str__(self) -> str:
        return "\n".join(str(problem) for problem in self.problems)


class PackError(ProblemsError):
    """A rule pack that cannot be used. A broken pack stops the load: it is never skipped."""


class CaseError(ProblemsError):
    """A case that asks no answerable question."""


class ReplayError(ProblemsError):
    """A recorded decision that cannot be read back."""


class ConflictError(TirerulesError, ValueError):
    """Two files claim the same pack and version with different content."""

    def __init__(self, pack: str, version: str, first: str, second: str) -> None:
        super().__init__(pack, version, first, second)
        self.pack, self.version, self.first, self.second = pack, version, first, second

    def __str__(self) -> str:
        return (
            f"{self.second}: pack {self.pack} {self.version} stands with other content in {self.first}"
            " -- give the changed pack a new version, or delete one of the files"
        )


class PinError(TirerulesError, LookupError):
    """No version of a pack satisfies this library and the caller's pin."""

    def __init__(self, pack: str, wanted: str, found: Sequence[str]) -> None:
        super().__init__(pack, wanted, tuple(found))
        self.pack, self.wanted, self.found = pack, wanted, tuple(found)

    def __str__(self) -> str:
        found = ", ".join(self.found) if self.found else "none"
        return f"no version of pack {self.pack} satisfies {self.wanted} (versions found: {found})"


class ReplaceError(TirerulesError, LookupError):
    """A pack is named as one of the caller's that may stand in place of a built-in one, and the caller gives none."""

    def __init__(self, pack: str, found: Sequence[str]) -> None:
        super().__init__(pack, tuple(found))
        self.pack, self.found = pack, tuple(found)

    def __str__(self) -> str:
        found = ", ".join(self.found) if self.found else "none"
        return (
            f"{self.pack!r} is named to replace a built-in pack, and none of your files holds it (your packs: {found})"
            " -- give its file or folder too, or do not name it"
        )


class LockError(TirerulesError, LookupError):
    """The packs at hand are not those a lock demands."""

    def __init__(self, differences: Sequence[str], hint: str = "") -> None:
        super().__init__(tuple(differences), hint)
        self.differences, self.hint = tuple(differences), hint

    def __str__(self) -> str:
        said = "the packs differ from the lock: " + "; ".join(self.differences)
        return said + (f" -- {self.hint}" if self.hint else "")


class MissingDataError(TirerulesError, FileNotFoundError):
    """The built-in packs or schemas, or a folder the caller named, are not where they must be."""


class UnknownJurisdictionError(TirerulesError, LookupError):
    """A code that names no jurisdiction, or one for which this rulebook holds no pack."""

    def __init__(self, code: str, real: bool, offers: Sequence[str]) -> None:
        super().__init__(code, real, tuple(offers))
        self.code, self.real, self.offers = code, real, tuple(offers)

    def __str__(self) -> str:
        if self.real:
            held = ", ".join(self.offers)
            return f"this rulebook holds no pack for {self.code}, so nothing can be said about it (it holds: {held})"
        offers = f" -- did you mean {' or '.join(self.offers)}?" if self.offers else ""
        return f"{self.code!r} is no jurisdiction code (ISO 3166: US, CA, US-SC, CA-ON ...){offers}"
