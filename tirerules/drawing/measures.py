"""What a drawing shows of a case, in mm and degrees, None for what is unknown: read off a decision, nothing worked out.

An `Injured` holds one injury and the tire around it, a `Placed` one injury or earlier repair around the tire. Of a
measurement with a width, an injury's is taken at its greater end and the tire's at its lesser, as the rules take them.
"""

from __future__ import annotations

from fractions import Fraction

from tirerules.quantities import Measured
from tirerules.values import Value

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from tirerules.case import EarlierRepair, Injury
    from tirerules.decision import Decision
    from tirerules.engine.parts import Geometry
    from tirerules.scales import Position

__all__ = ["Injured", "Limited", "Placed", "injured", "placed"]


class Limited(Value):
    """A fact that is drawn or told: as stated (empty where unknown), and the strictest limit on it, empty for none."""

    fact: str
    stated: str
    limit: str


class Injured(Value):
    """One injury (from 1) of `count`, seen in a section across the tire. Lengths are in mm, angles in degrees."""

    number: int
    count: int
    kind: str | None
    zone: str | None
    side: str | None
    leans: str | None
    offset: Fraction | None
    diameter: Fraction | None
    angle: Fraction | None
    unit_width: Fraction | None
    section_width: Fraction | None
    section_height: Fraction | None
    tread_width: Fraction | None
    thickness: Fraction | None
    where: Geometry | None  #: what the decision says of its place; None where it was not measured
    limited: tuple[Limited, ...]


class Placed(Value):
    """One injury or earlier repair, seen around the tire. `turn` is its place as a share of a turn from the mark."""

    group: str  #: injury or repair
    number: int
    turn: Fraction | None
    stated: str  #: its place as it was stated; empty where it was not
    unit_length: Fraction | None


#: What is told below a section: what was measured of an injury, beside its limit.
_TOLD = ("injury.diameter", "injury.length", "injury.angle")


def injured(decision: Decision) -> Iterator[Injured]:
    """Yield every injury of a decision."""
    case, tire = decision.case, decision.evaluation.tire
    found = {each.injury: each for each in decision.geometry}
    height = None
    if case.tire.size is not None:
        from tirerules.scales import size

        height = size(case.tire.size).section_height
    for number, injury in enumerate(case.injuries or (), start=1):
        yield Injured(
            number=number,
            count=len(case.injuries or ()),
            kind=injury.kind,
            zone=injury.zone,
            side=injury.side,
            leans=injury.leans,
            offset=_greater(injury.from_centerline),
            diameter=_greater(injury.diameter),
            angle=_greater(injury.angle),
            unit_width=_greater(injury.unit_width),
            section_width=_lesser(tire["tire.section_width"]),
            section_height=None if height is None else height.exact,
            tread_width=_lesser(tire["tire.tread_width"]),
            thickness=_greater(tire["tire.thickness"]),
            where=found.get(number),
            limited=tuple(_limited(decision, injury)),
        )


def placed(decision: Decision) -> tuple[Placed, ...]:
    """Return every injury and earlier repair of a decision."""
    case, around = decision.case, _lesser(decision.evaluation.tire["tire.outside_diameter"])
    return (
        *(_placed("injury", number, each, around) for number, each in enumerate(case.injuries or (), start=1)),
        *(_placed("repair", number, each, around) for number, each in enumerate(case.earlier_repairs or (), start=1)),
    )


def _placed(group: str, number: int, spot: Injury | EarlierRepair, diameter: Fraction | None) -> Placed:
    turn = None
    if spot.clock is not None:
        from tirerules.scales import position

        turn = _turn(position(spot.clock), diameter)
    return Placed(group, number, turn, spot.clock or "", _greater(spot.unit_length))


def _turn(place: Position, diameter: Fraction | None) -> Fraction | None:
    """Return a place as a share of a turn; of a distance along the tread the tire's size must be known."""
    if place.turn is not None or place.arc is None:
        return place.turn
    if diameter is None:
        return None
    from tirerules.engine.geometry import PI

    return place.arc / (diameter * PI.low) % 1


def _limited(decision: Decision, injury: Injury) -> Iterator[Limited]:
    for fact in _TOLD:
        stated = getattr(injury, fact.partition(".")[2])
        limits = decision.limits.get(fact)
        first = None if limits is None else next((rung for rung in limits.ladder if rung.applies), None)
        if stated is not None or first is not None:
            yield Limited(fact, "" if stated is None else str(stated), "" if first is None else first.limit)


def _greater(value: object) -> Fraction | None:
    return value.high.exact if isinstance(value, Measured) else None


def _lesser(value: object) -> Fraction | None:
    return value.low.exact if isinstance(value, Measured) else None
