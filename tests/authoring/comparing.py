"""Small builders for tests of comparing: rules as plain data, packs with edits of their text. All data is invented."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from typing import Any

from tests.support import invented_pack
from tirerules.authoring.comparing.change import Change, Effect
from tirerules.authoring.comparing.meaning import limit_changes
from tirerules.authoring.comparing.sources import Held, hold
from tirerules.packs.pack import Pack

Rules = list[dict[str, Any]]


def pack_of(rules: Sequence[dict[str, Any]], **head: Any) -> Pack:
    """Return an invented company's pack of `rules`, read as the library reads it."""
    named = sorted({activity for each in rules for activity in each["activity"]}) or ["repair"]
    head.setdefault("coverage", json.dumps(dict.fromkeys(named, "rules" if rules else "none-located")))
    return invented_pack("\n".join(f"- {json.dumps(each)}" for each in rules), **head)


def one(body: dict[str, Any], name: str = "limit", **more: Any) -> dict[str, Any]:
    """Return one rule on earlier repairs, under `used-tire-installation` unless `more` says otherwise."""
    said = {"id": name, "says": f"Invented rule {name}.", "activity": ["used-tire-installation"], "source": "text"}
    return {**said, **body, **more}


def at_most(figure: Any, fact: str = "repair.diameter") -> dict[str, Any]:
    return {"limit": {"fact": fact, "at-most": figure}}


def changes_of(old: Sequence[dict[str, Any]], new: Sequence[dict[str, Any]], **head: Any) -> tuple[Change, ...]:
    return limit_changes(pack_of(old, **head).rules, pack_of(new, **head).rules)


def said_of(old: Sequence[dict[str, Any]], new: Sequence[dict[str, Any]], **head: Any) -> list[str]:
    return [str(change) for change in changes_of(old, new, **head)]


def effects(changes: Iterable[Change]) -> set[Effect]:
    return {change.effect for change in changes} - {Effect.NONE}


def limit(fact: str, relation: str, figure: Any, **more: Any) -> dict[str, Any]:
    return {"limit": {"fact": fact, relation: figure, **more}}


BASE = """\
format: 1
pack: US-SC
version: 1.0.0
engine: ">=1,<2"
kind: jurisdiction
title: Invented State
reviewed: 2026-11-25
coverage: {used-tire-installation: rules, road-use: none-located}
notes:
  - An invented note.
sources:
  code-1:
    citation: Invented Code § 1
    url: "https://law.example/1"
    authority: statute
    evidence: secondary
    read: 2026-01-01
  code-2: {citation: Invented Code § 2, authority: statute, evidence: memory}
rules:
  - id: size
    says: An invented limit.
    activity: [used-tire-installation]
    when: {tire.class: [passenger, bus]}
    limit: {fact: repair.diameter, at-most: 1/4 in}
    source: code-1
    in-force: {from: 2020-01-01}
    note: An invented doubt.
  - id: zone
    says: An invented place.
    activity: [used-tire-installation]
    prohibit: {fact: repair.zone, values: [bead]}
    source: code-2
not-law:
  - {title: Bill 1, outcome: died, would-have-set: An invented figure.}
examples:
  - case: {activity: used-tire-installation}
    expect: {verdict: undetermined}
"""


def edited(*edits: tuple[str, str], base: str = BASE) -> Held:
    """Return the invented pack with some of its text replaced."""
    for old, new in edits:
        assert old in base
        base = base.replace(old, new)
    (held,) = hold([("rulepacks/US-SC.yaml", base.encode())])
    return held
