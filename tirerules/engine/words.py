"""The words people read: verdicts by activity, and the cautions that travel with every answer."""

from __future__ import annotations

from tirerules.engine.parts import Verdict
from tirerules.vocabulary import Activity

__all__ = ["CAUTIONS", "verdict_words"]

_WORDS = {
    Activity.REPAIR: ("Repairable within the limits", "Not repairable within the limits"),
    Activity.USED_TIRE_INSTALLATION: ("May be installed as a used tire", "May not be installed as a used tire"),
    Activity.USED_TIRE_SALE: ("May be sold as a used tire", "May not be sold as a used tire"),
    Activity.TIRE_SALE: ("May be sold", "May not be sold"),
    Activity.VEHICLE_SALE: ("The vehicle may be sold with this tire", "The vehicle may not be sold with this tire"),
    Activity.ROAD_USE: ("May be used on the road", "May not be used on the road"),
    Activity.INSPECTION: ("Passes the located inspection rules", "Fails inspection"),
}

#: What every answer says, whatever it is.
CAUTIONS = (
    "Not legal advice: check the law in force and the tire maker's policy.",
    "Dismount the tire and inspect it inside and outside before any repair.",
    "Only trained persons repair tires.",
)


def verdict_words(activity: str, verdict: Verdict, method: str | None) -> str:
    """Return the verdict as a counter person says it; `method` repairs every injury, if one does."""
    yes, no = _WORDS[Activity(activity)]
    if verdict is Verdict.UNDETERMINED:
        return "Cannot be told yet"
    if verdict is Verdict.OUTSIDE:
        return no
    if method is None and activity == Activity.REPAIR:
        return f"{yes}, each injury by its own method"
    return f"{yes}, by the {method} method" if method else yes
