"""Every way to be plainly bad that the sweep knows, as a table: what is wrong, why that is bad, what must come of it.

A row of the sweep must be outside the limits where `outside` says so: there the trade's own baseline, or a named law,
bars the fault. Everywhere else it must be outside or undetermined, and then one of `by` (a rule, a gap, or the fact
that a rule reads) must be among what is unknown. It is never within. Sources of the trade are those of the built-in
baseline; "common practice, no source" says so.
"""

from __future__ import annotations

from typing import Final

from tests.sweep.carried import BEYOND, CARRIED, CHART, TREAD
from tests.sweep.way import (
    ACTS,
    ALL,
    HEAVY,
    NO_SECTION,
    ON_THE_ROAD,
    OTHERS,
    REPAIR,
    WITH_BAND,
    Bar,
    Patch,
    Way,
)

__all__ = ["WAYS"]

# --- no tread ---------------------------------------------------------------------------------------------------------

#: New Jersey bars tires that are worn to their indicators, and gives no figure (N.J.S.A. 39:3-72).
_NEW_JERSEY: Final = Bar(ON_THE_ROAD, WITH_BAND, "US-NJ")
_NO_TREAD: Final = {"tire": {"tread_depth": "0.1 mm"}}
_GRID: Final = [["0.1 mm"] * 4] * 3


def _driven(use: str) -> Patch:
    return {"vehicle": {"use": use}}


_WORN: Final = (
    Way(
        "no tread",
        "2/32 in is the least that the trade repairs (ITRA list) and that 49 CFR 570.9(a) passes",
        _NO_TREAD,
        outside=(Bar(REPAIR), _NEW_JERSEY),
        by=TREAD,
    ),
    Way(
        "no tread in any groove at three places",
        "the same, read as the laws count it",
        {"tire": {"tread_depth": None, "tread_grid": _GRID}},
        outside=(Bar(REPAIR), _NEW_JERSEY),
        by=TREAD,
        good={"tire": {"tread_depth": None, "tread_grid": [["9 mm"] * 4] * 3}},
    ),
    Way(
        "tread below its indicators",
        "indicators stand 1/16 in (1.5875 mm) high: 49 CFR 571.139 S5.4, 571.119 S6.4",
        {"tire": {"tread_depth": "1 mm"}},
        tires=("passenger", "light-truck", "light-truck F", *HEAVY),
        outside=(Bar(REPAIR), _NEW_JERSEY),
        by=TREAD,
    ),
    *(
        Way(
            f"no tread, {use}",
            "the use of a vehicle gives no tire tread",
            _NO_TREAD,
            # C.R.S. 42-4-228 lets off commercial vehicles as 42-4-235 defines them: from 16,001 lb, not a light van.
            outside=(
                Bar(REPAIR),
                _NEW_JERSEY,
                Bar(("road-use", "vehicle-sale"), ("passenger", "light-truck", "light-truck F"), "US-CO"),
            ),
            by=TREAD,
            setting=_driven(use),
        )
        for use in ("commercial", "school-bus", "emergency")
    ),
    Way(
        "no tread, heavy carrier",
        "49 CFR 393.75(b), (c): 2/32 in, on front wheels 4/32 in, from 10,001 lb (390.5)",
        _NO_TREAD,
        tires=HEAVY,
        outside=(Bar(ON_THE_ROAD, HEAVY, "US"), Bar(REPAIR)),
        by=TREAD,
        setting=_driven("commercial"),
    ),
    Way(
        "a light company car is no carrier",
        "49 CFR 390.5 binds from 10,001 lb: a rule that does not bind closes no gap, so it fares as a private one does",
        {"vehicle": {"use": "commercial"}},
        tires=("passenger", "light-truck"),
        by=(*TREAD, "engine/law-reviewed"),
        setting={"tire": {"tread_depth": "2.5 mm"}},
        than={},
    ),
)

# --- not in the crown -------------------------------------------------------------------------------------------------

#: A section repair, which no rule limits for the larger tires, is what may be left.
_SIZE: Final = ("engine/limit-located",)


def _hole(name: str, why: str, patch: Patch, tires: tuple[str, ...] = ALL) -> tuple[Way, Way]:
    """A fault of an injury: with every method open, and with a unit chosen, which leaves nothing open."""
    return (
        Way(name, why, {"injury": patch}, REPAIR, tires, (Bar(REPAIR, NO_SECTION),), _SIZE),
        Way(
            f"{name}, one-piece", why, {"injury": patch}, REPAIR, tires, (Bar(REPAIR),), setting={"method": "one-piece"}
        ),
    )


