"""The folder of an audit: parts that are each whole, and a journal that says which, so that a stopped run goes on.

The journal (`audit.json`) is rewritten after every part. A part counts only once the journal names it and its files
have the size written there; anything else is made again. A part that was made is never judged again, so what the parts
rest on (packs, library, day, source, options) must still be the same when a run goes on.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final, Protocol

import numpy as np
import pyarrow as pa
from tqdm import tqdm

from tirerules.batch.answers import Answered
from tirerules.batch.errors import BatchError
from tirerules.batch.sources import Chunk, Position, Source
from tirerules.batch.writing import WRITERS, write_json, write_whole
from tirerules.errors import CaseError, Problem
from tirerules.record import parse

__all__ = ["JOURNAL", "Counts", "Folder", "Job", "Report", "Tally", "make_parts"]

JOURNAL: Final = "audit.json"
#: What the parts rest on; a run goes on only where all of it is the same.
_RESTS_ON: Final = ("engine", "on", "packs", "against", "source", "options")

#: How many rows, by what a job counts them by.
Counts = Counter[tuple[str, ...]]


class Job(Protocol):
    """What is done with each chunk of tickets."""

    keep: tuple[str, ...]

    @property
    def basis(self) -> dict[str, Any]:
        """What the answers rest on beside the tickets: packs, library, day."""

    def answer(self, table: pa.Table, rows: Any) -> tuple[Answered, Counts]:
        """Answer tickets, numbered by `rows`; every row is counted once or set aside. Not every answer is told."""

    def told(self, counts: Counts) -> dict[str, Any]:
        """Return the counts of the whole audit as they stand in its journal."""


@dataclass(frozen=True, slots=True)
class Report:
    """What an audit did. `rows` is `decided` and `set_aside` together, always."""

    rows: int
    decided: int
    set_aside: int
    counts: Counts
    folder: Path


@dataclass(frozen=True, slots=True)
class Tally:
    """What one part holds: its files with their sizes, its rows, and where in the source it ends."""

    files: Mapping[str, int]
    decided: int
    set_aside: int
    counts: Counts
    end: Position

    def to_json(self) -> dict[str, Any]:
        """Return this as it stands in the journal."""
        said = {"files": dict(self.files), "decided": self.decided, "set_aside": self.set_aside}
        counts = [[*by, rows] for by, rows in sorted(self.counts.items())]
        return said | {"counts": counts, "end": asdict(self.end)}

    @classmethod
    def from_json(cls, said: Mapping[str, Any]) -> Tally:
        """Read an entry of the journal."""
        counts = Counter({tuple(by): rows for *by, rows in said["counts"]})
        return cls(said["files"], said["decided"], said["set_aside"], counts, Position(**said["end"]))


class Folder:
    """The folder of an audit and what its journal says."""

    def __init__(self, path: Path, resume: bool) -> None:
        """Open the folder. Raises BatchError where it holds something else, or an audit that is not to go on."""
        self.path = path
        self.journal: Mapping[str, Any] | None = None
        if path.exists() and not path.is_dir():
            raise _refusal(path, "this is no folder", "name a folder for the parts; it is made where there is none")
        if (path / JOURNAL).is_file():
            if not resume:
                raise _refusal(path, "the folder holds an audit already", "let it go on (resume), or name another one")
            self.journal = _read(path / JOURNAL)
        elif path.is_dir() and any(path.iterdir()):
            raise _refusal(path, "the folder is not empty and holds no audit", "name a new or an empty folder")

    @property
    def day(self) -> date | None:
        """The day on which the audit in the folder began."""
        return None if self.journal is None else date.fromisoformat(self.journal["on"])

    def whole(self, basis: Mapping[str, Any]) -> Iterator[Tally]:
        """Yield the parts that are whole, up to the first that is not. Raises BatchError where they rest on others."""
        if self.journal is None:
            return
        differing = [key for key in _RESTS_ON if self.journal.get(key) != basis.get(key)]
        if differing:
            shown = "; ".join(_difference(key, self.journal.get(key), basis.get(key)) for key in differing)
            hint = "name another folder, or run it with what the parts were made with"
            raise _refusal(self.path, f"the parts that are there do not fit: {shown}", hint)
        for said in self.journal["parts"]:
            tally = Tally.from_json(said)
            if not all(_size(self.path / name) == size for name, size in tally.files.items()):
                return
            yield tally


def make_parts(
    job: Job, source: Source, folder: Folder, *, form: str, batch_rows: int, progress: bool = False
) -> Report:
    """Do `job` on every chunk of `source` that `folder` holds no whole part for.

    `form` is the format of the parts, each of at most `batch_rows` rows of the source; with `progress` a bar is shown
    where standard error is a terminal. Raises BatchError.
    """
    if form not in WRITERS:
        raise _refusal("", f"{form!r} is no format of parts", f"one of: {', '.join(WRITERS)}")
    if batch_rows < 1:
        raise _refusal("", f"a part of {batch_rows} rows", "give 1 or more")
    options = {"format": form, "keep": list(job.keep), "batch_rows": batch_rows}
    basis = {**job.basis, "source": source.fingerprint(), "options": options}
    done = list(folder.whole(basis))
    try:
        folder.path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise _refusal(folder.path, f"the folder cannot be made: {error.strerror}") from None

    def note(finished: bool) -> Report:
        report = _report(folder.path, done)
        head = {"finished": finished, "rows": report.rows, "decided": report.decided, "set_aside": report.set_aside}
        parts = [tally.to_json() for tally in done]
        write_json(folder.path / JOURNAL, {**head, **job.told(report.counts), **basis, "parts": parts})
        return report

    note(False)
    start = done[-1].end if done else source.start
    if not done or source.done(start) < source.total:
        initial = source.done(start)
        with tqdm(
            total=source.total, initial=initial, unit=source.unit, unit_scale=True, disable=None if progress else True
        ) as bar:
            for chunk in source.chunks(start, batch_rows):
                done.append(_part(job, chunk, folder.path, len(done), form))
                note(False)
                bar.update(source.done(chunk.end) - bar.n)
    return note(True)


def _part(job: Job, chunk: Chunk, folder: Path, number: int, form: str) -> Tally:
    """Write one part, what is set aside first: the part itself stands for both."""
    answered, counts = job.answer(chunk.table, chunk.rows)
    aside = _with_unreadable(answered.set_aside, chunk.unreadable)
    files = {}
    if aside.num_rows:
        name = f"set-aside-{number:05}.jsonl"
        files[name] = write_whole(folder / name, lambda path: WRITERS["jsonl"](aside, path))
    name = f"part-{number:05}.{form}"
    files[name] = write_whole(folder / name, lambda path: WRITERS[form](answered.answers, path))
    return Tally(files, counts.total(), aside.num_rows, counts, chunk.end)


def _with_unreadable(aside: pa.Table, unreadable: Sequence[tuple[int, str]]) -> pa.Table:
    """Add the lines that could not even be read, in the order of the rows."""
    if not unreadable:
        return aside
    rows, reasons = zip(*unreadable, strict=True)
    empty = [pa.nulls(len(rows), field.type) for field in list(aside.schema)[2:]]
    more = pa.Table.from_arrays(
        [pa.array(rows, pa.int64()), pa.array(reasons, pa.string()), *empty], names=aside.column_names
    )
    both = pa.concat_tables([aside, more], promote_options="permissive")
    return both.take(pa.array(np.argsort(both["row"].to_numpy(), kind="stable")))


def _report(folder: Path, parts: Sequence[Tally]) -> Report:
    counts: Counts = Counter()
    for tally in parts:
        counts.update(tally.counts)
    set_aside = sum(tally.set_aside for tally in parts)
    return Report(counts.total() + set_aside, counts.total(), set_aside, counts, folder)


def _read(path: Path) -> Mapping[str, Any]:
    try:
        said = parse(path.read_text(encoding="utf-8"))
        date.fromisoformat(said["on"])
        for part in said["parts"]:
            Tally.from_json(part)
        return dict(said)
    except (OSError, UnicodeDecodeError, CaseError, AttributeError, KeyError, TypeError, ValueError):
        hint = "name another folder; the journal of this one was changed or broken"
        raise _refusal(path, "this is no journal of an audit", hint) from None


def _size(path: Path) -> int | None:
    return path.stat().st_size if path.is_file() else None


def _difference(key: str, recorded: Any, now: Any) -> str:
    if isinstance(recorded, dict) and isinstance(now, dict):
        keys = sorted(each for each in {*recorded, *now} if recorded.get(each) != now.get(each))
        return ", ".join(f"{key} {each} was {_short(recorded.get(each))}, is {_short(now.get(each))}" for each in keys)
    return f"{key} was {_short(recorded)}, is {_short(now)}"


def _short(value: Any) -> str:
    text = "none" if value is None else json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 60 else text[:57] + "..."


def _refusal(place: str | Path, message: str, hint: str = "") -> BatchError:
    return BatchError([Problem("batch-folder", message, hint, file=str(place))])
