"""The pack of an invented shop: one limit of its own, with an example on each side of it."""

from __future__ import annotations

from tests.support import pack_text

__all__ = ["shop_pack"]

_RULE = """\
- id: size
  says: Invented.
  activity: [repair]
  source: text
  limit: {fact: injury.diameter, at-most: %s}
"""
_EXAMPLE = (
    "  - case: {jurisdictions: [US], activity: repair, "
    "tire: {class: passenger, sealant_layer: false, tread_depth: 6/32 in}, "
    "vehicle: {kind: passenger-car, use: private}, findings: [], earlier_repairs: [], "
    "injuries: [{kind: puncture, zone: crown, diameter: %s, angle: 10 deg}]}\n"
    "    expect: {verdict: %s, because: [size]}\n"
)


def shop_pack(millimeters: int = 4, version: str = "1.0.0", *, pack: str = "invented-shop") -> str:
    """Return the text of a pack that `tirerules check` finds clean; below 6 mm its limit is what decides."""
    examples = _EXAMPLE % (f"{millimeters} mm", "within-limits") + _EXAMPLE % (f"{millimeters}.5 mm", "outside-limits")
    return pack_text(_RULE % f"{millimeters} mm", pack=pack, version=version, more="examples:\n" + examples)
