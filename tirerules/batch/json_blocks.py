"""Lines of JSON objects to Arrow columns by Arrow's own reader, exactly or not at all.

Arrow reads by a schema in which every text is text: a number, a flag or an unknown key where another form belongs, a
key that stands twice, a number beyond 64 bits, half a character or a control character in a text are refused. What it
would let pass is looked for here: bytes that are no UTF-8, several objects on one line, an object on several lines, a
line that is no object (of which a lone null would end the process).
"""

from __future__ import annotations

from typing import Final

import pyarrow as pa
import pyarrow.json

from tirerules.vocabulary import facts_of

__all__ = ["GRID", "LISTS", "WORDS", "objects"]

#: A list of words; readings by place and groove; the lists of a case, each item with a text for each of its facts.
WORDS: Final = pa.list_(pa.string())
GRID: Final = pa.list_(WORDS)
LISTS: Final = {
    name: pa.list_(pa.struct([pa.field(fact.key, pa.string()) for fact in facts_of(group)]))
    for name, group in (("injuries", "injury"), ("earlier_repairs", "repair"))
}


def objects(text: bytes, count: int, schema: pa.Schema) -> pa.Table | None:
    r"""Return `count` lines of JSON objects as a table of this schema; None where it would not say just what they say.

    >>> objects(b'{"on": "2026-11-30"}\n', 1, pa.schema({"on": pa.string()})).to_pylist()
    [{'on': '2026-11-30'}]
    >>> objects(b'{"on": 20261130}\n', 1, pa.schema({"on": pa.string()}))
    """
    # INVARIANT: between one line and the next a block ends and a block begins, which inside an object nothing does. So
    # where one line ends no object is open, and as many objects as lines are one on each.
    ends = text.count(b"}\n{") + (text.count(b"}\r\n{") if b"\r" in text else 0)
    if ends != count - 1:
        return None
    if not (text.startswith(b"{") and text[-3:].rstrip(b"\r\n").endswith(b"}")):
        return None
    try:
        if not text.isascii():
            text.decode("utf-8")
        table = pa.json.read_json(
            pa.BufferReader(text),
            read_options=pa.json.ReadOptions(use_threads=False, block_size=len(text) + 1),
            parse_options=pa.json.ParseOptions(explicit_schema=schema, unexpected_field_behavior="error"),
        )
    except (pa.ArrowInvalid, UnicodeDecodeError):
        return None
    return table if table.num_rows == count else None
