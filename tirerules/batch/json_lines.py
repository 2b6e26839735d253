"""JSON lines: one ticket a line, nested as a case is or flat as a table is."""

from __future__ import annotations

import contextlib
import json
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from tirerules.batch.json_blocks import GRID, LISTS, WORDS, objects
from tirerules.batch.lines import Lines
from tirerules.batch.tables import check_columns, joined
from tirerules.batch.tickets import BLOCKS, COLUMNS, ITEM_OF, REQUIRED, Form, flat_row
from tirerules.errors import TirerulesError
from tirerules.record import parse

__all__ = ["JsonLines"]

_TEXT: Final = pa.string()
#: How many lines are looked at before the first block is read; what other keys there are, the line reader finds.
_LOOKED_AT: Final = 100


class JsonLines(Lines):
    """A file of JSON tickets."""

    form = "jsonl"

    def __init__(self, path: Path, keep: Sequence[str]) -> None:
        super().__init__(path, keep)
        check_columns(pa.schema([pa.field(name, _TEXT) for name in dict.fromkeys((*REQUIRED, *keep))]), keep)
        self._shape = _Shape(keep)

    def _block(self, text: bytes, count: int) -> pa.Table | None:
        if not self._shape.seen:
            self._look_at(text)
        schema = self._shape.schema()
        table = None if schema is None else objects(text, count, schema)
        columns = None if table is None else _flat(table)
        return None if columns is None else self._whole(columns, count)

    def _look_at(self, text: bytes) -> None:
        """Learn what tickets look like from the first lines that are any."""
        for line in text.split(b"\n", _LOOKED_AT)[:_LOOKED_AT]:
            with contextlib.suppress(TirerulesError, UnicodeDecodeError):
                self._read(line.decode("utf-8"))

    def _read(self, line: str) -> dict[str, str | None]:
        said = parse(line)
        row = flat_row(said, self.keep)
        self._shape.learn(said)
        return row

    def _table(self, read: list[dict[str, str | None]]) -> pa.Table:
        names = dict.fromkeys(name for row in read for name in row)
        return self._whole({name: pa.array([row.get(name) for row in read], _TEXT) for name in names}, len(read))

    def _whole(self, columns: dict[str, pa.Array], count: int) -> pa.Table:
        """Return columns of `count` rows as a table, with those that every table of tickets has."""
        wanted = dict.fromkeys((*REQUIRED, *self.keep))
        return pa.table({name: pa.nulls(count, _TEXT) for name in wanted} | columns)


class _Shape:
    """Which keys the tickets seen so far have, and of which type each was last: the schema that Arrow reads by.

    `keys` maps a key to its type, for a block to the keys in it by type, for a list of blocks to the list of theirs,
    which are all of text. INVARIANT: no key is unknown, and no type is one that its column does not take; a ticket with
    any other is for the line reader to refuse.
    """

    def __init__(self, keep: Sequence[str]) -> None:
        self._keep = frozenset(keep)
        self._keys: dict[str, Any] = {}
        self._exact = self._keep.isdisjoint((*BLOCKS, *ITEM_OF))

    @property
    def seen(self) -> bool:
        """Whether a ticket was seen."""
        return bool(self._keys)

    def schema(self) -> pa.Schema | None:
        """Return the schema; None where nothing was seen yet, or something of which Arrow would not keep the text."""
        return pa.schema(_fields(self._keys)) if self._keys and self._exact else None

    def learn(self, said: Mapping[str, Any]) -> None:
        """Add the keys of a ticket that `flat_row` takes."""
        if not self._exact:
            return
        for key, value in said.items():
            if key not in BLOCKS:
                self._add(self._keys, key, key, value)
            elif value:
                for part, each in value.items():
                    self._add(self._keys.setdefault(key, {}), part, f"{key}.{part}", each)
            else:
                self._keys.setdefault(key, {})

    def _add(self, keys: dict[str, Any], key: str, name: str, value: Any) -> None:
        kind = _type_of(name, value)
        if name in self._keep and (isinstance(value, (float, dict)) or (isinstance(value, list) and kind != WORDS)):
            self._exact = False  # it is carried through as its JSON text
        elif isinstance(kind, list):
            before = keys[key] if isinstance(keys.get(key), list) else []
            keys[key] = list(dict.fromkeys((*before, *kind)))
        elif value is not None or key not in keys:
            keys[key] = kind


