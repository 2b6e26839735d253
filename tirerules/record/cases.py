"""Cases as JSON: read with every problem told at once, and written so that reading them back gives the same case."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields
from datetime import date
from typing import Any, Final

from tirerules.case import (
    Axle,
    Case,
    EarlierRepair,
    Injury,
    Repairs,
    RepairUnit,
    Road,
    Sale,
    Shop,
    Tire,
    Vehicle,
    problem_with,
    word_problems,
)
from tirerules.errors import CaseError, Problem, QuantityError, nearest
from tirerules.packs.rule import READINGS
from tirerules.quantities import measure, quantity
from tirerules.vocabulary import FACTS, ZONE_EVIDENCE, Activity, Dimension, Fact, Kind

__all__ = ["case_from_json", "case_to_json"]

_GROUPS: Final[Mapping[str, type]] = {
    "tire": Tire,
    "vehicle": Vehicle,
    "axle": Axle,
    "shop": Shop,
    "road": Road,
    "sale": Sale,
    "repairs": Repairs,
}
_LISTS: Final[Mapping[str, tuple[str, type]]] = {
    "injuries": ("injury", Injury),
    "earlier_repairs": ("repair", EarlierRepair),
}


class _Reader:
    """Reads one case, collecting problems instead of stopping at the first."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def add(self, path: str, message: str, hint: str = "", code: str = "case-value") -> None:
        self.problems.append(Problem(code, message, hint, path=path))

    def known_keys(self, said: Mapping[str, Any], known: Sequence[str], path: str) -> None:
        for key in said:
            if key not in known:
                offers = nearest(str(key), known)
                hint = f"did you mean {' or '.join(offers)}?" if offers else f"one of: {', '.join(known)}"
                self.add(f"{path}.{key}" if path else str(key), f"unknown key {key!r}", hint, "case-key")

    def mapping(self, said: Any, path: str) -> Mapping[str, Any]:
        if said is None:
            return {}
        if isinstance(said, Mapping):
            return said
        self.add(path, "this must be a block of keys")
        return {}

    def listed(self, said: Any, path: str, hint: str = "an empty one says: none") -> tuple[Any, ...] | None:
        """Return a list's items; None where it is not recorded, which is not the same as empty."""
        if said is None or isinstance(said, (list, tuple)):
            return None if said is None else tuple(said)
        self.add(path, "this must be a list", hint)
        return None

    def words(self, said: Any, path: str, hint: str) -> tuple[str, ...] | None:
        """Return a list of words, leaving out and telling what is none."""
        items = self.listed(said, path, hint)
        for number, item in enumerate(items or ()):
            if not isinstance(item, str):
                self.add(f"{path}[{number}]", "this must be text")
        return None if items is None else tuple(item for item in items if isinstance(item, str))

    def value(self, fact: Fact, said: Any, path: str) -> Any:
        if said is None:
            return None
        if fact.kind is Kind.QUANTITY:
            assert fact.dimension is not None  # INVARIANT: every quantity has a dimension
            dimension = fact.dimension
            return self.quantity(said, path, lambda text: measure(text, dimension))
        if fact.kind is Kind.GRID:
            said = self.grid(said, path)
        wrong = None if said is None else problem_with(fact, said)
        if wrong is None:
            return said
        self.add(path, *wrong)
        return None

    def grid(self, said: Any, path: str) -> tuple[tuple[Any, ...], ...] | None:
        """Return the readings by place and groove; None where one of them cannot be read."""
        before = len(self.problems)
        places = [(self.listed(place, f"{path}[{at}]") or ()) for at, place in enumerate(self.listed(said, path) or ())]
        rows = tuple(
            tuple(self.quantity(each, f"{path}[{row}][{groove}]", measure) for groove, each in enumerate(place))
            for row, place in enumerate(places)
        )
        return rows if len(self.problems) == before else None

    def quantity(self, said: Any, path: str, read: Callable[[Any], Any]) -> Any:
        try:
            return read(said)
        except QuantityError as error:
            self.add(path, f"{error.text!r} {error.reason}", error.hint, "quantity")
            return None

    def item(self, kind: type, group: str, said: Any, path: str) -> Any:
        """Return one injury or repair; an empty block says that it is there and nothing is known of it."""
        if said is None:
            self.add(path, "this must be a block of keys", "an empty one, {}, says: nothing is known of it")
        return self.group(kind, group, said, path)

    def group(self, kind: type, group: str, said: Any, path: str) -> Any:
        block = self.mapping(said, path)
        names = {each.name.rstrip("_"): each.name for each in fields(kind)}
        self.known_keys(block, list(names), path)
        found: dict[str, Any] = {}
        for key, field in names.items():
            name, here = f"{group}.{key}", f"{path}.{key}"
            if key not in block:
                continue
            found[field] = self.value(FACTS[name], block[key], here)
        return kind(**found)

    def text(self, said: Any, path: str) -> str | None:
        if said is None or isinstance(said, str):
            if said and not said.isascii() and any("\ud800" <= each <= "\udfff" for each in said):
                self.add(path, f"{said!r} holds half a character, which no record can keep", "write UTF-8")
            return said
        self.add(path, "this must be text")
        return None

    def date(self, said: Any, path: str) -> date | None:
        if said is None:
            return None
        try:
            if isinstance(said, str) and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", said):
                return date.fromisoformat(said)
        except ValueError:
            pass
        self.add(path, f"{said!r} is no day of the calendar", "write YYYY-MM-DD")
        return None

    def unit(self, said: Any) -> RepairUnit | None:
        block = self.mapping(said, "repair_unit")
        if not block:
            return None
        self.known_keys(block, ["method", "rated_angle", "document"], "repair_unit")
        method = self.text(block.get("method"), "repair_unit.method")
        if block.get("rated_angle") is None:
            self.add("repair_unit.rated_angle", "the key is missing", 'write its rating, such as "35 deg"')
            return None
        angle = self.quantity(
            block.get("rated_angle"), "repair_unit.rated_angle", lambda text: quantity(text, Dimension.ANGLE)
        )
        document = self.text(block.get("document"), "repair_unit.document")
        if method is None:
            self.add("repair_unit.method", "the key is missing", "name the method that the unit is for")
        return RepairUnit(method, angle, document) if method is not None and angle is not None else None


