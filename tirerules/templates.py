"""Every sentence that the library itself says, as a template: the one table of them.

`TEMPLATES` maps a name to its row: the kind of sentence, and the English text with named placeholders. What a decision
says carries the name and the parameters beside the text, so that a program or another language can word it again; a
rule's own sentence is not here but in its pack. INVARIANT: a text is filled in from its row alone (`filled`); no
sentence is put together from pieces. A start imports none of this.
"""

from __future__ import annotations

from types import MappingProxyType

from tirerules.values import Value

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from typing import Final, TypeAlias

    #: What fills a placeholder: a word, a name, a day or a quantity as text; a number; several texts.
    Parameter: TypeAlias = "str | int | tuple[str, ...]"

__all__ = ["KINDS", "TEMPLATES", "Template", "filled"]

#: What a sentence does: it lets pass, it bars, it asks that something be done, it asks a question, or it informs.
KINDS: Final = ("permits", "bars", "requires", "asks", "informs")


class Template(Value):
    """One sentence: its name, its kind (one of `KINDS`), and its English text with placeholders in braces."""

    name: str
    kind: str
    english: str

    @property
    def placeholders(self) -> frozenset[str]:
        """The names of its placeholders."""
        from string import Formatter

        return frozenset(name for _, name, _, _ in Formatter().parse(self.english) if name is not None)


def filled(name: str, parameters: Mapping[str, Parameter]) -> str:
    """Return the English sentence `name` with its placeholders filled; several texts are joined by commas.

    Raises KeyError for a name that is no template and for a placeholder that is not given.
    """
    return filled_text(TEMPLATES[name].english, parameters)


def filled_text(text: str, parameters: Mapping[str, Parameter]) -> str:
    """Return a text with its placeholders filled, as `filled` does. Raises KeyError for one that is not given."""
    shown = {key: ", ".join(value) if isinstance(value, tuple) else value for key, value in parameters.items()}
    return text.format_map(shown)


def _rows() -> Iterator[tuple[str, str, str]]:
    yield from _VERDICTS
    yield from _CAUTIONS
    yield from _STEPS
    yield from _GAPS
    yield from _NOTICES
    yield from _SHORT
    yield from _DRAWING


