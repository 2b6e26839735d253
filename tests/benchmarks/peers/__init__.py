"""General-purpose engines that answer the same question by the same rules, one module each.

Each is used as its makers mean it to be used for speed, and is given less to do than the library: whole numbers, one
word for each fact, everything known, and the verdict alone as its answer. A module defines `prepare`, which takes the
exported rules and returns a `RowPeer` or a `ColumnPeer`; and, where a few lines can say it, `text`, a program in
the engine's own language, and `cold`, the source of a whole process that decides one ticket by such a text.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from importlib import import_module, metadata
from types import MappingProxyType
from typing import Final

from tests.benchmarks.peers.protocol import Peer, Rules

__all__ = ["MODULES", "installed", "prepare"]

#: Module -> the package that it needs, by its name in `peers.txt`.
MODULES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "zen": "zen-engine",
        "cel_cpp": "cel-expr-python",
        "cel_rust": "common-expression-language",
        "cedar": "cedarpy",
        "numpy_arrays": "numpy",
        "polars_frames": "polars",
        "duckdb_sql": "duckdb",
        "openfisca": "OpenFisca-Core",
    }
)


def installed() -> Iterator[tuple[str, str]]:
    """Yield the module of each peer whose package is installed, and the package's name with its version."""
    for module, package in MODULES.items():
        try:
            yield module, f"{package} {metadata.version(package)}"
        except metadata.PackageNotFoundError:
            continue


def prepare(module: str, rules: Rules) -> Peer:
    """Return a peer with its rules."""
    peer: Peer = import_module(f"tests.benchmarks.peers.{module}").prepare(rules)
    return peer
