"""cel-expr-python (C++): one checked and compiled expression for each place and activity."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable

from cel_expr_python import cel

from tests.benchmarks.exported import Clause, Program, facts_of, numeric
from tests.benchmarks.flat import Flat, Row, name
from tests.benchmarks.peers.infix import Infix
from tests.benchmarks.peers.protocol import RowPeer, Rules, narrowed

__all__ = ["cold", "prepare", "text"]


class _Language(Infix):
    def any_found(self, words: Collection[str]) -> str:
        return f"findings.exists(each, each in {self.listed(words)})"


def _types(clauses: Iterable[Clause]) -> dict[str, str]:
    types = {name(fact): "INT" if numeric(fact) else "STRING" for fact in facts_of(clauses)}
    return {**types, "findings": "LIST", "on": "INT"}


class _Cel(RowPeer):
    def __init__(self, rules: Rules) -> None:
        super().__init__(rules)
        types = _types(rules.clauses)
        self._environment = cel.NewEnv(variables={name: getattr(cel.Type, kind) for name, kind in types.items()})

    def compile(self, wanted: Program) -> Callable[[Row], bool]:
        evaluate, needed = self._environment.compile(text(wanted)).eval, narrowed(wanted)
        return lambda ticket: bool(evaluate(data=needed(ticket)).value())


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
    types, ticket = _types(wanted.clauses), narrowed(wanted)(tickets.rows[0])
    return f"""from cel_expr_python import cel
environment = cel.NewEnv(variables={{name: getattr(cel.Type, kind) for name, kind in {types!r}.items()}})
print(environment.compile({rules}).eval(data={ticket!r}).value())"""
