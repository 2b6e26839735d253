"""What `tirerules.packs.store` keeps of packs, made and read back; everything that takes long to import is here.

``python -m tirerules.packs.compiling [FOLDER]`` makes the compiled packs of a checkout, where `tirerules.packs.shipped`
looks for them and git does not. It is to be run again after a change of packs or code; until then what has changed is
compiled when a question needs it.
"""

from __future__ import annotations

import json
import os
import sys
from decimal import Decimal
from typing import Any

from tirerules import data
from tirerules._version import __version__
from tirerules.packs.compiled import to_plain
from tirerules.packs.files import content, digest, files_in
from tirerules.packs.heads import read_head
from tirerules.packs.library import read_whole
from tirerules.packs.shipped import FOLDER, FORMAT, INDEX, state_of_code

__all__ = ["compile_shipped", "compiled"]


def compiled(held: bytes, file: str) -> list[str]:
    """Return the head, the rules and the rest of a pack, each a line of JSON (`tirerules.packs.compiled`).

    Raises PackError, and ForeignPackError for a pack that asks for another version of the library.
    """
    return [_text(part) for part in to_plain(read_whole(held, file)[1])]


def _text(value: Any) -> str:
    """Return plain data as JSON; a Decimal is written as it is, which the `json` module cannot do."""
    if isinstance(value, dict):
        return "{" + ",".join(f"{json.dumps(key)}:{_text(each)}" for key, each in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ",".join(map(_text, value)) + "]"
    return str(value) if isinstance(value, Decimal) else json.dumps(value)  # -0.0 and 1.50 stay as printed


def compile_shipped(folder: str) -> list[str]:
    """Compile every pack that ships into `folder`, as `tirerules.packs.shipped` reads it; return the files of it.

    What else lies there is deleted. Each file appears in one step and the index last, so that a process that reads
    meanwhile finds entries or none. Raises PackError, MissingDataError, OSError.
    """
    packs = data.place("rulepacks")
    if packs is None:
        packs = str(data.folder("rulepacks"))  # raises
    index: dict[str, Any] = {}
    os.makedirs(folder, exist_ok=True)
    written = []
    for file in map(str, files_in(packs)):
        held = content(file)
        lines = compiled(held, file)
        entry = "\n".join(lines).encode("ascii")
        written.append(_write(os.path.join(folder, f"{digest(held)}.jsonl"), entry))
        name = os.path.relpath(file, packs).replace(os.sep, "/")
        index[name] = [len(held), read_head(held, file), len(entry)]
    made = [FORMAT, __version__, state_of_code()]
    written.append(_write(os.path.join(folder, INDEX), json.dumps([made, index]).encode("ascii")))
    for left in {*os.listdir(folder)} - {os.path.basename(file) for file in written}:
        os.remove(os.path.join(folder, left))
    return written


def _write(file: str, held: bytes) -> str:
    unfinished = f"{file}.{os.getpid()}"
    with open(unfinished, "wb") as stream:
        stream.write(held)
    os.replace(unfinished, file)
    return file


def _main(folder: str = data.inside(FOLDER)) -> None:
    made = compile_shipped(folder)
    print(f"{folder}: {len(made) - 1} packs compiled")


if __name__ == "__main__":
    _main(*sys.argv[1:])
