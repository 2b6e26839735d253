"""A rule pack as a value: one versioned file's worth of rules, with what it covers and who reviewed it when.

The data structure is `Pack`; its key is its id and version. INVARIANT: its rules are in the order of the file, and
`sha256` is of the very bytes that they were read from.
"""

from __future__ import annotations

from tirerules.values import Value, field, lazy

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import date
    from typing import Any, Final

    from packaging.specifiers import SpecifierSet
    from packaging.version import Version

    from tirerules.packs.rule import Rule, Source
    from tirerules.vocabulary import Activity

__all__ = ["COVERAGE", "KINDS", "OUTCOMES", "OVERLAYS", "Example", "NotLaw", "Pack", "Rest"]

#: What a pack is. The last two are overlays: the caller adds them, and they bind everywhere.
KINDS: Final = ("baseline", "country", "jurisdiction", "company", "repair-material")
#: Kinds of packs that a caller adds on top; they can only tighten.
OVERLAYS: Final = ("company", "repair-material")
#: What a pack says about an activity: its rules are here; some are, and others were not read; somebody looked and found
#: none; nobody looked. Silence means the last.
COVERAGE: Final = ("rules", "partial", "none-located", "not-reviewed")
#: What became of a bill that is no law.
OUTCOMES: Final = ("died", "vetoed", "withdrawn", "proposed", "superseded", "not-adopted")


class Example(Value):
    """A case with its expected answer, run by `tirerules check`."""

    case: Mapping[str, Any]  #: as it is decided: what the example writes, over what is given for the whole pack
    expect: Mapping[str, Any]
    line: int  #: of the example itself, whatever is given elsewhere


class NotLaw(Value):
    """A bill or text that is often taken for law and is none; it never binds, and people can be shown why."""

    title: str
    outcome: str
    would_set: str
    year: str = ""
    url: str = ""


class Rest(Value):
    """What a pack holds for its readers, and deciding does without."""

    examples: tuple[Example, ...]
    notes: tuple[str, ...]
    not_law: tuple[NotLaw, ...]


class Pack(Value):
    """One version of one rule pack; what only its readers need (`rest`) may be built when it is first read."""

    id: str
    version_text: str
    engine_text: str
    kind: str
    title: str
    reviewed: date
    coverage: Mapping[Activity, str]
    sources: Mapping[str, Source]
    rules: tuple[Rule, ...]
    sha256: str
    #: Not compared, since the digest of the file stands for it.
    rest: Rest | Callable[[], Rest] = field(compare=False, repr=False)
    file: str = field(compare=False)
    #: Whether the caller put it in place of what the library ships; of how it was loaded, not of what the file says.
    replaces: bool = False

    @lazy
    def _built(self) -> Rest:
        return self.rest if isinstance(self.rest, Rest) else self.rest()

    @property
    def examples(self) -> tuple[Example, ...]:
        """Cases with their expected answers."""
        return self._built.examples

    @property
    def notes(self) -> tuple[str, ...]:
        """What a reader should know of it."""
        return self._built.notes

    @property
    def not_law(self) -> tuple[NotLaw, ...]:
        """Texts that are often taken for law and are none."""
        return self._built.not_law

    @lazy
    def version(self) -> Version:
        """Its version, which orders as numbers do: 1.10.0 is above 1.9.0. To print it, its text will do."""
        from tirerules.packs.versions import version_of

        return version_of(self.version_text)

    @lazy
    def engine(self) -> SpecifierSet:
        """Which versions of the library it is written for."""
        from tirerules.packs.versions import specifiers_of

        return specifiers_of(self.engine_text)

    def covers(self, activity: Activity) -> str:
        """Return what the pack says about an activity, one of `COVERAGE`."""
        return self.coverage.get(activity, "not-reviewed")
