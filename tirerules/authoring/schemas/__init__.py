"""The JSON Schemas (2020-12), written out from the vocabulary so that the two cannot drift apart.

`python -m tirerules.authoring.schemas` rewrites the files in `schemas/`; a test compares them. Quantities stay text
with a pattern: their ranges are checked in exact arithmetic by the library, not by a schema checker's floats.
"""

from __future__ import annotations

import json
from pathlib import Path

from tirerules.authoring.schemas.case import case_schema
from tirerules.authoring.schemas.decision import brief_schema, decision_schema
from tirerules.authoring.schemas.parts import Json
from tirerules.authoring.schemas.rulepack import rulepack_schema
from tirerules.authoring.schemas.vectors import vectors_schema

__all__ = ["build", "write"]


def build() -> dict[str, Json]:
    """Every schema by file name."""
    return {
        "rulepack.schema.json": rulepack_schema(),
        "case.schema.json": case_schema(),
        "decision.schema.json": decision_schema(),
        "brief.schema.json": brief_schema(),
        "vectors.schema.json": vectors_schema(),
    }


def write(folder: str = "schemas") -> None:
    """Write every schema into `folder`."""
    for name, schema in build().items():
        Path(folder, name).write_text(json.dumps(schema, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
