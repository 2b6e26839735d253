"""Many tickets at once: columns in, columns out, on Arrow tables; files in, parts out (the extra `tirerules[batch]`).

>>> import pyarrow
>>> import tirerules
>>> from tirerules.batch import decide_batch
>>> tickets = pyarrow.table({"jurisdictions": ["US-SC"], "activity": ["repair"], "injury.diameter": ["8 mm"]})
>>> decide_batch(tirerules.load(), tickets).answers["verdict"].to_pylist()
['undetermined']
"""

from tirerules.batch.errors import BatchError, MissingExtraError

try:
    from tirerules.batch.against import changes_of
    from tirerules.batch.answers import ANSWER_SCHEMA, QUESTION_FACTS, Answered, questions_of
    from tirerules.batch.auditing import Report, audit
    from tirerules.batch.columns import Decider, decide_batch, decide_batches
    from tirerules.batch.tickets import COLUMNS
except ModuleNotFoundError as missing:
    if (missing.name or "").partition(".")[0] not in ("numpy", "pyarrow", "tqdm"):
        raise
    raise MissingExtraError("batch", str(missing.name)) from None

__all__ = [
    "ANSWER_SCHEMA",
    "COLUMNS",
    "QUESTION_FACTS",
    "Answered",
    "BatchError",
    "Decider",
    "MissingExtraError",
    "Report",
    "audit",
    "changes_of",
    "decide_batch",
    "decide_batches",
    "questions_of",
]
