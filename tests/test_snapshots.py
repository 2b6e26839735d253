"""What every built-in example decides, kept readable in `tests/snapshots/`, so that a change shows what it changes.

A pack's file holds, for each of its examples, the verdict, the methods, the rules that fail or are unknown, the
questions, and which rules set the strictest limits. To accept what a change of packs or code has changed, run

    TIRERULES_WRITE_SNAPSHOTS=1 python -m pytest tests/test_snapshots.py

and read the difference of `tests/snapshots/` line by line before it is committed.
"""

from __future__ import annotations

import difflib
import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from tests.engine import all_reasons, asked, everywhere
from tirerules import Decision
from tirerules.engine.parts import FactLimits
from tirerules.packs.pack import Pack

FOLDER = Path(__file__).parent / "snapshots"
VARIABLE = "TIRERULES_WRITE_SNAPSHOTS"
ACCEPT = f"If that is meant, accept it: {VARIABLE}=1 python -m pytest tests/test_snapshots.py"


def decided(pack: Pack, case: Mapping[str, Any]) -> Decision:
    """Decide an example as `tirerules check` does: on the day of the review, in the pack's own place."""
    said = {"on": pack.reviewed.isoformat(), **case}
    if pack.kind != "baseline":
        said.setdefault("jurisdictions", [pack.id])
    return everywhere().decide(said)


def binds(limits: FactLimits) -> str:
    """Return the strictest limit on a fact in one line, with the rules that set it."""
    figures = {
        "at most": limits.at_most,
        "less than": limits.less_than,
        "at least": limits.at_least,
        "more than": limits.more_than,
    }
    said = [f"{relation} {figure}" for relation, figure in figures.items() if figure is not None]
    if limits.permitted is not None:
        said.append(f"one of {', '.join(limits.permitted) or 'nothing'}")
    if limits.prohibited and limits.fact != "findings":
        said.append(f"none of {', '.join(limits.prohibited)}")
    return f"{'; '.join(said)} [{', '.join(limits.binding)}]".lstrip()


def summary(decision: Decision) -> dict[str, Any]:
    """Return what a reviewer must see of a decision; what is empty is left out."""
    several = len({each.injury for each in decision.methods}) > 1
    said = {
        "verdict": str(decision.verdict),
        "methods": {
            f"injury {each.injury}, {each.method}" if several else each.method: str(each.verdict)
            for each in decision.methods
        },
        **{
            outcome: sorted({each.rule for each in all_reasons(decision) if each.outcome == outcome})
            for outcome in ("fails", "unknown")
        },
        "asks": asked(decision),
        "binds": {fact: binds(limits) for fact, limits in decision.limits.items() if limits.binding},
    }
    return {key: value for key, value in said.items() if value}


def one_line(said: Any) -> str:
    return json.dumps(said, ensure_ascii=False)


def in_order(value: Any) -> Any:
    """Return a case with its keys by the alphabet, so that it does not matter whether a fact is given or written."""
    if isinstance(value, list):
        return [in_order(each) for each in value]
    return {key: in_order(value[key]) for key in sorted(value)} if isinstance(value, Mapping) else value


def block(said: Mapping[str, Any]) -> str:
    """Return one example with one thing a line, and each limit on a line of its own."""
    lines = []
    for key, value in said.items():
        if key == "binds":
            limits = ",\n".join(f"    {one_line(fact)}: {one_line(limit)}" for fact, limit in value.items())
            lines.append(f'   "binds": {{\n{limits}\n   }}')
        else:
            lines.append(f"   {one_line(key)}: {one_line(value)}")
    return "  {\n" + ",\n".join(lines) + "\n  }"


def snapshot(pack: Pack) -> str:
    """Return the text of a pack's snapshot, which is JSON."""
    said = [{"case": in_order(each.case), **summary(decided(pack, each.case))} for each in pack.examples]
    examples = "[\n" + ",\n".join(map(block, said)) + "\n ]" if said else "[]"
    return f'{{\n "pack": "{pack.id}",\n "version": "{pack.version}",\n "examples": {examples}\n}}\n'


PACKS = sorted(everywhere().packs)


@pytest.mark.parametrize("name", PACKS)
def test_what_a_packs_examples_decide_has_not_changed(name):
    file = FOLDER / f"{name}.json"
    now = snapshot(everywhere().packs[name])
    assert json.loads(now)["pack"] == name
    if os.environ.get(VARIABLE):
        FOLDER.mkdir(exist_ok=True)
        file.write_text(now, encoding="utf-8")
    if not file.is_file():
        pytest.fail(f"there is no snapshot of {name} yet. {ACCEPT}", pytrace=False)
    kept = file.read_text(encoding="utf-8")
    if kept != now:
        changed = difflib.unified_diff(kept.splitlines(), now.splitlines(), "kept", "now", lineterm="", n=8)
        pytest.fail("\n".join([f"what {file.name} holds has changed:", *changed, ACCEPT]), pytrace=False)


def test_every_snapshot_belongs_to_a_pack():
    if os.environ.get(VARIABLE):
        for file in FOLDER.glob("*.json"):
            if file.stem not in PACKS:
                file.unlink()
    assert sorted(file.stem for file in FOLDER.glob("*.json")) == PACKS
