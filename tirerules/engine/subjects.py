"""What is known of the things that rules are judged for: the tire, each injury, each earlier repair, each pair of them.

`Known` holds what is known of one of them as a row. A `Subject` is what one judgment speaks of: the tire with, perhaps,
an injury, an earlier repair and a pair; it says what a fact is, how it is shown, and what to ask for it.
"""

from __future__ import annotations

from operator import itemgetter

from tirerules.case.row import TIRE
from tirerules.engine.tables import ABSENT
from tirerules.engine.worked_out import CARRIER, REGROOVED, carrier, regrooved, sidewall
from tirerules.vocabulary import PAIRED, Activity

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from typing import Any, TypeAlias

    from tirerules.case.row import CaseRow, Layout
    from tirerules.engine.computed import Figure
    from tirerules.engine.geometry import Channel

    #: A fact that could settle something, and which injury or earlier repair it is asked of.
    Need: TypeAlias = "tuple[str, str]"

__all__ = ["Known", "PairKnown", "Subject", "asked_instead", "known_tire", "shown", "tire_values"]

_CARRIER_READS = itemgetter(
    *(TIRE[fact] for fact in ("vehicle.use", "vehicle.gvwr", "vehicle.kind", "vehicle.seats", CARRIER))
)
_AT_CARRIER, _AT_REGROOVED, _CLASS, _FINDINGS, _COUNT = (
    TIRE[fact] for fact in (CARRIER, REGROOVED, "tire.class", "findings", "repairs.count")
)
_SIZE, _DATE_CODE, _GRID, _DEPTH = (TIRE[f"tire.{key}"] for key in ("size", "date_code", "tread_grid", "tread_depth"))
_SNOW, _OVERLAP, _OPPOSED = (TIRE[fact] for fact in ("road.snow_restriction", "repairs.overlap", "repairs.opposed"))
_METHOD, _SPACING, _SPACING_ANGLE = TIRE["method"], TIRE["repairs.spacing"], TIRE["repairs.spacing_angle"]
_ON_SIDEWALL = ("tire.section_width", "tire.outside_diameter")


def shown(value: Any) -> str:
    """Return a value as a person wrote it."""
    if value is None:
        return "unknown"
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return ("no", "yes")[value]
    if isinstance(value, frozenset):
        return ", ".join(sorted(value)) or "none"
    return str(value)


#: Nothing is shown, or asked for, in the place of any fact.
_NONE: Mapping[str, Any] = {}


class Known:
    """What is known of the tire, of an injury or of a repair: a value for each fact of a layout.

    A value may be `ABSENT`. `texts` holds what is shown of a fact other than its value, `instead` the facts that are
    asked for in the place of an unknown one, best first. `channel` is an injury that was measured.
    """

    __slots__ = ("channel", "figures", "instead", "label", "layout", "stated_depth", "texts", "values")
    texts: Mapping[str, str]
    instead: Mapping[str, tuple[str, ...]]

    def __init__(self, layout: Layout, values: list[Any], label: str = "") -> None:
        self.layout, self.values, self.label = layout, values, label
        self.texts = self.instead = _NONE
        self.channel: Channel | None = None
        #: Figures of limits that follow from it, by the `id` of the body that states them.
        self.figures: dict[int, Figure] = {}
        #: Whether the smallest tread depth is stated, not only that of the readings of a grid.
        self.stated_depth = True

    def __getitem__(self, fact: str) -> Any:
        return self.values[self.layout[fact]]

    def put(self, fact: str, value: Any, text: str | None = None) -> None:
        """State a fact, and how it is shown where that is not its value."""
        self.values[self.layout[fact]] = value
        if text is not None:
            self.texts = {**self.texts, fact: text}

    def ask(self, fact: str, instead: tuple[str, ...]) -> None:
        """State what to ask for in the place of a fact."""
        self.instead = {**self.instead, fact: instead}

    def copy(self) -> Known:
        """Return the same, to be changed."""
        copied = Known(self.layout, list(self.values), self.label)
        copied.texts, copied.instead, copied.channel = self.texts, self.instead, self.channel
        return copied


def tire_values(row: CaseRow) -> list[Any]:
    """Return the facts of the whole tire, with all that follows from what is stated but for a grid of readings."""
    tire = list(row.tire)
    tire[_METHOD] = None  # it is known of one repair at a time
    if tire[_SIZE] is not None or tire[_DATE_CODE] is not None:
        sidewall(tire, row.on)
    findings = tire[_FINDINGS]
    tire[_AT_CARRIER] = carrier(*_CARRIER_READS(tire))[0]
    tire[_AT_REGROOVED] = regrooved(tire[_AT_REGROOVED], tire[_CLASS], findings)
    total = row.total
    if total is not None:
        if total <= 1 and (tire[_COUNT] is None or tire[_COUNT] <= 1):
            for place, value in (
                (_OVERLAP, False),
                (_OPPOSED, False),
                (_SPACING, ABSENT),
                (_SPACING_ANGLE, ABSENT),
            ):
                if tire[place] is None:
                    tire[place] = value
        if tire[_COUNT] is None:
            tire[_COUNT] = total
    if tire[_SNOW] is None and row.activity != Activity.ROAD_USE:
        tire[_SNOW] = False  # it concerns one drive; nobody is asked for it who sells, fits or repairs a tire
    return tire


