"""Every way in which a tire is bad for a repair that it already carries, as part of the table of ways."""

from __future__ import annotations

from typing import Final

from tests.sweep.way import ALL, NO_SECTION, OF_USED, REPAIR, WITH_BAND, Bar, Patch, Way

__all__ = ["BEYOND", "CARRIED", "CHART", "TREAD"]

#: What leaves a tire open whose tread no rule limits.
TREAD: Final = ("tire.tread_depth", "engine/limit-located")
CHART: Final = "the trade's charts allow units in the tread area only, away from shoulder and belt edge"
BEYOND: Final = {"from_centerline": "120 mm"}
_SMALL: Final = {"zone": "crown", "diameter": "2 mm", "method": "one-piece", "clock": "6:00"}


def _carries(
    name: str,
    why: str,
    repair: Patch,
    tires: tuple[str, ...] = ALL,
    outside: tuple[Bar, ...] = (Bar(),),
    by: tuple[str, ...] = (),
) -> Way:
    """A fault of an earlier repair; the twin carries a sound one."""
    repairs = [{**_SMALL, **repair}]
    good = {"earlier_repairs": [_SMALL]}
    return Way(name, why, {"earlier_repairs": repairs}, OF_USED, tires, outside, by, good=good)


CARRIED: Final = (
    _carries("earlier repair of 40 mm", "charts: 1/4 in, from load range F 3/8 in", {"diameter": "40 mm"}, WITH_BAND),
    _carries(
        "earlier repair of 40 mm where no limit is known",
        "no located limit is no permission",
        {"diameter": "40 mm"},
        ("trailer", "temporary-spare", "agricultural", "off-road"),
        (),
        by=("repair.diameter", *TREAD, "engine/law-reviewed"),
    ),
    *(
        _carries(f"earlier repair in the {zone}", CHART, {"zone": zone})
        for zone in ("shoulder", "belt-edge", "sidewall", "bead")
    ),
    *(
        _carries(
            f"earlier repair by {method}",
            "a repair fills the channel and seals the liner (RMA 2011)",
            {"method": method},
        )
        for method in ("plug-only", "patch-only", "boot", "temporary-sealant")
    ),
    _carries("earlier repair beyond the tread", CHART, {**BEYOND, "zone": None}),
    _carries("earlier repair beyond the tread, called crown", "what is measured counts before what is named", BEYOND),
    _carries(
        "earlier repair in the tread and outside its band",
        "what is there is judged as what is new",
        {"from_centerline": "96 mm"},
        WITH_BAND,
    ),
    _carries(
        "earlier section repair of a tire that has none",
        "the chart for light tires knows no section repair",
        {"method": "section", "zone": "sidewall"},
        NO_SECTION,
    ),
    Way(
        "earlier repair in the crown by name, where measurement is demanded",
        "a zone that was not measured is not known to who asks for measures",
        {"zones": "measured"},
        OF_USED,
        by=("repair.zone", "repair.reach"),
        setting={"earlier_repairs": [_SMALL]},
    ),
    Way(
        "two earlier repairs in one quadrant of a bias tire",
        "two in the same quadrant of a bias tire rule out a repair (ITRA list N12)",
        {"earlier_repairs": [{**_SMALL, "clock": clock} for clock in ("6:00", "7:00")]},
        OF_USED,
        outside=(Bar(),),
        setting={"tire": {"construction": "bias"}, "injury": {"clock": "0:00"}},
        good={"earlier_repairs": [_SMALL]},
    ),
    Way(
        "an injury in the quadrant of an earlier repair of a bias tire",
        "two in the same quadrant of a bias tire rule out a repair (ITRA list N12)",
        {"injury": {"clock": "7:00"}},
        REPAIR,
        outside=(Bar(),),
        setting={"tire": {"construction": "bias"}, "earlier_repairs": [_SMALL]},
        good={"injury": {"clock": "0:00"}},
    ),
)
