"""Files in a revision of a git repository, read from the repository itself through the git command.

Nothing is checked out and nothing in the working tree is touched. What cannot be read (a link, a part that lies in
another repository, a file too large for a pack) is an error, never left out.
"""

from __future__ import annotations

import io
import os
import subprocess
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from tirerules.errors import PackError, Problem, TirerulesError
from tirerules.packs.reading import MAX_BYTES
from tirerules.values import Value

__all__ = ["File", "Repository", "RevisionError"]

#: A file's name, for messages, and what is in it.
File = tuple[str, bytes]

_YAML: Final = (".yaml", ".yml")
#: How git's listing marks a symbolic link and a part that lies in another repository.
_ELSEWHERE: Final = {"120000": "a symbolic link", "160000": "a part of another repository"}


class RevisionError(TirerulesError, LookupError):
    """A revision, or a path in one, that git cannot give."""

    def __init__(self, wanted: str, reason: str, hint: str = "") -> None:
        super().__init__(wanted, reason, hint)
        self.wanted, self.reason, self.hint = wanted, reason, hint

    def __str__(self) -> str:
        return f"{self.wanted}: {self.reason}" + (f" -- {self.hint}" if self.hint else "")


class _Entry(Value):
    """One line of git's listing of a tree."""

    mode: str
    name: str
    object: str
    size: int


class Repository:
    """The git repository around a folder. Raises RevisionError where there is none."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        found = self._git("rev-parse", "--show-toplevel")
        if found.returncode:
            raise RevisionError(str(folder.resolve()), f"this is no git repository ({_said(found)})")
        self._top = Path(os.fsdecode(found.stdout).removesuffix("\n"))

    def inside(self, path: str) -> str:
        """Return a path, which is taken from the current folder, as it is from the top of the repository.

        Raises RevisionError for a path outside of it.
        """
        place = Path(path).resolve()
        if not place.is_relative_to(self._top):
            raise RevisionError(path, f"this lies outside the git repository {self._top}")
        inside = place.relative_to(self._top).as_posix()
        return "" if inside == "." else inside

    def commit(self, revision: str) -> str:
        """Return the id of the commit that a revision names. Raises RevisionError where there is none."""
        # A name that starts with a dash would be an option to git.
        found = None if revision.startswith("-") else self._git("rev-parse", "--verify", "-q", f"{revision}^{{commit}}")
        if found is None or found.returncode:
            raise RevisionError(revision, "git knows no such revision", "name a commit, a branch or a tag")
        return found.stdout.decode().strip()

    def files(self, revision: str, path: str) -> tuple[File, ...] | None:
        """Return the YAML files at `path`, from the top of the repository; None where the revision has no such path.

        As on disk, a file that is named itself may be called anything, and hidden folders are left out. Raises
        RevisionError for a revision that does not exist and a file that cannot be read, and PackError for one that is
        too large for a pack.
        """
        entries = list(self._tree(self.commit(revision), path))
        below = len(path) + 1 if path else 0
        wanted = [entry for entry in entries if entry.name == path or _wanted(entry.name[below:], entry.mode)]
        for entry in wanted:
            if entry.mode in _ELSEWHERE:
                raise RevisionError(
                    f"{revision}:{entry.name}", f"this is {_ELSEWHERE[entry.mode]}, which is not followed"
                )
            if entry.size > MAX_BYTES:
                message = f"the file has {entry.size:,} bytes; a pack has at most {MAX_BYTES:,}"
                name = f"{revision}:{entry.name}"
                raise PackError([Problem("file-too-large", message, "split it into several packs", name, 1, 1)])
        contents = self._contents([entry.object for entry in wanted])
        files = tuple((f"{revision}:{entry.name}", content) for entry, content in zip(wanted, contents, strict=True))
        return files if entries else None

    def _tree(self, commit: str, path: str) -> Iterator[_Entry]:
        listed = self._git("ls-tree", "-r", "-l", "-z", "--full-tree", commit, *(["--", path] if path else []))
        if listed.returncode:
            raise RevisionError(path, f"git cannot list it ({_said(listed)})")
        for line in listed.stdout.split(b"\0")[:-1]:
            head, _, name = line.partition(b"\t")
            mode, _, thing, size = head.decode().split()
            yield _Entry(mode, name.decode(errors="replace"), thing, int(size) if size.isdigit() else 0)

    def _contents(self, objects: Sequence[str]) -> Iterator[bytes]:
        """Yield what is in each of `objects`, all asked for at once."""
        shown = self._git("cat-file", "--batch", stdin="".join(f"{each}\n" for each in objects).encode())
        answer = io.BytesIO(shown.stdout)
        for each in objects:
            # A line "object type size", the content, and an end of line.
            head = answer.readline().decode(errors="replace").split()
            if shown.returncode or len(head) != 3:
                raise RevisionError(each, f"git cannot show it ({_said(shown) or ' '.join(head)})")
            yield answer.read(int(head[2]))
            answer.read(1)

    def _git(self, *arguments: str, stdin: bytes = b"") -> subprocess.CompletedProcess[bytes]:
        command = ["git", "-C", str(self._folder), *arguments]
        try:
            return subprocess.run(command, capture_output=True, check=False, input=stdin)
        except FileNotFoundError:
            raise RevisionError("git", "the git command was not found", "install git") from None


def _wanted(name: str, mode: str) -> bool:
    """Whether what lies below the path asked for is a pack's file, or could be a folder of them that git does not see.

    As on disk, hidden folders are left out.
    """
    *folders, last = name.split("/")
    if any(folder.startswith(".") for folder in folders):
        return False
    hides = mode in _ELSEWHERE and "." not in last
    return hides or last.endswith(_YAML)


def _said(run: subprocess.CompletedProcess[bytes]) -> str:
    return run.stderr.decode(errors="replace").strip()
