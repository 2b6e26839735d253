"""cedarpy: one parsed policy for each place and activity, the ticket as the request's context."""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import Final

import cedarpy

from tests.benchmarks.exported import Program
from tests.benchmarks.flat import Flat, Row, name
from tests.benchmarks.peers.infix import Infix
from tests.benchmarks.peers.protocol import RowPeer, Rules, narrowed

__all__ = ["cold", "prepare", "text"]

_WHO: Final = {"principal": 'Shop::"invented"', "action": 'Action::"decide"', "resource": 'Ticket::"invented"'}


class _Language(Infix):
    def fact(self, fact: str) -> str:
        return f"context.{name(fact)}"

    def one_of(self, fact: str, words: Collection[str]) -> str:
        return f"{self.listed(words)}.contains({self.fact(fact)})"

    def any_found(self, words: Collection[str]) -> str:
        return f"context.findings.containsAny({self.listed(words)})"


def text(wanted: Program) -> str:
    """Return a program in the engine's own language."""
    return f"permit(principal, action, resource) when {{ {_Language().program(wanted)} }};"


class _Cedar(RowPeer):
    def __init__(self, rules: Rules) -> None:
        super().__init__(rules)
        self._nobody = cedarpy.Entities.from_json_str("[]")

    def compile(self, wanted: Program) -> Callable[[Row], bool]:
        policies, needed = cedarpy.PolicySet.from_str(text(wanted)), narrowed(wanted)
        return lambda ticket: bool(
            cedarpy.is_authorized({**_WHO, "context": needed(ticket)}, policies, self._nobody).allowed
        )


def prepare(rules: Rules) -> RowPeer:
    """Return the engine with its rules."""
    return _Cedar(rules)


def cold(wanted: Program, tickets: Flat, rules: str) -> str:
    """Return the source of a process that decides the first ticket and prints whether it is within the limits.

    `rules` is the source of what yields the text of `wanted`.
    """
    request = {**_WHO, "context": narrowed(wanted)(tickets.rows[0])}
    return f"import cedarpy\nprint(cedarpy.is_authorized({request!r}, {rules}, []).allowed)"
