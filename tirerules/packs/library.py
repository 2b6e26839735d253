"""Finding packs and choosing among their versions: search path, pins, lock.

The newest version that this library satisfies (and the caller's pin allows) is chosen for each pack, whatever folder it
lies in and in whatever order the folders come. A pack that cannot be read stops the load: it is never skipped.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from packaging.specifiers import InvalidSpecifier, SpecifierSet
from packaging.version import InvalidVersion, Version

from tirerules._version import __version__
from tirerules.data import folder
from tirerules.errors import ConflictError, LockError, MissingDataError, PackError, PinError, Problem
from tirerules.packs.building import build_pack
from tirerules.packs.pack import Pack
from tirerules.packs.reading import MAX_BYTES, Document, read

__all__ = ["Lock", "builtin", "choose", "files_under", "read_file", "read_files"]

#: Pack -> (version, SHA-256 of its file).
Lock = Mapping[str, tuple[str, str]]


def builtin() -> Traversable:
    """Return the folder of the packs that ship with the library."""
    return folder("rulepacks")


def files_under(place: Traversable | str | os.PathLike[str]) -> Iterator[Traversable]:
    """Yield every YAML file in a folder and its subfolders, or the one file named, in the order of their names.

    A folder that links back to one of those above it is passed over. Raises MissingDataError where there is neither.
    """
    here: Traversable = Path(place) if isinstance(place, (str, os.PathLike)) else place
    if here.is_file():
        yield here
    elif here.is_dir():
        yield from _in_folder(here, frozenset())
    else:
        raise MissingDataError(f"{place}: no such file or folder")


def _in_folder(folder: Traversable, above: frozenset[Path]) -> Iterator[Traversable]:
    real = Path(str(folder)).resolve()
    if real in above:
        return
    for entry in sorted(folder.iterdir(), key=lambda each: each.name):
        if entry.is_dir() and not entry.name.startswith("."):
            yield from _in_folder(entry, above | {real})
        elif entry.is_file() and entry.name.endswith((".yaml", ".yml")):
            yield entry


def read_file(file: Traversable) -> tuple[Document, str]:
    """Return the document in `file` and its SHA-256. Raises PackError; never reads more than a pack may hold."""
    with file.open("rb") as stream:
        content: bytes = stream.read(MAX_BYTES + 1)
    return read(content, str(file)), hashlib.sha256(content).hexdigest()


def read_files(files: Iterable[Traversable]) -> tuple[Pack, ...]:
    """Read every pack. Raises PackError with the problems of all files together.

    A pack that asks for another version of the library is left out where its head can be read: it may use words that
    this version does not know, and `choose` says so if no other version of it will do.
    """
    packs: list[Pack] = []
    problems: list[Problem] = []
    foreign: dict[str, list[Problem]] = {}
    for file in files:
        try:
            document, sha256 = read_file(file)
            unsatisfied = engine_problem(document)
            if unsatisfied is not None:
                foreign.setdefault(str(document.data["pack"]), []).append(unsatisfied)
                continue
            packs.append(build_pack(document, sha256))
        except PackError as error:
            problems += error.problems
    read_ids = {pack.id for pack in packs}
    problems += [problem for pack, found in foreign.items() if pack not in read_ids for problem in found]
    if problems:
        raise PackError(problems)
    return tuple(packs)


def engine_problem(document: Document) -> Problem | None:
    """Return the problem of a pack written for another version of the library, or None."""
    head: Any = document.data
    if not isinstance(head, dict) or not isinstance(head.get("engine"), str) or not isinstance(head.get("pack"), str):
        return None
    try:
        if Version(__version__) in SpecifierSet(head["engine"]):
            return None
    except InvalidSpecifier:
        return None  # the builder says so, with everything else
    message = f"the pack is written for tirerules {head['engine']}; this is {__version__}"
    return document.problem(
        "engine", ("engine",), message, "install a library that fits, or use another version of the pack"
    )


def choose(packs: Sequence[Pack], pins: Mapping[str, str], lock: Lock | None) -> tuple[Pack, ...]:
    """Return the chosen version of each pack, by pack id.

    `pins` maps packs to version specifiers such as ``==1.2.*``. With a `lock`, exactly the locked packs are chosen.
    Raises ConflictError, PinError or LockError.
    """
    versions: dict[str, dict[Version, Pack]] = {}
    for pack in sorted(packs, key=lambda each: each.file):
        known = versions.setdefault(pack.id, {})
        other = known.setdefault(pack.version, pack)
        if other.sha256 != pack.sha256:
            raise ConflictError(pack.id, str(pack.version), other.file, pack.file)
    for pack_id, pin in pins.items():
        found = [str(version) for version in sorted(versions.get(pack_id, ()))]
        if not found:
            raise PinError(pack_id, pin, [])
        try:
            SpecifierSet(pin)
        except InvalidSpecifier:
            raise PinError(pack_id, f"{pin!r}, which is no version specifier", found) from None
    if lock is not None:
        return _locked(versions, lock, pins)
    return tuple(_newest(pack, versions[pack], pins.get(pack, "")) for pack in sorted(versions))


def _newest(pack: str, versions: Mapping[Version, Pack], pin: str) -> Pack:
    wanted = SpecifierSet(pin)
    fitting = [version for version in versions if version in wanted]
    if not fitting:
        raise PinError(pack, pin, [str(version) for version in sorted(versions)])
    return versions[max(fitting)]


def _locked(versions: Mapping[str, Mapping[Version, Pack]], lock: Lock, pins: Mapping[str, str]) -> tuple[Pack, ...]:
    chosen: list[Pack] = []
    differences: list[str] = []
    for pack, (wanted, sha256) in sorted(lock.items()):
        try:
            found = versions.get(pack, {}).get(Version(wanted))
        except InvalidVersion:
            found = None
        if found is None:
            held = ", ".join(str(version) for version in sorted(versions.get(pack, ()))) or "none"
            differences.append(f"{pack} {wanted} is not here (found: {held})")
        elif pack in pins and found.version not in SpecifierSet(pins[pack]):
            differences.append(f"{pack} {wanted} is locked but pinned to {pins[pack]}")
        elif found.sha256 != sha256:
            differences.append(f"{pack} {wanted} has other content ({found.sha256[:12]}, locked {sha256[:12]})")
        else:
            chosen.append(found)
    if differences:
        raise LockError(differences)
    return tuple(chosen)