_KEYS: Final = tuple(each.name for each in fields(Case))


def case_from_json(said: Any) -> Case:
    """Read a case from its JSON form (a mapping). Raises CaseError with every problem found."""
    reader = _Reader()
    block = reader.mapping(said, "case") if said is not None else {}
    reader.known_keys(block, _KEYS, "")
    for key in ("jurisdictions", "activity"):
        if block.get(key) is None:
            reader.add(key, "the key is missing", "every case names its jurisdictions and its activity", "case-key")
    groups: dict[str, Any] = {
        group: reader.group(kind, group, block.get(group), group) for group, kind in _GROUPS.items()
    }
    lists: dict[str, Any] = {}
    for key, (group, kind) in _LISTS.items():
        items = reader.listed(block.get(key), key)
        lists[key] = items and tuple(
            reader.item(kind, group, item, f"{key}[{number}]") for number, item in enumerate(items)
        )
    places = reader.words(block.get("jurisdictions"), "jurisdictions", 'write ["US-SC"]') or ()
    findings = reader.words(block.get("findings"), "findings", "an empty one says: inspected, nothing found")
    plain: dict[str, Any] = {
        "activity": reader.text(block.get("activity"), "activity"),
        "method": reader.text(block.get("method"), "method"),
        "reading": reader.text(block.get("reading"), "reading") or READINGS[0],
        "zones": reader.text(block.get("zones"), "zones") or ZONE_EVIDENCE[0],
        "on": reader.date(block.get("on"), "on"),
        "repair_unit": reader.unit(block.get("repair_unit")),
        "jurisdictions": places,
        "findings": None if findings is None else frozenset(findings),
    }
    if reader.problems:
        activity = plain["activity"] or Activity.REPAIR  # that it is missing is told already
        words = (plain["reading"], plain["method"], plain["repair_unit"], plain["findings"], plain["zones"])
        reader.problems += word_problems(activity, *words)
        raise CaseError(reader.problems)
    return Case(**groups, **lists, **plain)


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    return value if isinstance(value, (bool, int, str)) else str(value)


def _group_to_json(group: Any) -> dict[str, Any]:
    values = ((each.name.rstrip("_"), getattr(group, each.name)) for each in fields(group))
    return {key: _plain(value) for key, value in values if value is not None}


def case_to_json(case: Case) -> dict[str, Any]:
    """Return the JSON form of a case; what is unknown is left out, what is empty stays."""
    said: dict[str, Any] = {"jurisdictions": list(case.jurisdictions), "activity": str(case.activity)}
    if case.on is not None:
        said["on"] = case.on.isoformat()
    for name in _GROUPS:
        if block := _group_to_json(getattr(case, name)):
            said[name] = block
    for name in _LISTS:
        records = getattr(case, name)
        if records is not None:
            said[name] = [_group_to_json(record) for record in records]
    if case.findings is not None:
        said["findings"] = sorted(case.findings)
    if case.method is not None:
        said["method"] = case.method
    if case.repair_unit is not None:
        said["repair_unit"] = _group_to_json(case.repair_unit)
    said["reading"] = case.reading
    if case.zones != ZONE_EVIDENCE[0]:  # left out as it always was, so that older records keep their digest
        said["zones"] = case.zones
    return said