_HOLES: Final = (
    *_hole("beyond the tread", CHART, {**BEYOND, "zone": None}),
    *_hole("beyond the tread, called crown", "what is measured counts before what is named", BEYOND),
    *_hole("beyond the tread, called belt edge", CHART, {**BEYOND, "zone": "belt-edge"}),
    *_hole("across the edge of the tread, called crown", CHART, {"from_centerline": "99 mm", "diameter": "5 mm"}),
    *_hole(
        "leaving the tread inside, called crown",
        "an injury that runs at an angle into the shoulder is in the shoulder (charts; 90 + 20 tan 30 = 101.5 mm)",
        {"from_centerline": "90 mm", "angle": "30 deg", "leans": "toward-shoulder"},
    ),
    *_hole(
        "in the tread and outside its band", "bands: BTMA, BS AU 159, trade", {"from_centerline": "95 mm"}, WITH_BAND
    ),
    *(
        way
        for zone in ("shoulder", "belt-edge", "sidewall", "bead")
        for way in _hole(f"injured in the {zone}", CHART, {"zone": zone})
    ),
    Way(
        "injured in the sidewall, front tire of a light company van",
        # Its twin is what matters: 4/32 in on front wheels binds from 10,001 lb (49 CFR 393.75(b), 390.5).
        CHART,
        {"injury": {"zone": "sidewall"}},
        REPAIR,
        ("light-truck", "light-truck F"),
        (Bar(REPAIR, NO_SECTION),),
        _SIZE,
        {
            "vehicle": {"use": "commercial", "kind": "truck", "gvwr": "3500 kg"},
            "axle": {"steer": True},
            "tire": {"tread_depth": "3 mm"},
        },
        # As read, they ask 4/32 in of the front tires of commercial vehicles or trucks of any weight: Cal. Veh. Code
        # 27465, O.C.G.A. 40-8-74(e)(1), 625 ILCS 5/12-405.
        twinless_in=("US-CA", "US-GA", "US-IL"),
    ),
    *_hole("a cut", "the charts speak of punctures; a cut is no work for a unit", {"kind": "cut", "length": "20 mm"}),
    *_hole("a hole of 40 mm", "charts: 1/4 in, from load range F 3/8 in", {"diameter": "40 mm"}, WITH_BAND),
    Way(
        "a hole of 40 mm where no limit is known",
        "no located limit is no permission",
        {"injury": {"diameter": "40 mm"}},
        REPAIR,
        ("trailer", "temporary-spare", "agricultural", "off-road"),
        by=_SIZE,
    ),
    Way(
        "in the crown by name, where measurement is demanded",
        "a zone that was not measured is not known to who asks for measures",
        {"zones": "measured"},
        REPAIR,
        by=("injury.zone", "injury.reach"),
    ),
    Way(
        "an injury left open",
        "no law lets a tire be used with a hole that is still to be repaired; common practice, no source",
        {"injuries": [{"kind": "puncture", "zone": "crown", "diameter": "4 mm", "angle": "0 deg"}]},
        OTHERS,
        by=("engine/open-injury",),
    ),
    *(
        Way(
            f"repaired by {method}",
            "a repair fills the channel and seals the liner (RMA 2011)",
            {"method": method},
            REPAIR,
            outside=(Bar(),),
            good={"method": "one-piece"},
        )
        for method in ("plug-only", "patch-only", "boot", "temporary-sealant")
    ),
    Way(
        "section repair of a tire that has none",
        "the chart for light tires knows no section repair",
        {"method": "section"},
        REPAIR,
        NO_SECTION,
        outside=(Bar(),),
    ),
    Way(
        "section repair at a shop without the equipment",
        "section repairs belong to full-service facilities; common practice",
        {"method": "section", "shop": {"full_service": False}},
        REPAIR,
        outside=(Bar(),),
        good={"method": "one-piece"},
    ),
)

# --- the state of the tire --------------------------------------------------------------------------------------------

#: Laws that were read, and that bar from the road or at the inspection a tire marked or made for no highway: Code of
#: Ala. 32-5-210(a)(1), C.R.S. 42-4-228(7), Iowa Code 321.440(1), Neb. Rev. Stat. 60-6,252, RCW 46.37.425; Haw. Admin.
#: Rules 19-133.2-29(b), COMAR 11.14.05.05, Utah Admin. Code R714-160-8(1), 19VAC30-70-130(1), CQLR c. C-24.2, r. 32.
_BARRED_CLASSES: Final = (
    *(Bar(ON_THE_ROAD, place=place) for place in ("US-AL", "US-CO", "US-IA", "US-NE", "US-WA")),
    *(Bar(("inspection",), place=place) for place in ("US-HI", "US-MD", "US-UT", "US-VA", "CA-QC")),
)
_CAR: Final = {"vehicle": {"kind": "passenger-car", "gvwr": "1900 kg"}}
_JUDGED: Final = ("engine/finding-judged", "findings")


