"""common-expression-language (Rust): one compiled expression for each place and activity."""

from __future__ import annotations

from collections.abc import Callable, Collection

import cel

from tests.benchmarks.exported import Program
from tests.benchmarks.flat import Flat, Row
from tests.benchmarks.peers.infix import Infix
from tests.benchmarks.peers.protocol import RowPeer, Rules

__all__ = ["cold", "prepare", "text"]


class _Language(Infix):
    def any_found(self, words: Collection[str]) -> str:
        return f"findings.exists(each, each in {self.listed(words)})"


class _Cel(RowPeer):
    def compile(self, wanted: Program) -> Callable[[Row], bool]:
        execute = cel.compile(text(wanted)).execute

        def decide(ticket: Row) -> bool:
            # Looking facts up when they are read is quicker than converting all of them beforehand.
            context = cel.Context()
            context.set_variable_resolver(ticket.__getitem__)
            return bool(execute(context))

        return decide


def prepare(rules: Rules) -> RowPeer:
    """Return the engine with its rules."""
    return _Cel(rules)


def text(wanted: Program) -> str:
    """Return a program in the engine's own language."""
    return _Language().program(wanted)


def cold(wanted: Program, tickets: Flat, rules: str) -> str:
    """Return the source of a process that decides the first ticket and prints whether it is within the limits.

    `rules` is the source of what yields the text of `wanted`.
    """
    return f"""import cel
context = cel.Context()
context.set_variable_resolver({tickets.rows[0]!r}.__getitem__)
print(cel.compile({rules}).execute(context))"""
