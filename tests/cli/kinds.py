"""Fifteen kinds of tickets at the counter of an invented shop, as flags; every tire is invented."""

from __future__ import annotations

from typing import Final

__all__ = ["KINDS"]

_PLAIN: Final = {
    "jurisdiction": "US-SC",
    "on": "2026-11-25",
    "tire-class": "passenger",
    "tire-construction": "radial",
    "tire-sealant-layer": "no",
    "tire-run-flat": "no",
    "tire-tread-depth": "6/32 in",
    "vehicle-use": "private",
    "vehicle-kind": "passenger-car",
    "injury-kind": "puncture",
    "injury-zone": "crown",
    "injury-diameter": "5 mm",
    "injury-angle": "10 deg",
    "findings": "none",
    "earlier-repairs": "none",
}
_NO_INJURY: Final = dict.fromkeys(("injury-kind", "injury-zone", "injury-diameter", "injury-angle"))
#: Name -> what differs from a plain puncture in the crown; None leaves a flag out.
_CHANGES: Final[dict[str, dict[str, str | None]]] = {
    "self-sealing": {"tire-sealant-layer": "yes"},
    "run-flat": {"tire-run-flat": "yes", "tire-speed-symbol": "W"},
    "truck nail hole": {"tire-class": "medium-truck", "vehicle-kind": "truck", "injury-diameter": "8 mm"},
    "motorcycle": {"tire-class": "motorcycle", "vehicle-kind": "motorcycle"},
    "an old plug": {"earlier-repairs": None, "repair-zone": "crown", "repair-method": "plug-only"},
    "angle unknown": {"injury-angle": None},
    "sidewall": {"injury-zone": "sidewall"},
    "6.2 mm": {"injury-diameter": "6.2 mm"},
    "Quebec": {"jurisdiction": "CA-QC"},
    "used-tire sale": {**_NO_INJURY, "activity": "used-tire-sale", "tire-tread-depth": "3/32 in"},
    "measured offset": {
        "injury-zone": None,
        "injury-from-centerline": "70 mm",
        "injury-leans": "toward-shoulder",
        "tire-size": "225/45R17",
        "tire-tread-width": "200 mm",
        "tire-thickness": "14 mm",
    },
    "bulge": {"findings": "bulge"},
    "everything unknown": {**dict.fromkeys(_PLAIN), "jurisdiction": "US-SC"},
    "a unit rated 35 degrees": {
        "injury-angle": "33 deg",
        "unit-method": "one-piece",
        "unit-rated-angle": "35 deg",
        "unit-document": "an invented data sheet",
    },
}


def _flags(changes: dict[str, str | None]) -> tuple[str, ...]:
    said = {**_PLAIN, **changes}
    return tuple(each for name, value in said.items() if value is not None for each in (f"--{name}", value))


#: Name -> the flags of `tirerules decide`. Two punctures are stated in a file (`tests/cli/test_short.py`).
KINDS: Final = {name: _flags(changes) for name, changes in _CHANGES.items()}
