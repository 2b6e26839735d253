"""The same tickets under two rulebooks, and only what changed: what a compliance lead needs when a law changes.

A ticket changed where its verdict did, or a rule behind it: the first that fails, or those that set the strictest limit
on size or tread. A ticket that one of the two rulebooks cannot decide is set aside, never counted as unchanged.
"""

from __future__ import annotations

import functools
from collections import Counter
from typing import Any, Final, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from tirerules.batch.answers import ANSWER_SCHEMA, Answered, beside
from tirerules.batch.columns import Decider
from tirerules.batch.parts import Counts
from tirerules.batch.tables import encoded

__all__ = ["Change", "Comparing", "changes_of"]

#: What makes a ticket one that changed.
_COMPARED: Final = ("verdict", "failing_rule", "size_rule", "tread_rule")
_ANSWERS: Final = tuple(name for name in ANSWER_SCHEMA.names if name != "row")


class Change(NamedTuple):
    """What changed, and for how many tickets. `rule` is the one that decides it now, or else did before."""

    place: str
    rule: str
    old: str
    new: str
    tickets: int


def changes_of(counts: Counts) -> list[Change]:
    """Return the counts of what changed by place, rule and verdicts, most tickets first."""
    found = [Change(by[0], by[1], by[2], by[3], rows) for by, rows in counts.items() if len(by) > 1]
    return sorted(found, key=lambda change: (-change.tickets, change))


class Comparing:
    """Tells the answers that differ. Counts by place, rule and both verdicts; what did not change by its verdict."""

    def __init__(self, old: Decider, new: Decider) -> None:
        self.old, self.new = old, new
        self.keep = new.keep
        self.basis = {**new.basis, "against": old.basis["packs"]}

    def answer(self, table: pa.Table, rows: Any) -> tuple[Answered, Counts]:
        """Answer as `Job` says: the answers are those that changed, with both of them."""
        old, new = self.old.decide(table, rows), self.new.decide(table, rows)
        kept = table.select(self.keep)
        aside = _set_aside(old.set_aside, new.set_aside)
        before, after = (_without(each.answers, aside) for each in (old, new))
        differs = functools.reduce(pc.or_, (_differs(before[name], after[name]) for name in _COMPARED))
        unchanged = after["verdict"].filter(pc.invert(differs)).cast(pa.string()).to_pylist()
        before, after = before.filter(differs), after.filter(differs)
        changed = pa.table(
            {
                "row": after["row"],
                **{f"old_{name}": before[name] for name in _ANSWERS},
                **{f"new_{name}": after[name] for name in _ANSWERS},
            }
        ).replace_schema_metadata(after.schema.metadata)
        places = encoded(table["jurisdictions"].take(_at(rows, after["row"])))
        counts: Counts = Counter((verdict,) for verdict in unchanged)
        counts.update(zip(places.to_pylist(), *_rules_and_verdicts(before, after), strict=True))
        reasons = pa.table({"row": pa.array(aside, pa.int64()), "reason": pa.array(aside.values(), pa.string())})
        return Answered(
            beside(changed, kept.take(_at(rows, changed["row"]))),
            beside(reasons, kept.take(_at(rows, reasons["row"]))),
        ), counts

    def told(self, counts: Counts) -> dict[str, Any]:
        """Return how many tickets changed, and how, most first."""
        changes = changes_of(counts)
        changed = sum(change.tickets for change in changes)
        listed = [change._asdict() for change in changes]
        return {"changed": changed, "unchanged": counts.total() - changed, "changes": listed}


def _set_aside(old: pa.Table, new: pa.Table) -> dict[int, str]:
    """Return why each row is set aside that either rulebook cannot decide, in the order of the rows."""
    before, after = (dict(zip(each["row"].to_pylist(), each["reason"].to_pylist(), strict=True)) for each in (old, new))
    reasons = {}
    for row in sorted({*before, *after}):
        if before.get(row) == after.get(row):
            reasons[row] = after[row]
        else:
            by = (("the older packs", before.get(row)), ("the newer packs", after.get(row)))
            reasons[row] = "; ".join(f"by {packs}: {reason}" for packs, reason in by if reason is not None)
    return reasons


def _without(answers: pa.Table, rows: dict[int, str]) -> pa.Table:
    return answers.filter(pa.array(~np.isin(answers["row"].to_numpy(), list(rows))))


def _differs(old: pa.ChunkedArray, new: pa.ChunkedArray) -> pa.ChunkedArray:
    """Return where two columns of text differ; null is a value like any other."""
    return pc.not_equal(*(pc.fill_null(each.cast(pa.string()), "") for each in (old, new)))


def _at(rows: Any, wanted: pa.ChunkedArray) -> pa.Array:
    """Return where the rows `wanted` stand among `rows`, which ascend."""
    return pa.array(np.searchsorted(rows, wanted.to_numpy()))


def _rules_and_verdicts(old: pa.Table, new: pa.Table) -> tuple[list[str], list[str], list[str]]:
    """Return for each ticket that changed the rule that counts, and its verdicts under both rulebooks."""
    before, after = ({name: each[name].to_pylist() for name in _COMPARED} for each in (old, new))
    rules = []
    for at in range(new.num_rows):
        named = [each["failing_rule"][at] for each in (after, before)]
        named += [
            each[name][at] for name in _COMPARED[2:] if before[name][at] != after[name][at] for each in (after, before)
        ]
        rules.append(next((rule for rule in named if rule), "none named"))
    return rules, before["verdict"], after["verdict"]
