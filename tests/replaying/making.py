"""Makes the records of a release: 300 cases as it decides them, and the packs that it decides them by.

    python -m tests.replaying.making

writes `records-VERSION.jsonl` and `packs-VERSION.zip` for the library at hand. It is run once for a release, on the
release itself, and never again. Most cases are drawn by their number; the rest are written out here. All tires are
invented.
"""

from __future__ import annotations

import json
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import tirerules
from tests.replaying.drawing import Case, drawn
from tests.support import ROOT
from tirerules import Rulebook

__all__ = ["CONTRADICTED", "COUNT", "cases"]

#: So many records, of which the last are those of `CONTRADICTED`.
COUNT: Final = 300
_HERE: Final = Path(__file__).parent

_KNOWN: Final = {
    "tire": {"class": "passenger", "construction": "radial", "sealant_layer": False, "tread_depth": "9/32 in"},
    "vehicle": {"kind": "passenger-car", "use": "private", "gvwr": "1900 kg"},
    "axle": {"steer": False},
    "injuries": [],
    "earlier_repairs": [],
    "findings": [],
    "on": "2026-11-25",
}


def _sold() -> Iterator[Case]:
    """Yield sales that are settled one way or the other, which few places let them be."""
    known = _KNOWN | {"tire": _KNOWN["tire"] | {"regrooved": False}}
    worn = known | {"tire": known["tire"] | {"tread_depth": "1/32 in"}}
    yield {**known, "jurisdictions": ["US-MI"], "activity": "tire-sale"}
    yield {**worn, "jurisdictions": ["US-MI"], "activity": "tire-sale"}
    yield {**known, "jurisdictions": ["US-CO"], "activity": "used-tire-sale"}
    yield {**worn, "jurisdictions": ["US-MI"], "activity": "used-tire-sale"}
    yield {**known, "jurisdictions": ["US-CO"], "activity": "vehicle-sale", "findings": ["bulge"]}


def _contradicted() -> dict[str, Case]:
    """Return cases that a later release may judge otherwise, by what they are about.

    Their facts contradict each other, or let another fact be worked out.
    """
    known = _KNOWN
    wide = known["tire"] | {
        "tread_width": "180 mm",
        "section_width": "225 mm",
        "thickness": "12 mm",
        "regrooved": False,
    }
    hole = {"kind": "puncture", "zone": "crown", "diameter": "4 mm", "angle": "0 deg", "leans": "along-circumference"}
    mended = {"zone": "crown", "diameter": "4 mm", "method": "one-piece"}
    repair = {**known, "tire": wide, "jurisdictions": ["US-SC"], "activity": "repair", "injuries": [hole]}
    drive = {**known, "tire": wide, "jurisdictions": ["US-SC"], "activity": "road-use"}
    worn = {**drive, "jurisdictions": ["US-NJ"], "tire": wide | {"tread_depth": "0.1 mm"}}
    truck = {
        "tire": wide | {"class": "light-truck", "load_range": "E"},
        "vehicle": {"kind": "light-truck", "gvwr": "3500 kg"},
    }
    return {
        "crown, measured beyond the tread": {**repair, "injuries": [hole | {"from_centerline": "120 mm"}]},
        "crown of a light truck, measured beyond the tread": {
            **repair,
            **truck,
            "injuries": [hole | {"from_centerline": "120 mm"}],
        },
        "belt edge, measured astride the tread's edge": {
            **repair,
            "injuries": [hole | {"zone": "belt-edge", "from_centerline": "89 mm"}],
        },
        "earlier repair in the crown, measured beyond the tread": {
            **drive,
            "activity": "used-tire-installation",
            "earlier_repairs": [mended | {"from_centerline": "120 mm"}],
        },
        "earlier repair in the crown, measured astride the tread's edge": {
            **repair,
            "injuries": [hole | {"from_centerline": "0 mm"}],
            "earlier_repairs": [mended | {"from_centerline": "90 mm"}],
        },
        "no tread, not worn to the indicators": worn,
        "no tread, not worn to the indicators, as a used tire": {**worn, "activity": "used-tire-installation"},
        "no regroove found, none stated": {**drive, "tire": known["tire"], "jurisdictions": ["US-CA"]},
        "no regroove found, none stated, in another place": {
            **drive,
            "tire": known["tire"],
            "jurisdictions": ["US-WI"],
        },
        "unmarked regroove found, none stated": {
            **drive,
            "tire": known["tire"],
            "jurisdictions": ["US-MN"],
            "findings": ["unmarked-regroove"],
        },
    }


#: What a case is about -> the case, for the last of the records.
CONTRADICTED: Final = _contradicted()


def cases(rulebook: Rulebook) -> Iterator[Case]:
    """Yield the cases in their order, for the places that a rulebook speaks for."""
    written = [*_sold(), *CONTRADICTED.values()]
    yield from (drawn(number, rulebook) for number in range(COUNT - len(written)))
    yield from written


# --- writing ----------------------------------------------------------------------------------------------------------


def _write() -> None:
    rulebook = tirerules.load()
    version = tirerules.__version__
    records = [rulebook.decide_json(json.dumps(case)) for case in cases(rulebook)]
    (_HERE / f"records-{version}.jsonl").write_text("\n".join(records) + "\n", encoding="utf-8", newline="\n")
    with zipfile.ZipFile(_HERE / f"packs-{version}.zip", "w") as packs:
        for path in sorted((ROOT / "rulepacks").rglob("*.yaml")):
            # A fixed date, so that the same packs make the same file.
            entry = zipfile.ZipInfo(path.relative_to(ROOT / "rulepacks").as_posix())
            packs.writestr(entry, path.read_bytes(), zipfile.ZIP_DEFLATED, 9)


if __name__ == "__main__":
    _write()
