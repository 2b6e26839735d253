"""Every ticket of a file decided, as a folder of parts; or only those whose answer changed since an older rulebook."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any, Final

import pyarrow as pa

from tirerules.batch.against import Comparing
from tirerules.batch.answers import VERDICTS, Answered
from tirerules.batch.columns import Decider
from tirerules.batch.parts import Counts, Folder, Job, Report, make_parts
from tirerules.batch.sources import open_source
from tirerules.rulebook import Rulebook

__all__ = ["Report", "audit"]

#: How many rows of the source are read, decided and written at a time.
_BATCH_ROWS: Final = 250_000


def audit(
    rulebook: Rulebook,
    source: str | os.PathLike[str],
    target: str | os.PathLike[str],
    *,
    against: Rulebook | None = None,
    source_format: str | None = None,
    form: str = "parquet",
    keep: Sequence[str] = (),
    batch_rows: int = _BATCH_ROWS,
    day: date | None = None,
    resume: bool = False,
    progress: bool = False,
) -> Report:
    """Decide every ticket of the file `source` and write the answers to the folder `target`.

    With `against`, an older rulebook, every ticket is decided under both, and only those that changed are written, with
    both answers: `row`, `old_` and `new_` with each column of the answers, and what is kept; `changes_of` reads the
    counts of the report.

    `source_format` is needed only where the file's name does not say it; `form` is the format of the parts. `keep`
    names columns to carry through. A ticket without a day is decided for `day`, or else for the day on which the audit
    began. With `resume` an audit that was stopped goes on; `progress` shows a bar where standard error is a terminal.
    A ticket that cannot be decided is set aside; raises BatchError and MissingDataError for an audit that cannot run.
    """
    folder = Folder(Path(target), resume)
    tickets = open_source(Path(source), keep, source_format)
    decider = Decider(rulebook, keep=keep, day=day or folder.day)
    job: Job = _Deciding(decider)
    if against is not None:
        job = Comparing(Decider(against, keep=keep, day=decider.day), decider)
    return make_parts(job, tickets, folder, form=form, batch_rows=batch_rows, progress=progress)


class _Deciding:
    """Tells every answer, counted by verdict."""

    def __init__(self, decider: Decider) -> None:
        self.decider = decider
        self.keep = decider.keep
        self.basis = decider.basis

    def answer(self, table: pa.Table, rows: Any) -> tuple[Answered, Counts]:
        answered = self.decider.decide(table, rows)
        found = answered.answers["verdict"].cast(pa.string()).value_counts().to_pylist()
        return answered, Counter({(each["values"],): each["counts"] for each in found})

    def told(self, counts: Counts) -> dict[str, Any]:
        return {"verdicts": {verdict: counts[verdict,] for verdict in VERDICTS}}
