"""Which cases stand in the file: every rule of every pack in the places it speaks for, and every place as it stands.

Each case stands once: what several rules or variations ask alike is asked under the first of their names.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from typing import Final

from tirerules.authoring.vectors.answers import Answer, answer
from tirerules.authoring.vectors.bodies import Varied, of_body, violated
from tirerules.authoring.vectors.cases import Json
from tirerules.authoring.vectors.conditions import of_conditions, of_dates, other_activities
from tirerules.authoring.vectors.starting import start
from tirerules.case import Case
from tirerules.errors import CaseError, UnknownJurisdictionError
from tirerules.jurisdictions import COUNTRIES
from tirerules.packs.pack import OVERLAYS, Pack
from tirerules.packs.rule import Require, Rule, Source
from tirerules.record import case_from_json, case_to_json
from tirerules.rulebook import Rulebook
from tirerules.vocabulary import ACTIVITIES, Activity, answering

__all__ = ["Trying", "Vector", "day_of", "plan", "rules_of"]

#: What a vector of a place as it stands is asked for: the two facts that every case must be limited on.
_ESSENTIAL: Final = ("injury.diameter", "tire.tread_depth")


@dataclass(frozen=True, slots=True)
class Vector:
    """One case of the file, not decided yet, with what is to be stated of its decision."""

    id: str
    also: tuple[str, ...]  #: the names under which other rules or other variations ask the very same
    case: Json
    asked: Case  #: the same, as the library reads it
    facts: tuple[str, ...]  #: whose limits are stated
    steps: bool  #: whether what must be done is stated


@dataclass(frozen=True, slots=True)
class _Asked:
    id: str
    case: Case
    facts: tuple[str, ...]
    steps: bool = False


def plan(rulebook: Rulebook, codes: Sequence[str] = ()) -> tuple[Vector, ...]:
    """Return the vectors of the packs that answer for `codes`, or of all packs, by id; every case stands once.

    Raises UnknownJurisdictionError for a code that the rulebook does not hold.
    """
    trying = Trying(rulebook, codes)
    alike: dict[str, list[_Asked]] = {}
    for asked in (*trying.rules(), *trying.places()):
        # In the one form in which a case is written: as the library writes the case that it has read.
        alike.setdefault(json.dumps(case_to_json(asked.case)), []).append(asked)
    return tuple(sorted((_together(group) for group in alike.values()), key=lambda vector: vector.id))


def _together(alike: Sequence[_Asked]) -> Vector:
    first, *others = sorted({asked.id for asked in alike})
    facts = sorted({fact for asked in alike for fact in asked.facts})
    case, steps = alike[0].case, any(asked.steps for asked in alike)
    return Vector(first, tuple(others), case_to_json(case), case, tuple(facts), steps)


def rules_of(rulebook: Rulebook, codes: Sequence[str] = ()) -> Iterator[tuple[Pack, Rule]]:
    """Yield every rule of the packs that answer for `codes`, or of all packs, with its pack."""
    packs = rulebook.packs_for(codes) if codes else tuple(rulebook.packs.values())
    for pack in sorted(packs, key=lambda each: each.id):
        yield from ((pack, rule) for rule in pack.rules)


class Trying:
    """Makes the cases for one rulebook, and remembers what the cases decided on the way to a start."""

    def __init__(self, rulebook: Rulebook, codes: Sequence[str]) -> None:
        self.rulebook = rulebook
        self.codes = tuple(dict.fromkeys(codes))
        self.packs = lru_cache(maxsize=None)(lambda code: rulebook.packs_for([code]))
        self.answers: dict[str, Answer] = {}

    def start(self, rule: Rule, place: str, activity: Activity, on: date) -> Json:
        """Return the case from which the variations of a rule start (`tirerules.authoring.vectors.starting.start`)."""
        return start(self.ask, self.packs(place), rule, place, activity, on)

    def ask(self, case: Json) -> Answer:
        """Return the answer to a case, decided once."""
        key = json.dumps(case)
        if key not in self.answers:
            self.answers[key] = answer(self.rulebook, case)
        return self.answers[key]

    # --- rules

    def rules(self) -> Iterator[_Asked]:
        """Yield every variation of every rule, in every place that the rule is tried in."""
        for pack, rule in rules_of(self.rulebook, self.codes):
            steps = isinstance(rule.body, Require)
            facts = () if isinstance(rule.body, Require) else (rule.body.fact,)
            for place in self.places_of(pack):
                suffix = f"@{place}" if pack.kind in OVERLAYS else ""
                for name, case in self.of_rule(rule, place, day_of(pack, rule)):
                    try:
                        read = case_from_json(case)
                    except CaseError:
                        continue  # one part of it contradicts another, so that nobody can ask it
                    yield _Asked(f"{rule.name}/{name}{suffix}", read, facts, steps)

    def places_of(self, pack: Pack) -> Sequence[str]:
        """Return where a pack is tried: in its own place; the baseline in one country; an overlay wherever asked."""
        if pack.kind in OVERLAYS:
            return self.codes or self.rulebook.codes
        if pack.kind != "baseline":
            return (pack.id,)
        held = [country for country in COUNTRIES if country in self.rulebook.packs]
        if not held:
            raise UnknownJurisdictionError(COUNTRIES[0], True, self.rulebook.codes)
        return held[:1]

    def of_rule(self, rule: Rule, place: str, on: date) -> Varied:
        """Yield every variation of one rule in one place, by name; the rule binds on the day `on`."""
        own = [activity for activity in ACTIVITIES if activity in rule.activities]
        for activity in own:
            prefix = f"{activity}/" if len(own) > 1 else ""
            case = self.start(rule, place, activity, on)
            for name, varied in (*_of_what_it_says(rule, case), *_of_where_it_applies(rule, case)):
                yield f"{prefix}{name}", varied
        for activity in other_activities(rule):
            case = self.start(rule, place, activity, on)
            for name, varied in _of_what_it_says(rule, case):
                # Where the rule is silent, one case that it would bar shows that it is.
                if name == "violated" or rule.activities & set(answering(activity)):
                    yield f"under-{activity}/{name}", varied

    # --- places

    def places(self) -> Iterator[_Asked]:
        """Yield, for every place and activity, an ordinary tire, and a case of which nothing is known.

        They show what a place answers that has no rule of its own, or whose law nobody has read.
        """
        held = {pack.id for pack in self.rulebook.packs_for(self.codes or self.rulebook.codes)}
        for code in (code for code in self.rulebook.codes if code in held):
            on = self.rulebook.packs[code].reviewed
            for activity in ACTIVITIES:
                # No rule's id has a point in it, so these names are free.
                name = f"{code}/plain.{activity}"
                case = self.start(_silent(code, activity), code, activity, on)
                yield _Asked(f"{name}/start", case_from_json(case), _ESSENTIAL)
                yield _Asked(f"{name}/nothing-known", Case((code,), activity, on), _ESSENTIAL)


def day_of(pack: Pack, rule: Rule) -> date:
    """Return the day of the pack's review, or of the days on which the rule binds the one nearest to it."""
    if rule.start is not None and pack.reviewed < rule.start:
        return rule.start
    if rule.end is not None and pack.reviewed >= rule.end:
        return rule.end - timedelta(days=1)
    return pack.reviewed


def _of_what_it_says(rule: Rule, case: Json) -> Varied:
    yield "start", case
    yield from of_body(rule, case)
    bad = violated(rule, case)
    if bad is not None:
        yield "violated", bad


def _of_where_it_applies(rule: Rule, case: Json) -> Varied:
    shown = violated(rule, case) or case
    yield from of_conditions(rule, case, shown)
    yield from of_dates(rule, shown)


def _silent(code: str, activity: Activity) -> Rule:
    """Return a rule that says nothing, to start from where no rule is meant."""
    source = Source("none", "none", "company", "memory")
    return Rule("plain", code, "Nothing.", frozenset({activity}), (), Require(()), source)