_VERDICTS: Final = (
    ("verdict.undetermined", "asks", "Cannot be told yet"),
    ("verdict.repair.within-by-method", "permits", "Repairable within the limits, by the {method} method"),
    ("verdict.repair.within-each", "permits", "Repairable within the limits, each injury by its own method"),
    ("verdict.repair.outside", "bars", "Not repairable within the limits"),
    ("verdict.used-tire-installation.within", "permits", "May be installed as a used tire"),
    ("verdict.used-tire-installation.outside", "bars", "May not be installed as a used tire"),
    ("verdict.used-tire-sale.within", "permits", "May be sold as a used tire"),
    ("verdict.used-tire-sale.outside", "bars", "May not be sold as a used tire"),
    ("verdict.tire-sale.within", "permits", "May be sold"),
    ("verdict.tire-sale.outside", "bars", "May not be sold"),
    ("verdict.vehicle-sale.within", "permits", "The vehicle may be sold with this tire"),
    ("verdict.vehicle-sale.outside", "bars", "The vehicle may not be sold with this tire"),
    ("verdict.road-use.within", "permits", "May be used on the road"),
    ("verdict.road-use.outside", "bars", "May not be used on the road"),
    ("verdict.inspection.within", "permits", "Passes the located inspection rules"),
    ("verdict.inspection.outside", "bars", "Fails inspection"),
)
_CAUTIONS: Final = (
    ("caution.law", "requires", "Not legal advice: check the law in force and the tire maker's policy."),
    ("caution.inspect", "requires", "Dismount the tire and inspect it inside and outside before any repair."),
    ("caution.trained", "requires", "Only trained persons repair tires."),
)
#: What a rule may require to be done (`vocabulary.STEPS`), and how a person is told.
_STEPS: Final = (
    ("step.demount", "requires", "Take the tire off the wheel."),
    (
        "step.inspect-inside-and-outside",
        "requires",
        "Inspect the whole tire, inside and outside, before repairing it.",
    ),
    (
        "step.measure-after-preparation",
        "requires",
        "Measure the injury across the channel, after the damage has been removed.",
    ),
    (
        "step.fill-channel-and-seal-liner",
        "requires",
        "Fill the channel and seal the inner liner; one without the other is no repair.",
    ),
    ("step.no-tube-instead", "requires", "Do not fit a tube in place of a repair."),
    (
        "step.confirm-maker-policy",
        "requires",
        "Confirm the tire maker's policy on repair and on the speed rating afterwards.",
    ),
    (
        "step.check-low-pressure-damage",
        "requires",
        "Check for damage from running at low pressure; it may not show on the outside.",
    ),
    ("step.maker-standard", "requires", "Repair to the standards of the tire's maker."),
    ("step.full-service-facility", "requires", "Have it done by a full-service repair facility."),
)
#: What the engine's own rules say (`engine.own_rules`): none of it ever lets a tire pass.
_GAPS: Final = (
    (
        "gap.law-reviewed",
        "asks",
        "{place}: the law on {activity} has not been reviewed, so nothing can be called allowed there.",
    ),
    (
        "gap.finding-judged",
        "asks",
        "No located rule says what follows from the finding '{finding}'; a trained person must decide.",
    ),
    (
        "gap.repair-size",
        "asks",
        "No limit on an earlier repair's size was located for this tire and method; ask its maker.",
    ),
    ("gap.tread-depth", "asks", "{place}: No limit on tread depth was located for this tire and activity."),
    (
        "gap.open-injury",
        "asks",
        "No rule lets a tire pass with an injury that is still to be repaired; decide it as a repair.",
    ),
    ("gap.unrecorded-injuries", "asks", "It is not recorded whether the tire was inspected for injuries."),
    (
        "gap.injury-size",
        "asks",
        "No limit on the injury's size was located for this tire and method; ask the tire's maker.",
    ),
)
_NOTICES: Final = (
    (
        "notice.replaced",
        "informs",
        "Pack {pack} {version} does not ship with this library: it was put in by name and decides in place of what "
        "ships (SHA-256 {sha256}).",
    ),
    (
        "notice.none-located.trade",
        "informs",
        "{title}: no law on {activity} was located (reviewed {day}); the trade baseline governs.",
    ),
    (
        "notice.none-located.nothing",
        "informs",
        "{title}: no law on {activity} was located (reviewed {day}); nothing here governs it.",
    ),
    ("notice.partial", "informs", "{title}: its law on {activity} was read only in part."),
    ("notice.not-reviewed", "informs", "{title}: its law on {activity} has not been reviewed."),
    ("notice.secondary", "informs", "Known from a description, not from the text itself: {rules}."),
    ("notice.memory", "informs", "Known from memory only; the text was not read: {rules}."),
    ("notice.currency", "informs", "Not confirmed to be still in force: {rules}."),
    (
        "notice.extension",
        "informs",
        "The limit of {rules} is extended to {figure} on the unit's documented rating.",
    ),
    ("notice.not-yet-in-force", "informs", "{rules} starts only on {day}, after the day asked about."),
    (
        "notice.zone-named",
        "informs",
        "Named, not measured from the center line of the tread: the zone of {subjects}.",
    ),
    (
        "notice.carrier",
        "informs",
        "Taken as no commercial motor vehicle: a {vehicle} below 10,001 lb. It is one with a trailer to that weight, "
        "placarded hazardous material or seats for more than 8 (49 CFR 390.5); then state it "
        "(vehicle.commercial_motor_vehicle).",
    ),
    (
        "notice.resale.used-tire-installation",
        "bars",
        "After a {method} repair this tire may not be installed as a used tire here ({rules}).",
    ),
    (
        "notice.resale.used-tire-sale",
        "bars",
        "After a {method} repair this tire may not be sold as a used tire here ({rules}).",
    ),
)
#: What the short answer says beside what decides.
_SHORT: Final = (
    ("short.provided", "requires", "Provided that: {steps}."),
    ("short.more-questions", "asks", "and {count} more (--full)"),
    ("short.no-remedy", "bars", "Nothing that a shop can change brings this tire within the limits."),
    ("short.remedy", "permits", "Within the limits instead: {changes}."),
    ("change.method", "permits", "by the {to} method"),
    ("change.activity", "permits", "for {to}"),
    ("change.on", "permits", "from {to} on, when a rule ends"),
    ("change.unit", "permits", "with a {unit} unit whose maker documents that angle"),
    ("change.no-unit", "permits", "without the rated unit at hand"),
    ("short.rest", "informs", "Rules behind the limits: {grades}. Notes: {count} (--full)."),
    (
        "short.rest-with",
        "informs",
        "Rules behind the limits: {grades}. Notes: {count}, among them {notes} (--full).",
    ),
    (
        "short.caution",
        "requires",
        "Not legal advice: check the law and the tire maker's policy. Dismount and inspect first, inside and outside. "
        "Only trained persons repair tires.",
    ),
)
#: The words of pictures (`tirerules.drawing`).
_DRAWING: Final = (
    ("drawing.section-title", "informs", "Section across the tire at injury {number} of {count}"),
    ("drawing.around-title", "informs", "Injuries and earlier repairs around the tire"),
    ("drawing.center-line", "informs", "center line"),
    ("drawing.length", "informs", "{mm} mm"),
    ("drawing.band", "informs", "band {mm} mm"),
    ("drawing.margin", "informs", "margin {mm} mm"),
    ("drawing.mark", "informs", "mark"),
    ("drawing.injury", "informs", "injury {number}"),
    ("drawing.repair", "informs", "earlier repair {number}"),
    ("drawing.nowhere", "informs", "Where the injury lies across the tire was neither measured nor named."),
    ("drawing.named", "informs", "Its zone was named, not measured: {zone} (hatched)."),
    (
        "drawing.offset-left",
        "informs",
        "Its outer opening lies {mm} mm from the center line, to the left as seen from the front.",
    ),
    (
        "drawing.offset-right",
        "informs",
        "Its outer opening lies {mm} mm from the center line, to the right as seen from the front.",
    ),
    (
        "drawing.offset-unknown",
        "informs",
        "Its outer opening lies {mm} mm from the center line; on which side is unknown, drawn right.",
    ),
    ("drawing.stated", "informs", "{fact}: {stated}."),
    ("drawing.limited", "informs", "{fact}: unknown; {limit}."),
    ("drawing.both", "informs", "{fact}: {stated}; {limit}."),
    (
        "drawing.reach",
        "informs",
        "At worst it reaches {outside} mm from the center line outside and {inside} mm inside.",
    ),
    ("drawing.reach-unknown", "informs", "How far it reaches is not known yet."),
    ("drawing.binding", "informs", "The narrowest band that binds reaches {mm} mm from the center line ({rule})."),
    ("drawing.margin-told", "informs", "The margin between the injury and the edge of that band is {mm} mm."),
    ("drawing.unknown", "informs", "Not known (dashed where it is drawn): {facts}."),
    (
        "drawing.schematic",
        "informs",
        "Measures are to scale; the borders of zones and the shape of the side are schematic.",
    ),
    ("drawing.placed", "informs", "{what}: {stated}, {degrees} deg from the mark."),
    ("drawing.unplaced", "informs", "{what}: its place around the tire is unknown."),
    ("drawing.apart", "informs", "{one} and {other} lie {degrees} deg apart."),
    (
        "drawing.apart-length",
        "informs",
        "{one} and {other} lie {degrees} deg apart, at least {mm} mm along the outside.",
    ),
    ("drawing.spacing-limit", "informs", "{fact}: {limit} ({rules})."),
    ("drawing.direction", "informs", "Places are counted from one mark in one direction, drawn clockwise."),
)

#: Name -> template, in the order of the rows above.
TEMPLATES: Final[Mapping[str, Template]] = MappingProxyType({row[0]: Template(*row) for row in _rows()})
