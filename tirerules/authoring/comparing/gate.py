"""The version gate: whether each pack's version and the change log say what its changes are.

A looser limit, a later start, an earlier end or a limit that is gone raises the first number of a pack's version; a
tighter or new one, and what makes cases decidable or undetermined, the second; anything else that changes the file, the
third. A version never goes down, and what was published under a version never changes: locks and pins rest on it.

A recorded decision names every pack by version and digest, and replays only by those bytes. So the gate also says which
versions a change leaves behind, and where records go on finding them. That is no violation: packs move on, and the
place they moved on from keeps what they were.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Final

from packaging.version import Version

from tirerules.authoring.comparing.change import Level
from tirerules.authoring.comparing.comparison import Comparison, PackComparison
from tirerules.authoring.comparing.sources import Held
from tirerules.errors import Problem

__all__ = ["left_behind", "next_version", "violations"]

_NUMBERS: Final = {Level.PATCH: "third", Level.MINOR: "second", Level.MAJOR: "first"}


def violations(comparison: Comparison, changelog: str | None = None) -> Mapping[str, tuple[Problem, ...]]:
    """Return everything that keeps the changes from being published, by pack; nothing for a pack without a problem.

    `changelog` is the text of a change log. With it, every pack that changed needs an entry that names its id and its
    new version; a pack that is gone needs one that names its id and the word "removed". An entry is an item of a list
    or a paragraph, wherever it stands.
    """
    entries = None if changelog is None else _entries(changelog)
    found = ((each.pack, tuple(_violations(each, entries))) for each in comparison.packs)
    return {pack: problems for pack, problems in found if problems}


def left_behind(comparison: Comparison, place: str) -> tuple[str, ...]:
    """Return what is to be said of the versions that only the old side holds; nothing where there is none.

    `place` is the old side, by a name that lasts: what `tirerules replay --packs` takes.
    """
    if not comparison.left:
        return ()
    head = f"records that name these versions replay only by the old packs: tirerules replay RECORD --packs {place}"
    packs = (held.pack for held in comparison.left)
    return (head, *(f"  {pack.id} {pack.version} (sha256 {pack.sha256[:12]})" for pack in packs))


def next_version(version: Version, level: Level) -> str:
    """Return the lowest version that says a change of `level`."""
    major, minor, micro = version.major, version.minor, version.micro
    if level is Level.MAJOR:
        return f"{major + 1}.0.0"
    return f"{major}.{minor + 1}.0" if level is Level.MINOR else f"{major}.{minor}.{micro + 1}"


def _violations(found: PackComparison, entries: list[str] | None) -> Iterator[Problem]:
    for held in found.rewritten:
        message = f"{held.pack.id} {held.pack.version} was published with other content"
        yield _problem(held, "version-rewritten", message, "leave a published version as it was")
    if found.new is None:
        assert found.old is not None  # INVARIANT: a pack stands on one side at least
        if entries is None or not any(_names(entry, found.pack, "removed") for entry in entries):
            message = f"the pack {found.pack} is gone: nobody whom its rules bind is told so by a version"
            hint = f"name a change log with `--changelog` that says so, as in: - {found.pack} removed: ..."
            yield _problem(found.old, "pack-removed", message, hint)
        return
    if found.old is not None:
        yield from _bump(found, found.old, found.new)
    version = str(found.new.pack.version)
    published = found.old is not None and found.old.pack.sha256 == found.new.pack.sha256
    if entries is not None and not published and not any(_names(entry, found.pack, version) for entry in entries):
        message = f"the change log has no entry for {found.pack} {version}"
        hint = f"say what changes for whom, as in: - {found.pack} {version}: ..."
        yield _problem(found.new, "changelog-missing", message, hint)


def _bump(found: PackComparison, old: Held, new: Held) -> Iterator[Problem]:
    before, after, needed = old.pack.version, new.pack.version, found.level
    if old.pack.sha256 == new.pack.sha256:
        return
    if after < before:
        message = f"the version goes down, from {before} to {after}"
        yield _problem(new, "version-down", message, f"write {next_version(before, needed)} or higher")
    elif after == before:
        message = f"the pack changed and its version did not; {_why(found)}"
        yield _problem(new, "version-unbumped", message, f"write {next_version(before, needed)}")
    elif after < Version(next_version(before, needed)):
        message = f"from {before} to {after} is too small a step; {_why(found)}"
        yield _problem(new, "version-too-small", message, f"write {next_version(before, needed)}")


def _why(found: PackComparison) -> str:
    """Return which number must rise, and for the sake of which change."""
    change = next(change for change in found.changes if change.level == found.level)
    return f"the {_NUMBERS[found.level]} number must rise for: {change}"


def _problem(held: Held, code: str, message: str, hint: str) -> Problem:
    return Problem(code, message, hint, held.pack.file, held.line, held.column, "version")


# --- the change log ---------------------------------------------------------------------------------------------------

_ITEM: Final = re.compile(r"\s*(?:[-*+]|[0-9]+[.)])\s")


def _entries(changelog: str) -> list[str]:
    """Return the entries of a change log: items of lists with the lines that continue them, paragraphs, headings."""
    found: list[str] = []
    going_on = False
    for line in changelog.splitlines():
        if not line.strip():
            going_on = False
            continue
        if going_on and not _ITEM.match(line) and not line.startswith("#"):
            found[-1] += f"\n{line}"
        else:
            found.append(line)
        going_on = not line.startswith("#")
    return found


def _names(entry: str, pack: str, word: str) -> bool:
    """Whether an entry names a pack and a version (or another word), both whole: US-SC 1.1.0 names no US and no 1.1."""
    name = rf"(?<![\w.-]){re.escape(pack)}(?![\w-])"
    version = rf"(?<![\w.])v?{re.escape(word)}(?![\w-]|\.\w)"
    return re.search(name, entry) is not None and re.search(version, entry) is not None
