"""OpenFisca-Core: tickets as its entity, facts as input variables, the verdict as one vectorised formula.

Its whole numbers have 32 bits, so each figure stands as its place among the figures of the rules, which loses nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import cache
from typing import Any, Final

import numpy as np
from openfisca_core.entities import build_entity
from openfisca_core.periods import DateUnit
from openfisca_core.simulations import SimulationBuilder
from openfisca_core.taxbenefitsystems import TaxBenefitSystem
from openfisca_core.variables import Variable

from tests.benchmarks.exported import Clause, Test, facts_of, numeric, scaled, whole
from tests.benchmarks.flat import Flat, name
from tests.benchmarks.peers.numpy_arrays import holds, satisfied
from tests.benchmarks.peers.protocol import ColumnPeer, Rules, Verdicts

__all__ = ["prepare"]

_PERIOD: Final = "2026"
Column = np.ndarray[Any, Any]


class _Figures:
    """The places of figures among those that the rules compare a fact with: odd at a figure, even between two."""

    def __init__(self, clauses: Sequence[Clause]) -> None:
        tests = [test for clause in clauses for test in (*clause.when, clause.then) if test and numeric(test.fact)]
        self._known: dict[str, Column] = {}
        for fact in {test.fact for test in tests}:
            bounds = [each for test in tests if test.fact == fact for each in (test.bound.ceiling, test.bound.floor)]
            self._known[fact] = np.array(sorted({scaled(bound.value, fact) for bound in bounds if bound}))

    def of_column(self, fact: str, column: Column) -> Column:
        if fact not in self._known:
            return column
        known = self._known[fact]
        return np.searchsorted(known, column) + np.searchsorted(known, column, "right")

    def of_bound(self, value: Fraction, fact: str) -> int:
        return int(self.of_column(fact, np.array([scaled(value, fact)]))[0])


class _OpenFisca(ColumnPeer):
    def __init__(self, rules: Rules) -> None:
        ticket = build_entity("ticket", "tickets", "An invented ticket", is_person=True)
        wanted = whole(rules.clauses)
        self._figures = _Figures(wanted.clauses)
        self._facts = ("on", *facts_of(wanted.clauses))
        self._system = TaxBenefitSystem([ticket])
        once = {"value_type": int, "entity": ticket, "definition_period": DateUnit.ETERNITY}
        for fact in self._facts:
            self._system.add_variable(type(name(fact), (Variable,), once))

        def formula(tickets: Any, period: Any) -> Verdicts:
            @cache
            def holding(test: Test) -> Verdicts:
                return holds(test, tickets(name(test.fact), period), self._figures.of_bound)

            def every(clauses: Sequence[Clause]) -> Any:
                on = tickets("on", period)
                return np.logical_and.reduce([satisfied(clause, holding, on) for clause in clauses])

            within: Verdicts = every(wanted.common) & np.logical_or.reduce([every(each) for each in wanted.methods])
            return within

        verdict = {**once, "value_type": bool, "definition_period": DateUnit.YEAR, "formula": formula}
        self._system.add_variable(type("within", (Variable,), verdict))

    def load(self, tickets: Flat) -> dict[str, Column]:
        return {fact: self._figures.of_column(fact, tickets.columns[name(fact)]) for fact in self._facts}

    def decide_loaded(self, loaded: dict[str, Column]) -> Verdicts:
        simulation = SimulationBuilder().build_default_simulation(self._system, len(loaded["on"]))
        for fact, column in loaded.items():
            simulation.set_input(name(fact), _PERIOD, column)
        verdicts: Verdicts = simulation.calculate("within", _PERIOD)
        return verdicts


def prepare(rules: Rules) -> ColumnPeer:
    """Return the engine with its rules."""
    return _OpenFisca(rules)
