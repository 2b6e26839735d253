"""Measured injuries at scale: a batch must equal the single decision on every row (not part of the test command).

    python -m tests.batch.measured_scale [--rows 200000]

The tickets are invented, drawn by a seed: offsets, tilts, thicknesses and tread widths that no two rows share.
"""

from __future__ import annotations

import argparse
import sys
import time
from random import Random
from typing import Any

import pyarrow as pa

import tirerules
from tirerules import Decision
from tirerules.batch import Decider
from tirerules.batch.tickets import case_of
from tirerules.engine.parts import Outcome

COMPARED = ("verdict", "method", "size_rule", "tread_rule", "failing_rule", "failing_fact")


def tickets(count: int, seed: int) -> list[dict[str, Any]]:
    """Draw invented tickets of tires whose injuries were measured."""
    draw = Random(seed)
    return [_ticket(draw) for _ in range(count)]


def _ticket(draw: Random) -> dict[str, Any]:
    said = {
        "jurisdictions": draw.choice(("US-SC", "US-NY", "US-OH", "CA-QC")),
        "activity": "repair",
        "on": "2026-11-25",
        "tire.class": draw.choice(("passenger", "passenger", "light-truck", "medium-truck", "motorcycle")),
        "tire.size": draw.choice(("225/45R17", "205/55R16 91V", "P235/75R15", "31x10.50R15LT")),
        "tire.tread_width": f"{draw.randint(1500, 2200) / 10} mm",
        "tire.thickness": f"{draw.randint(80, 180) / 10} mm",
        "tire.tread_depth": f"{draw.randint(1, 12)}/32 in",
        "tire.sealant_layer": draw.choice(("no", "yes")),
        "tire.run_flat": "no",
        "tire.retread": "no",
        "tire.regrooved": "no",
        "vehicle.use": "private",
        "vehicle.kind": "passenger-car",
        "axle.steer": "no",
        "shop.full_service": "no",
        "injury.kind": "puncture",
        "injury.diameter": f"{draw.randint(20, 90) / 10} mm",
        "injury.angle": f"{draw.randint(0, 400) / 10} deg",
        "injury.leans": draw.choice(("toward-shoulder", "toward-center", "along-circumference", None)),
        "injury.from_centerline": f"{draw.randint(0, 1000) / 10} mm",
        "findings": "none",
        "earlier_repairs": "none",
    }
    if draw.random() < 0.05:
        said[draw.choice(("tire.thickness", "injury.angle", "injury.diameter", "tire.size"))] = None
    if draw.random() < 0.05:
        said["injury.surface_diameter"] = f"{draw.randint(20, 120) / 10} mm"
    return said


def of_decision(decision: Decision) -> tuple[str | None, ...]:
    """Return what a batch tells of a decision, from the decision's own parts."""
    best = (each.reasons for each in decision.methods if each.method == decision.limits_method)
    failing = (each for found in (decision.reasons, *best) for each in found if each.outcome is Outcome.FAILS)
    reason = None if decision.verdict == "within-limits" else next(failing, None)
    size, tread = (decision.limits.get(fact) for fact in ("injury.diameter", "tire.tread_depth"))
    return (
        str(decision.verdict),
        decision.limits_method,
        (size and ",".join(size.binding)) or None,
        (tread and ",".join(tread.binding)) or None,
        reason and reason.rule,
        reason and reason.fact,
    )


def main() -> int:
    """Decide the tickets both ways; return 1 where they differ."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=200_000)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    said = tickets(options.rows, options.seed)
    names = list(dict.fromkeys(name for row in said for name in row))
    table = pa.table({name: pa.array([row.get(name) for row in said], pa.string()) for name in names})
    rulebook = tirerules.load()
    started = time.perf_counter()
    answered = Decider(rulebook).decide(table)
    seconds = time.perf_counter() - started
    rows = {row["row"]: tuple(row[name] for name in COMPARED) for row in answered.answers.to_pylist()}
    aside = set(answered.set_aside["row"].to_pylist())
    assert len(rows) + len(aside) == options.rows
    other = tirerules.load()
    verdicts: dict[str, int] = {}
    differing = 0
    for number, row in enumerate(said):
        try:
            alone = of_decision(other.decide(case_of(row)))
        except tirerules.TirerulesError:
            differing += number not in aside
            continue
        verdicts[str(alone[0])] = verdicts.get(str(alone[0]), 0) + 1
        differing += rows.get(number) != alone
    print(f"{options.rows} rows in {seconds:.1f} s, {len(aside)} set aside, {verdicts}, {differing} differ")
    return 1 if differing else 0


if __name__ == "__main__":
    sys.exit(main())
