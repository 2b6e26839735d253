"""Columns in, columns out: a table of tickets decided by one rulebook.

The answers equal those of `Rulebook.decide`, row by row; a test of drawn rows holds the two together. Nothing that is
remembered from one table to the next depends on tickets, only on rules.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any, Final

import numpy as np
import pyarrow as pa

from tirerules._version import __version__
from tirerules.batch.answers import Answered, Told
from tirerules.batch.deciding import Deciding
from tirerules.batch.tables import check_columns, flattened, table_of
from tirerules.record import lock_to_json
from tirerules.rulebook import Rulebook

__all__ = ["Decider", "decide_batch", "decide_batches"]


def decide_batch(
    rulebook: Rulebook,
    batch: Any,
    *,
    keep: Sequence[str] = (),
    first_row: int = 0,
    day: date | None = None,
    questions: bool = True,
) -> Answered:
    """Decide every row of an Arrow table or record batch.

    `keep` names columns that are carried through unchanged; rows are numbered from `first_row`; a row without `on` is
    decided for `day` (today where it is left out). Without `questions` nothing is asked of open rows, which takes less
    time. Raises BatchError for columns that no table of tickets has.
    """
    decider = _decider(rulebook, tuple(dict.fromkeys(keep)), day or date.today(), questions)
    return decider.decide(table_of(batch), first_row)


def decide_batches(
    rulebook: Rulebook,
    batches: Any,
    *,
    keep: Sequence[str] = (),
    first_row: int = 0,
    day: date | None = None,
    questions: bool = True,
) -> Iterator[Answered]:
    """Decide a stream of tables one by one, with rows numbered through and one day for all.

    `batches` is anything that yields Arrow tables or record batches (a record-batch reader, a list), or anything that
    hands out an Arrow stream, such as the frames and relations of other libraries. Raises as `decide_batch` does.
    """
    decider = Decider(rulebook, keep=keep, day=day, questions=questions)
    if hasattr(batches, "__arrow_c_stream__"):
        batches = pa.RecordBatchReader.from_stream(batches)
    for batch in batches:
        table = table_of(batch)
        yield decider.decide(table, first_row)
        first_row += table.num_rows


class _Last(threading.local):
    """What each thread decided its last table with, so that the rules are looked up once for tables by one rulebook."""

    decider: Decider | None = None


_LAST: Final = _Last()


def _decider(rulebook: Rulebook, keep: tuple[str, ...], day: date, questions: bool) -> Decider:
    last = _LAST.decider
    asked = keep, day, questions
    if last is None or last.rulebook is not rulebook or (last.keep, last.day, last.questions) != asked:
        last = _LAST.decider = Decider(rulebook, keep=keep, day=day, questions=questions)
    return last


class Decider:
    """Decides tables by one rulebook on one day."""

    def __init__(
        self, rulebook: Rulebook, *, keep: Sequence[str] = (), day: date | None = None, questions: bool = True
    ) -> None:
        """Hold the rulebook and the day: the clock is read here, once. Without `questions` none are asked."""
        self.rulebook = rulebook
        self.keep = tuple(dict.fromkeys(keep))
        self.day = day or date.today()
        self.questions = questions
        self._deciding = Deciding(rulebook, self.day, questions)

    @property
    def basis(self) -> dict[str, Any]:
        """What the answers rest on beside the tickets, as JSON: this library, the day, the packs."""
        return {"engine": __version__, "on": self.day.isoformat(), "packs": lock_to_json(self.rulebook.lock)}

    def decide(self, table: pa.Table, rows: Any = 0) -> Answered:
        """Decide a table. `rows` is the number of its first row, or an int64 array with the number of each.

        Raises BatchError for columns that no table of tickets has, or that hold values of a wrong type.
        """
        flat = flattened(table)
        check_columns(flat.schema, self.keep)
        numbers = np.arange(rows, rows + table.num_rows, dtype=np.int64) if isinstance(rows, int) else rows
        told = Told()
        places, questions = self._deciding.decide(flat, told)
        return told.assemble(places, questions, numbers, table.select(self.keep), self.day)
