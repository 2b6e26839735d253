"""zen-engine: one compiled expression for each place and activity."""

from __future__ import annotations

from collections.abc import Callable, Collection

import zen

from tests.benchmarks.exported import Program
from tests.benchmarks.flat import Flat, Row
from tests.benchmarks.peers.infix import Infix
from tests.benchmarks.peers.protocol import RowPeer, Rules

__all__ = ["cold", "prepare", "text"]


class _Language(Infix):
    conjunction = "and"
    disjunction = "or"

    def inverse(self, text: str) -> str:
        return f"not ({text})"

    def any_found(self, words: Collection[str]) -> str:
        return f"some(findings, # in {self.listed(words)})"


class _Zen(RowPeer):
    def compile(self, wanted: Program) -> Callable[[Row], bool]:
        evaluate: Callable[..., bool] = zen.compile_expression(text(wanted)).evaluate
        return evaluate


def prepare(rules: Rules) -> RowPeer:
    """Return the engine with its rules."""
    return _Zen(rules)


def text(wanted: Program) -> str:
    """Return a program in the engine's own language."""
    return _Language().program(wanted)


def cold(wanted: Program, tickets: Flat, rules: str) -> str:
    """Return the source of a process that decides the first ticket and prints whether it is within the limits.

    `rules` is the source of what yields the text of `wanted`.
    """
    return f"import zen\nprint(zen.compile_expression({rules}).evaluate({tickets.rows[0]!r}))"
