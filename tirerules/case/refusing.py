"""What is wrong with a case, told with every path and cure at once; and the words of each refusal.

A case in JSON is walked here only after the reader (`tirerules.case.reading`) has refused it. What is odd and can be
read all the same (a mapping that is no dict, a tuple for a list) comes out as the row that the reader would have made.
"""

from __future__ import annotations

from collections.abc import Mapping

from tirerules.case.checks import contradictions
from tirerules.case.reading import BLOCKS, KEYS, LISTS, Refused, day
from tirerules.case.row import TIRE, CaseRow
from tirerules.errors import CaseError, Problem, QuantityError, nearest
from tirerules.everyday import offers
from tirerules.packs.rule import READINGS
from tirerules.quantities import EXAMPLES, Measured, measure, quantity
from tirerules.scales import date_code, position, size
from tirerules.vocabulary import FACTS, FINDINGS, METHODS, ZONE_EVIDENCE, Activity, Dimension, Fact, Kind

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from typing import Any

    from tirerules.case.reading import Keys
    from tirerules.case.row import Layout
    from tirerules.case.views import RepairUnit

__all__ = ["problem_with", "refused", "word_problems"]

#: How the text of a fact is read, by its key; reading it proves that it can be read.
_READERS: Mapping[str, Callable[[str], object]] = {"size": size, "date_code": date_code, "clock": position}


def problem_with(fact: Fact, value: Any) -> tuple[str, str] | None:
    """Return what is wrong with `value` for `fact` and what to write instead, or None."""
    match fact.kind:
        case Kind.QUANTITY:
            assert fact.dimension is not None  # INVARIANT: every quantity has a dimension
            if isinstance(value, Measured) and value.dimension is fact.dimension:
                return None
            return f"{fact.name} must be a measured {fact.dimension}", f"write {EXAMPLES[fact.dimension]}"
        case Kind.FLAG:
            return None if isinstance(value, bool) else (f"{fact.name} must be true or false", "")
        case Kind.COUNT:
            whole = isinstance(value, int) and not isinstance(value, bool) and value >= 0
            return None if whole else (f"{fact.name} must be a whole number, 0 or more", "")
        case Kind.GRID:
            return _problem_with_grid(fact, value)
        case Kind.TEXT:
            return _problem_with_text(fact, value)
        case _:
            return _problem_with_word(fact.name, value, fact.values)


def _problem_with_text(fact: Fact, value: Any) -> tuple[str, str] | None:
    if not isinstance(value, str):
        return f"{fact.name} must be text", ""
    try:
        _READERS[fact.key](value)
    except QuantityError as error:
        return f"{error.text!r} {error.reason}", error.hint
    return None


def _problem_with_grid(fact: Fact, value: Any) -> tuple[str, str] | None:
    rows = value if isinstance(value, tuple) else ()
    if not all(isinstance(each, Measured) and each.dimension is fact.dimension for row in rows for each in row):
        return f"{fact.name} must hold measured depths", "write one list of depths for each place around the tire"
    if not rows or not rows[0] or len({len(row) for row in rows}) > 1:
        return f"{fact.name} must have a reading for every groove at every place", "measure the missing ones"
    return None


def _problem_with_word(name: str, value: Any, words: tuple[str, ...]) -> tuple[str, str] | None:
    if isinstance(value, str) and value in words:
        return None
    meant = offers(value, words) if isinstance(value, str) else ()
    hint = f"did you mean {' or '.join(meant)}?" if meant else f"one of: {', '.join(words)}"
    return f"{value!r} is no {name}", hint


def _refuse(path: str, found: tuple[str, str] | None) -> Iterator[Problem]:
    if found is not None:
        yield Problem("case-value", found[0], found[1], path=path)


