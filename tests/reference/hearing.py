"""One rule against one view: whether it applies, what it says, and what could settle it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tests.reference.bodies import Demand, demand, limited_fact
from tests.reference.rules import Rule, Truth, applies, holds
from tests.reference.views import Need, View

__all__ = ["Heard", "hear"]


@dataclass(frozen=True)
class Heard:
    """What one rule, or the library itself where it has no `rule`, says of one subject.

    `outcome` is `passes`, `fails` or `unknown`; of what is unknown, any one of `needs` could settle it, and `first` is
    the one among them that the rule limits.
    """

    name: str
    fact: str | None
    subject: str
    outcome: str
    applies: Truth
    rule: Rule | None = None
    view: View | None = None
    demand: Demand | None = None
    needs: frozenset[Need] = frozenset()
    first: Need | None = None
    says: str = ""
    measured: str = ""


def hear(rule: Rule, view: View, case: dict[str, Any]) -> Heard | None:
    """What a rule says of a view; None where it surely does not apply.

    What only contradicts a finding that was not made says that one of the two is wrong, not which: so it never applies
    for certain, and never fails.
    """
    bound = applies(rule, view, case)
    if bound is False:
        return None
    if "contradicts" in rule:
        bound = None
    fact, found = limited_fact(rule), demand(rule, view, case)
    subject = view.subject([*rule["when"], *([fact] if fact else [])])
    outcome = "passes" if found.met is True else "fails" if bound is True and found.met is False else "unknown"
    needs: list[Need] = []
    first = None
    if outcome == "unknown":
        if found.met is None:
            needs = [need for each in found.lacks for need in view.needs(each)]
            first = needs[0] if needs else None
        for name in rule["when"]:
            if holds(rule, name, view.get(name), case) is None:
                needs += view.needs(name)
    measured = view.shown.get(fact, "unknown") if fact else ""
    return Heard(
        name=rule["name"],
        fact=fact,
        subject=subject,
        outcome=outcome,
        applies=bound,
        rule=rule,
        view=view,
        demand=found,
        needs=frozenset(needs),
        first=first,
        measured=measured,
    )
