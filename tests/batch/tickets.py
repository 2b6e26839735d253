"""Invented tickets as rows of flat columns, and a place XA-01 whose invented law was tightened between two versions."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

import pyarrow as pa
import yaml

import tirerules
from tests.engine import country, pack, rule
from tests.reference.generate import invented_case, targets
from tests.support import pack_text
from tirerules import Rulebook
from tirerules.packs.building import read_pack

ROOT = Path(__file__).parents[2]
PACKS = ("industry", "US/US", "US/US-SC", "US/US-NJ", "US/US-GA", "CA/CA", "CA/CA-ON")
ONE = {"injuries": "injury", "earlier_repairs": "repair"}

#: A plain passenger tire with 5 mm in the crown, in flat columns.
PLAIN: dict[str, Any] = {
    "jurisdictions": "US-SC",
    "activity": "repair",
    "on": "2026-11-25",
    "tire.class": "passenger",
    "tire.sealant_layer": "no",
    "tire.tread_depth": "6/32 in",
    "vehicle.kind": "passenger-car",
    "vehicle.use": "private",
    "injury.kind": "puncture",
    "injury.zone": "crown",
    "injury.diameter": "5 mm",
    "injury.angle": "20 deg",
    "findings": "none",
    "earlier_repairs": "none",
}


@cache
def few_places() -> Rulebook:
    """Return a rulebook of the baseline and a few places, which loads faster than all."""
    return Rulebook(tirerules.load().packs[Path(name).name] for name in PACKS)


@cache
def generated_cases(count: int, seed: int = 6) -> tuple[dict[str, Any], ...]:
    """Return cases that sit on the figures of the rules, in their JSON form."""
    rng = Random(seed)
    packs = [yaml.safe_load((ROOT / "rulepacks" / f"{name}.yaml").read_bytes()) for name in PACKS]
    return tuple(invented_case(rng, target) for target in targets(rng, packs, count))


def row_of(case: dict[str, Any], rng: Random) -> dict[str, Any]:
    """Return a case as a row of flat columns; a list of one stands in columns or as JSON text, as `rng` has it."""
    row: dict[str, Any] = {}
    for key, value in case.items():
        group = ONE.get(key)
        if value is None:
            continue
        if isinstance(value, dict):
            row |= {f"{key}.{part}": each for part, each in value.items()}
        elif group and len(value) == 1 and any(v is not None for v in value[0].values()) and rng.random() < 0.7:
            row |= {f"{group}.{part}": each for part, each in value[0].items()}
        elif group:
            row[key] = json.dumps(value) if value or rng.random() < 0.5 else "none"
        elif key in ("jurisdictions", "findings"):
            row[key] = ",".join(value) or "none"
        else:
            row[key] = value
    return row


def table_of(rows: list[dict[str, Any]]) -> pa.Table:
    """Return rows as a table; what a row lacks is null."""
    names = dict.fromkeys(("jurisdictions", "activity", *(name for row in rows for name in row)))
    return pa.table({name: [row.get(name) for row in rows] for name in names})


def xa_pack(millimeters: int, version: str) -> str:
    """Return the text of the invented place's pack: an invented ceiling on the size of an injury."""
    body = rule("size", f"limit: {{fact: injury.diameter, at-most: {millimeters} mm}}")
    return pack_text(body, pack="XA-01", kind="jurisdiction", version=version, authority="statute")


def xa_book(millimeters: int, version: str) -> Rulebook:
    """Return a rulebook of a baseline with a ceiling of 12 mm, a country without any, and the place; all invented."""
    baseline = rule("size", "limit: {fact: injury.diameter, at-most: 12 mm}")
    place = read_pack(xa_pack(millimeters, version).encode(), "XA-01.yaml")
    return Rulebook([pack(baseline, "invented-trade", "baseline"), country(), place])