def word_problems(
    activity: str,
    reading: str,
    method: str | None,
    unit: RepairUnit | None,
    findings: frozenset[str] | None,
    zones: str,
) -> Iterator[Problem]:
    """Yield what is outside the vocabulary among the words that stand on the case itself."""
    yield from _refuse("activity", _problem_with_word("activity", activity, tuple(Activity)))
    yield from _refuse("reading", _problem_with_word("reading", reading, READINGS))
    yield from _refuse("zones", _problem_with_word("zones", zones, ZONE_EVIDENCE))
    for path, word in (("method", method), ("repair_unit.method", unit and unit.method)):
        if word is not None:
            yield from _refuse(path, _problem_with_word("repair method", word, METHODS))
    for finding in sorted(findings or ()):
        yield from _refuse("findings", _problem_with_word("finding", finding, FINDINGS))


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

    def rows(self, said: Any, name: str) -> tuple[tuple[Any, ...], ...] | None:
        """Return the rows of a list; an empty block says that it is there and nothing is known of it."""
        items, (keys, layout) = self.listed(said, name), LISTS[name]
        rows = []
        for number, item in enumerate(items or ()):
            path = f"{name}[{number}]"
            if item is None:
                self.add(path, "this must be a block of keys", "an empty one, {}, says: nothing is known of it")
            row: list[Any] = [None] * len(layout)
            self.block(row, keys, layout, item, path)
            rows.append(tuple(row))
        return None if items is None else tuple(rows)

    def block(self, row: list[Any], keys: Keys, layout: Layout, said: Any, path: str) -> None:
        """Put what a block states into a row."""
        block = self.mapping(said, path)
        self.known_keys(block, list(keys), path)
        names = {place: fact for fact, place in layout.items()}
        for key, (place, _) in keys.items():
            if key in block:
                row[place] = self.value(FACTS[names[place]], block[key], f"{path}.{key}")

    def text(self, said: Any, path: str) -> str | None:
        if said is None or isinstance(said, str):
            if said and not said.isascii() and any("\ud800" <= each <= "\udfff" for each in said):
                self.add(path, f"{said!r} holds half a character, which no record can keep", "write UTF-8")
            return said
        self.add(path, "this must be text")
        return None

    def day(self, said: Any, path: str) -> str | None:
        if said is None:
            return None
        try:
            return day(said)
        except Refused:
            pass
        self.add(path, f"{said!r} is no day of the calendar", "write YYYY-MM-DD")
        return None

    def unit(self, said: Any) -> RepairUnit | None:
        block = self.mapping(said, "repair_unit")
        if not block:
            return None
        from tirerules.case.views import RepairUnit

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


def refused(said: Any) -> CaseRow:
    """Raise CaseError with every problem of a case; return the row of one that is only written in an odd way."""
    reader = _Reader()
    block = reader.mapping(said, "case") if said is not None else {}
    reader.known_keys(block, KEYS, "")
    for key in ("jurisdictions", "activity"):
        if block.get(key) is None:
            reader.add(key, "the key is missing", "every case names its jurisdictions and its activity", "case-key")
    tire: list[Any] = [None] * len(TIRE)
    for name, keys in BLOCKS.items():
        reader.block(tire, keys, TIRE, block.get(name), name)
    injuries, repairs = (reader.rows(block.get(name), name) for name in LISTS)
    codes = reader.words(block.get("jurisdictions"), "jurisdictions", 'write ["US-SC"]') or ()
    listed = reader.words(block.get("findings"), "findings", "an empty one says: inspected, nothing found")
    findings = None if listed is None else frozenset(listed)
    activity = reader.text(block.get("activity"), "activity")
    method = reader.text(block.get("method"), "method")
    reading = reader.text(block.get("reading"), "reading") or READINGS[0]
    zones = reader.text(block.get("zones"), "zones") or ZONE_EVIDENCE[0]
    on = reader.day(block.get("on"), "on")
    unit = reader.unit(block.get("repair_unit"))
    # That the activity is missing is told already.
    reader.problems += word_problems(activity or Activity.REPAIR, reading, method, unit, findings, zones)
    if not reader.problems:
        tire[TIRE["findings"]], tire[TIRE["method"]] = findings, method
        row = CaseRow(codes, str(activity), on, tuple(tire), injuries, repairs, unit, reading, zones)
        reader.problems += contradictions(row)
        if not reader.problems:
            return row
    raise CaseError(reader.problems)
