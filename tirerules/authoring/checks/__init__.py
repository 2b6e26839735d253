"""What rules mean beyond their form: one module a check, each with its codes and a bad and a good example.

To add a check, write a module that gives a `CHECK` and add it to `CHECKS`; a test holds that list to the folder and
runs the examples of every docstring. Modules whose names start with an underscore are no checks.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from tirerules.authoring.checks import (
    _reading,
    citation_section,
    dual_figures,
    example_differs,
    example_missing,
    laxer_than_baseline,
    never_applies,
    never_binds,
    never_fails,
    old_evidence,
    unused_source,
    versions,
)
from tirerules.authoring.checks._subject import Age, Check, Code, Subject
from tirerules.errors import Problem

__all__ = ["CHECKS", "CODES", "SURVIVES", "Age", "Check", "Code", "Subject", "findings"]

CHECKS: Final[tuple[Check, ...]] = (
    citation_section.CHECK,
    dual_figures.CHECK,
    example_differs.CHECK,
    example_missing.CHECK,
    laxer_than_baseline.CHECK,
    never_applies.CHECK,
    never_binds.CHECK,
    never_fails.CHECK,
    old_evidence.CHECK,
    unused_source.CHECK,
    versions.CHECK,
)

#: What mutation tells (`tirerules.authoring.mutation`), which looks at rules and examples together.
SURVIVES: Final = Code("mutant-survives", "warning", "no example notices a change of a rule (--mutate)")

#: Every code that `tirerules check` can give, by name; names are stable: add, never rename.
CODES: Final[tuple[Code, ...]] = tuple(
    sorted((*_reading.CODES, SURVIVES, *(code for check in CHECKS for code in check.codes)), key=lambda code: code.name)
)


def findings(subject: Subject) -> Iterator[Problem]:
    """Yield what every check finds in one pack."""
    for check in CHECKS:
        yield from check.find(subject)
