"""The groups of facts as typed values, a field for each fact.

Written by `python -m tirerules.authoring.schemas`. A field `key` of a group is the fact ``group.key``; a trailing
underscore is Python's, not the trade's. None is unknown.
"""

from __future__ import annotations

from tirerules.case.group import Group

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import ClassVar

    from tirerules.quantities import Measured
    from tirerules.words import (
        InjuryKind,
        InjuryLeans,
        Method,
        Side,
        TireBodyPly,
        TireClass,
        TireConstruction,
        TireLoadRange,
        TireSpeedSymbol,
        VehicleKind,
        VehicleUse,
        Zone,
    )

__all__ = [
    "Axle",
    "EarlierRepair",
    "Injury",
    "Repairs",
    "Road",
    "Sale",
    "Shop",
    "Tire",
    "Vehicle",
]


class Tire(Group):
    """The tire."""

    group: ClassVar[str] = "tire"
    class_: TireClass | None = None
    size: str | None = None
    date_code: str | None = None
    load_range: TireLoadRange | None = None
    speed_symbol: TireSpeedSymbol | None = None
    construction: TireConstruction | None = None
    body_ply: TireBodyPly | None = None
    sealant_layer: bool | None = None
    run_flat: bool | None = None
    foam_liner: bool | None = None
    retread: bool | None = None
    regrooved: bool | None = None
    same_vehicle: bool | None = None
    section_width: Measured | None = None
    tread_width: Measured | None = None
    belt_width: Measured | None = None
    thickness: Measured | None = None
    outside_diameter: Measured | None = None
    tread_depth: Measured | None = None
    tread_grid: tuple[tuple[Measured, ...], ...] | None = None
    crack_depth: Measured | None = None
    cracks_reach_plies: bool | None = None
    age: Measured | None = None


class Vehicle(Group):
    """The vehicle the tire is for."""

    group: ClassVar[str] = "vehicle"
    kind: VehicleKind | None = None
    use: VehicleUse | None = None
    gvwr: Measured | None = None
    seats: int | None = None
    commercial_motor_vehicle: bool | None = None


class Axle(Group):
    """Where on the vehicle the tire goes."""

    group: ClassVar[str] = "axle"
    steer: bool | None = None


class Shop(Group):
    """Who does the work."""

    group: ClassVar[str] = "shop"
    full_service: bool | None = None


class Road(Group):
    """Where the tire is driven."""

    group: ClassVar[str] = "road"
    snow_restriction: bool | None = None


class Sale(Group):
    """How the tire is sold."""

    group: ClassVar[str] = "sale"
    for_retreading: bool | None = None


class Injury(Group):
    """One injury to be repaired now."""

    group: ClassVar[str] = "injury"
    kind: InjuryKind | None = None
    diameter: Measured | None = None
    surface_diameter: Measured | None = None
    length: Measured | None = None
    angle: Measured | None = None
    leans: InjuryLeans | None = None
    zone: Zone | None = None
    from_centerline: Measured | None = None
    side: Side | None = None
    clock: str | None = None
    unit_length: Measured | None = None
    unit_width: Measured | None = None


class EarlierRepair(Group):
    """One repair the tire already carries."""

    group: ClassVar[str] = "repair"
    diameter: Measured | None = None
    zone: Zone | None = None
    from_centerline: Measured | None = None
    side: Side | None = None
    clock: str | None = None
    unit_length: Measured | None = None
    unit_width: Measured | None = None
    method: Method | None = None


class Repairs(Group):
    """All repairs of the tire together, the new ones included."""

    group: ClassVar[str] = "repairs"
    count: int | None = None
    spacing: Measured | None = None
    opposed: bool | None = None
    overlap: bool | None = None
