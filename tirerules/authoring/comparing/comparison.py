"""Two sets of packs, compared pack by pack: the newest version on each side, and every older one that both keep."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from tirerules.authoring.comparing.change import Change, Effect, Kind, Level
from tirerules.authoring.comparing.meaning import limit_changes
from tirerules.authoring.comparing.sources import Held
from tirerules.authoring.comparing.wording import coverage_changes, kind_changes, wording_changes
from tirerules.errors import ConflictError
from tirerules.packs.pack import Pack

__all__ = ["Comparison", "PackComparison", "compare", "compare_packs"]


@dataclass(frozen=True, slots=True)
class PackComparison:
    """What became of one pack; None stands for the side on which there is none."""

    pack: str
    title: str
    old: Held | None
    new: Held | None
    changes: tuple[Change, ...]
    rewritten: tuple[Held, ...] = ()  #: older versions that the new side still holds, with other content

    @property
    def effect(self) -> Effect:
        """What all changes together do to those who are bound."""
        return Effect.of(change.effect for change in self.changes)

    @property
    def level(self) -> Level:
        """Which number of the version the changes must raise."""
        return max((change.level for change in self.changes), default=Level.NONE)


@dataclass(frozen=True, slots=True)
class Comparison:
    """What changed, pack by pack, in the order of their names."""

    packs: tuple[PackComparison, ...]
    unchanged: tuple[str, ...]  #: ids of the packs that are the same, byte for byte
    left: tuple[Held, ...] = ()  #: versions of the old side that the new one does not hold, byte for byte


def compare(old: Iterable[Held], new: Iterable[Held]) -> Comparison:
    """Compare two sets of packs.

    Raises ConflictError where one set holds a version twice with different content, and TooManyCellsError.
    """
    before, after = _by_version(old), _by_version(new)
    changed: list[PackComparison] = []
    unchanged: list[str] = []
    for pack in sorted(before.keys() | after.keys()):
        found = _compare(pack, before.get(pack, []), after.get(pack, []))
        if found.changes or found.rewritten or _version(found.old) != _version(found.new):
            changed.append(found)
        else:
            unchanged.append(pack)
    kept = {each.pack.sha256 for versions in after.values() for each in versions}
    left = [each for pack in sorted(before) for each in before[pack] if each.pack.sha256 not in kept]
    return Comparison(tuple(changed), tuple(unchanged), tuple(left))


def compare_packs(old: Pack, new: Pack) -> tuple[Change, ...]:
    """Return what changed between two versions of one pack, the weightiest first. Raises TooManyCellsError."""
    if old.sha256 == new.sha256:
        return ()
    meant = limit_changes(old.rules, new.rules)
    told = {rule for change in meant for rule in change.rules}
    changes = [*kind_changes(old, new), *meant, *coverage_changes(old, new), *wording_changes(old, new, told)]
    if not changes and old.version == new.version:
        changes.append(Change(Kind.TEXT, Level.PATCH, "comments or layout", "", "", "differ"))
    order = list(Kind)
    return tuple(sorted(changes, key=lambda change: order.index(change.kind)))


def _by_version(held: Iterable[Held]) -> Mapping[str, list[Held]]:
    """Return the versions of every pack, oldest first."""
    found: dict[str, list[Held]] = {}
    for each in sorted(held, key=lambda each: (each.pack.version, each.pack.file)):
        versions = found.setdefault(each.pack.id, [])
        if versions and versions[-1].pack.version == each.pack.version:
            other = versions[-1].pack
            if other.sha256 != each.pack.sha256:
                raise ConflictError(other.id, str(other.version), other.file, each.pack.file)
            continue
        versions.append(each)
    return found


def _compare(pack: str, old: Sequence[Held], new: Sequence[Held]) -> PackComparison:
    before, after = (versions[-1] if versions else None for versions in (old, new))
    title = (after or before).pack.title  # type: ignore[union-attr]  # one of the two exists
    if before is None or after is None:
        return PackComparison(pack, title, before, after, (_whole(before, after),))
    older = {each.pack.version: each.pack.sha256 for each in old}
    kept = [each for each in new[:-1] if older.get(each.pack.version, each.pack.sha256) != each.pack.sha256]
    return PackComparison(pack, title, before, after, compare_packs(before.pack, after.pack), tuple(kept))


def _whole(old: Held | None, new: Held | None) -> Change:
    if new is not None:
        count = len(new.pack.rules)
        says = f"is new: {new.pack.title}, {count} rule{'s' * (count != 1)}"
        return Change(Kind.ADDED, Level.NONE, "pack", "", str(new.pack.version), says, Effect.TIGHTER)
    assert old is not None  # INVARIANT: a pack stands on one side at least
    count = len(old.pack.rules)
    says = f"is gone: {old.pack.title}, {count} rule{'s' * (count != 1)}"
    return Change(Kind.REMOVED, Level.MAJOR, "pack", str(old.pack.version), "", says, Effect.LOOSER)


def _version(held: Held | None) -> str:
    return "" if held is None else str(held.pack.version)
