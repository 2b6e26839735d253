"""Deciding, tested through rulebooks of invented packs and of the built-in ones.

`world` makes a rulebook in which every rule is invented, so that a change of the built-in packs changes nothing here;
`trade` is the built-in baseline alone; `everywhere` is the whole rulebook that ships.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache
from typing import Any

import tirerules
from tests.support import invented_pack, repair_case
from tirerules import Decision, Rulebook
from tirerules.engine.parts import Reason
from tirerules.packs.pack import Pack
from tirerules.vocabulary import ACTIVITIES

#: One invented rule that limits an injury's size whatever the tire is, so that no gap hides what a test is about.
SIZE = """
- id: size
  says: An invented ceiling on size.
  activity: [repair]
  limit: {fact: injury.diameter, at-most: 50 mm}
  source: text
"""

#: The same of earlier repairs, whose size must be limited too.
EARLIER_SIZE = SIZE.replace("- id: size", "- id: earlier-size").replace("injury.diameter", "repair.diameter")


def rule(name: str, body: str, *, when: str = "", activity: str = "repair", more: str = "") -> str:
    """Return one invented rule as YAML; `body` is such as ``limit: {fact: injury.angle, at-most: 5 deg}``."""
    lines = [f"- id: {name}", f"  says: The invented rule {name}.", f"  activity: [{activity}]"]
    lines += [f"  when: {when}"] if when else []
    return "\n".join([*lines, f"  {body}", *([f"  {more}"] if more else []), "  source: text"]) + "\n"


def pack(rules: str = "", name: str = "invented-shop", kind: str = "company", **head: Any) -> Pack:
    """Return an invented pack. For every activity that its rules do not name, none were located."""
    named = {word for said in re.findall(r"activity: \[(.*)\]", rules) for word in said.split(", ")}
    covered = ACTIVITIES if kind in ("country", "jurisdiction") or not named else sorted(named)
    coverage = ", ".join(f"{each}: {'rules' if each in named else 'none-located'}" for each in covered)
    head.setdefault("coverage", f"{{{coverage}}}")
    head.setdefault("authority", {"company": "company", "baseline": "industry-practice"}.get(kind, "statute"))
    return invented_pack(rules, pack=name, kind=kind, **head)


def country(code: str = "US", rules: str = "", **head: Any) -> Pack:
    """Return an invented country's pack; it must bear a real code, and its title says that it is invented."""
    return pack(rules, code, "country", **head)


def world(rules: str = "", *more: Pack) -> Rulebook:
    """Return a rulebook of an invented baseline with `rules`, an invented country US without any, and `more` packs."""
    held = {each.id for each in more}
    base = [pack(rules, "invented-trade", "baseline"), country()]
    return Rulebook([*(each for each in base if each.id not in held), *more])


@cache
def everywhere() -> Rulebook:
    """Return the rulebook of all built-in packs."""
    return tirerules.load()


@cache
def trade() -> Rulebook:
    """Return a rulebook of the built-in baseline and an invented country US that adds nothing."""
    return Rulebook([everywhere().packs["industry"], country()])


def us_case(**changes: Any) -> dict[str, Any]:
    """Return `repair_case` in the country US alone, which is what `world` and `trade` can speak for."""
    return repair_case(**{"jurisdictions": ["US"], **changes})


def with_packs(rulebook: Rulebook, *more: Pack) -> Rulebook:
    """Return a rulebook of the same packs and `more`."""
    return Rulebook([*rulebook.packs.values(), *more])


def all_reasons(decision: Decision) -> list[Reason]:
    """Return every reason of a decision, those of its methods included."""
    return [*decision.reasons, *(reason for each in decision.methods for reason in each.reasons)]


def outcomes(decision: Decision, rule_name: str) -> set[str]:
    """Return what a rule says of a case, over all injuries and methods; empty where it does not apply."""
    return {str(reason.outcome) for reason in all_reasons(decision) if reason.rule == rule_name}


def failing(decision: Decision) -> set[str]:
    """Return the names of all rules that fail."""
    return {reason.rule for reason in all_reasons(decision) if reason.outcome == "fails"}


def by_method(decision: Decision, injury: int = 1) -> dict[str, str]:
    """Return the verdict of each method for one injury."""
    return {each.method: str(each.verdict) for each in decision.methods if each.injury == injury}


def asked(decision: Decision) -> list[str]:
    """Return the facts that a decision asks for, in its order."""
    return [question.fact for question in decision.questions]


def notices(decision: Decision, kind: str) -> list[str]:
    """Return the texts of a decision's notices of one kind."""
    return [notice.text for notice in decision.notices if notice.kind == kind]


def rungs(decision: Decision, fact: str) -> list[str]:
    """Return the names of the rules in the ladder of a fact, strictest first."""
    found: Iterable[Any] = decision.limits[fact].ladder if fact in decision.limits else ()
    return [rung.rule.name for rung in found]