def _found(finding: str, why: str, acts: tuple[str, ...] = ACTS, *outside: Bar) -> Way:
    return Way(f"found: {finding}", why, {"findings": [finding]}, acts, outside=outside, by=_JUDGED)


_STATES: Final = (
    *(
        _found(finding, "conditions that rule out a repair (ITRA list, trade advisories, ATMA)", ACTS, Bar(REPAIR))
        for finding in (
            *("run-flat-damage", "liner-separation", "casing-separation", "tread-separation", "exposed-cord"),
            *("bead-damage", "liner-damage", "chemical-damage", "cord-corrosion", "zipper-rupture"),
            *("worn-to-indicators", "temporary-sealant", "earlier-improper-repair", "boot", "sidewall-plug"),
        )
    ),
    *(
        _found(
            finding, "a failure of the structure (ITRA list N4; every law that names it)", ACTS, Bar(REPAIR, NO_SECTION)
        )
        for finding in ("bulge", "impact-damage")
    ),
    *(
        _found(finding, "nothing that passes without a rule that says so")
        for finding in ("recalled", "identification-number-defaced", "liner-contaminated")
    ),
    *(_found(finding, "no tire to drive on before it is repaired", OTHERS) for finding in ("embedded-object", "leak")),
    *(
        Way(
            f"found: {finding}, heavy carrier",
            "49 CFR 393.75(a), from 10,001 lb (390.5)",
            {"findings": [finding]},
            tires=HEAVY,
            outside=(Bar(ON_THE_ROAD, HEAVY, "US"),),
            by=_JUDGED,
            setting=_driven("commercial"),
        )
        for finding in ("exposed-cord", "tread-separation")
    ),
    Way(
        "cracks that reach the plies",
        "cracking down to the body plies rules out a repair (ITRA list N8)",
        {"findings": ["weather-cracking"], "tire": {"cracks_reach_plies": True}},
        outside=(Bar(REPAIR),),
        by=("tire.cracks_reach_plies", "tire.crack_depth", *_JUDGED),
    ),
    Way(
        "cracks of unknown depth",
        "what may reach the plies is a question, never a pass",
        {"findings": ["weather-cracking"]},
        REPAIR,
        by=("tire.cracks_reach_plies", "tire.crack_depth", *_JUDGED),
    ),
    Way(
        "regrooved without a mark",
        "only tires made and marked for it may be regrooved (49 CFR 569, from memory)",
        {"findings": ["unmarked-regroove"], "tire": {"regrooved": None}},
        by=(*_JUDGED, "tire.regrooved"),
    ),
    Way(
        "regrooved, of a class that is not",
        # Whose class it is does not matter to a sale: 49 CFR 569.7 lets any tire be sold that was made for it.
        "tires of cars, light trucks and motorcycles are not made to be regrooved; common practice, no source",
        {"findings": ["regroove"], "tire": {"regrooved": None}},
        (*ON_THE_ROAD, "vehicle-sale"),
        tires=NO_SECTION,
        by=(*_JUDGED, "tire.regrooved"),
    ),
    Way(
        "regrooved or not, nobody says",
        "a tire whose regroove is not stated passes no rule that bars regrooved ones",
        {"tire": {"regrooved": None}},
        tires=("medium-truck", "bus", "trailer", "temporary-spare", "agricultural", "off-road"),
        by=("tire.regrooved", *_JUDGED, *TREAD, "engine/law-reviewed"),
        than={"tire": {"regrooved": True}},
    ),
    Way(
        "marked not for highway use",
        "the mark says that its maker made it for no road",
        {"findings": ["not-for-highway-marking"]},
        # 19VAC30-70-490 and -500: a tire marked for farm or off-highway use fails its inspection.
        outside=(Bar(("inspection",), ("passenger", "light-truck"), "US-VA"),),
        by=_JUDGED,
    ),
    Way(
        "a car on tires of a class made for no highway",
        "what the mark says, the class says: where nothing speaks of either, nothing lets them on the road",
        {},
        ON_THE_ROAD,
        ("agricultural", "off-road"),
        outside=_BARRED_CLASSES,
        setting=_CAR,
        good={"tire": {"class": "passenger"}},
        by=("tire.class", *_JUDGED, *TREAD, "engine/law-reviewed"),
    ),
    Way(
        "a tire of a class made for no highway, on sale for a car",
        "what a mark bars from sale, the class of the tire bars",
        {},
        ("used-tire-sale", "tire-sale", "vehicle-sale"),
        ("agricultural", "off-road"),
        setting=_CAR,
        good={"tire": {"class": "passenger"}},
        than={"tire": {"class": "passenger"}, "findings": ["not-for-highway-marking"]},
        only_if_barred=True,
        by=("tire.class", *_JUDGED, *TREAD, "engine/law-reviewed"),
    ),
)

WAYS: Final = (*_WORN, *_HOLES, *_STATES, *CARRIED)