def known_tire(row: CaseRow) -> Known:
    """Return what is known of the whole tire, with all that follows from what the case states."""
    tire = tire_values(row)
    known = Known(TIRE, tire)
    if tire[_GRID] is not None:
        from tirerules.engine.tread import least_reading

        known.stated_depth = tire[_DEPTH] is not None
        known.put("tire.tread_depth", *least_reading(tire[_GRID], tire[_DEPTH]))
    return known


def asked_instead(row: CaseRow, tire: Known, *, hurt: bool) -> Mapping[str, tuple[str, ...]]:
    """Return what is asked in the place of an unknown fact of the tire, best first.

    `hurt` says whether injuries are judged: of a list that is not recorded an inspection may say that it is empty.
    """
    # What the sidewall says is quicker read than measured.
    instead: dict[str, tuple[str, ...]] = {fact: ("tire.size", fact) for fact in _ON_SIDEWALL}
    # Of a repair that is not listed, nobody can say how far around the tire it lies from another.
    unlisted = "injuries" if hurt and row.injuries is None and row.repairs is not None else "earlier_repairs"
    instead["repairs.spacing_angle"] = (unlisted,)
    if row.repairs is None:
        instead |= dict.fromkeys([*PAIRED, "repairs.count"], ("earlier_repairs",))
    if row.findings is None:
        instead[REGROOVED] = ("findings", REGROOVED)
    asked = carrier(*_CARRIER_READS(tire.values))[1]
    if asked is not None:
        instead[CARRIER] = (asked,)
    return instead


class Subject:
    """What one judgment speaks of: the tire with, perhaps, an injury, an earlier repair and a pair of repairs.

    Of facts that two of them know, the later one's counts. `labels` says which injury, repair or pair it is, by group.
    """

    __slots__ = ("becomes_repair", "injury", "instead", "labels", "method", "pair", "repair", "tire")

    def __init__(
        self,
        tire: Known,
        instead: Mapping[str, tuple[str, ...]],
        injury: Known | None = None,
        repair: Known | None = None,
        pair: PairKnown | None = None,
        method: str | None = None,
    ) -> None:
        self.tire, self.injury, self.repair, self.pair, self.method = tire, injury, repair, pair, method
        self.becomes_repair = False
        self.labels: dict[str, str] = {}
        self.instead = dict(instead)
        for group, known in (("injury", injury), ("repair", repair)):
            if known is not None:
                self.labels[group] = known.label
                self.instead |= known.instead
        if pair is not None:
            self.labels |= pair.labels
            self.instead |= pair.instead

    def mended(self) -> Subject:
        """Return this injury once it is repaired by the method at hand: a repair that the tire then carries."""
        label = self.labels["injury"]
        self.labels = {"repair": f"the repair of {label}", "injury": label}
        self.becomes_repair = True
        return self

    def get(self, fact: str) -> Any:
        """Return what is known of a fact; None where it is unknown."""
        group = fact.partition(".")[0]
        if group == "injury":
            return None if self.injury is None else self.injury[fact]
        if group == "repair":
            if self.repair is not None:
                return self.repair[fact]
            # Of the repair that an injury becomes, the method is known; its size and place are the injury's own facts.
            return self.method if self.becomes_repair and fact == "repair.method" else None
        if self.pair is not None and fact in self.pair.values:
            return self.pair.values[fact]
        if fact == "method" and self.method is not None:
            return self.method
        return self.tire[fact]

    def shown(self, fact: str) -> str:
        """Return a fact as a person stated it, or as it was worked out."""
        if self.pair is not None and fact in self.pair.values:
            text = self.pair.texts.get(fact)
        else:
            known = self.injury if fact[:7] == "injury." else self.repair if fact[:7] == "repair." else self.tire
            text = None if known is None else known.texts.get(fact)
        return shown(self.get(fact)) if text is None else text

    def label(self, facts: Iterable[str]) -> str:
        """Return which injuries or repairs `facts` speak of; empty for the tire as a whole."""
        groups = {"pair" if fact in PAIRED else fact.partition(".")[0] for fact in facts}
        return ", ".join(label for group, label in self.labels.items() if group in groups)

    def needs(self, fact: str) -> list[Need]:
        """Return what to ask for `fact`, best first: itself, or what it follows from."""
        return [(each, self.label([each])) for each in self.instead.get(fact, (fact,))]


class PairKnown:
    """What is known of two repairs: values and texts by fact, who they are, what to ask instead."""

    __slots__ = ("instead", "labels", "texts", "values")

    def __init__(self) -> None:
        self.values: dict[str, Any] = {}
        self.texts: dict[str, str] = {}
        self.labels: dict[str, str] = {}
        self.instead: dict[str, tuple[str, ...]] = {}