def _type_of(name: str, value: Any) -> pa.DataType | list[str]:
    """Return the type of a value that its column takes; for a list of blocks the keys that are facts."""
    if isinstance(value, bool):
        return pa.bool_()
    if isinstance(value, int):
        return pa.int64()
    if not isinstance(value, list):
        return _TEXT
    if name not in LISTS:
        return GRID if COLUMNS.get(name) is Form.JSON else WORDS
    stated = {key for item in value if isinstance(item, Mapping) for key in item}
    return [field.name for field in LISTS[name].value_type if field.name in stated]


def _fields(keys: Mapping[str, Any]) -> list[pa.Field]:
    return [pa.field(key, _type(kind)) for key, kind in keys.items()]


def _type(kind: Any) -> pa.DataType:
    if isinstance(kind, dict):
        return pa.struct(_fields(kind))
    return pa.list_(pa.struct([pa.field(key, _TEXT) for key in kind])) if isinstance(kind, list) else kind


def _flat(table: pa.Table) -> dict[str, pa.Array] | None:
    """Return a table of nested tickets as columns of text; None where a list or a key needs the line reader."""
    columns: dict[str, pa.Array] = {}
    for name, chunked in zip(table.column_names, table.columns, strict=True):
        column = chunked.combine_chunks()
        if name in LISTS and not pa.types.is_string(column.type):
            group = ITEM_OF[name]
            if column.values.null_count or any(each.startswith(f"{group}.") for each in table.column_names):
                return None
            found = dict(_listed(name, group, column))
        elif pa.types.is_struct(column.type):
            found = {f"{name}.{field.name}": part for field, part in zip(column.type, column.flatten(), strict=True)}
        else:
            found = {name: column}
        if found.keys() & columns.keys():
            return None  # a key that stands twice, in a block and flat
        columns |= found
    for name, column in columns.items():
        if pa.types.is_list(column.type) and name not in LISTS and column.type == WORDS and column.values.null_count:
            return None  # a null is no word
        columns[name] = _texts(column)
    return columns


def _texts(column: pa.Array) -> pa.Array:
    """Return a column as the texts that a table of tickets has."""
    if column.type == WORDS:
        return joined(column)
    if pa.types.is_list(column.type):
        return pa.array([None if said is None else _json(said) for said in column.to_pylist()], _TEXT)
    return column.cast(_TEXT)


def _listed(name: str, group: str, lists: pa.ListArray) -> Iterator[tuple[str, pa.Array]]:
    """Yield a list of a case as the columns of its one item, and as JSON text where there are several, or none.

    An item that states nothing stays in the list: it would vanish among columns.
    """
    lengths = pc.fill_null(pc.list_value_length(lists), -1).to_numpy()
    at = np.flatnonzero(lengths == 1)
    items = lists.flatten().take(pa.array(_offsets(lists)[at]))
    parts = dict(zip((field.name for field in items.type), items.flatten(), strict=True))
    stated = np.zeros(len(at), bool)
    for part in parts.values():
        stated |= part.is_valid().to_numpy(zero_copy_only=False)
    place = np.full(len(lists), -1, np.int32)  # of each row's item among the items
    place[at[stated]] = np.flatnonzero(stated)
    taken = pa.array(place, mask=place < 0)
    for key, part in parts.items():
        if part.null_count < len(part):
            yield f"{group}.{key}", part.take(taken)
    if (lengths >= 0).sum() > stated.sum():
        yield name, _left(lists, lengths, place)


def _left(lists: pa.ListArray, lengths: Any, place: Any) -> pa.Array:
    """Return the lists as JSON text that do not stand in columns."""
    several = np.flatnonzero((lengths > 0) & (place < 0))
    said = lists.take(pa.array(several)).to_pylist()
    texts = [_json([{key: each for key, each in item.items() if each is not None} for item in items]) for items in said]
    at = np.where(lengths == 0, 0, -1)
    at[several] = np.arange(len(texts)) + 1
    return pa.array(["[]", *texts], _TEXT).take(pa.array(at, mask=at < 0))


def _offsets(lists: pa.ListArray) -> Any:
    """Return where each list begins among the items of all."""
    lengths = pc.fill_null(pc.list_value_length(lists), 0).to_numpy()
    return np.cumsum(lengths) - lengths


def _json(said: Any) -> str:
    return json.dumps(said, sort_keys=True, ensure_ascii=False)
