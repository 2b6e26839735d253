"""What is still worth asking: the fewest facts whose answers could settle an open case, most decisive first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from itertools import combinations
from typing import Any, Final

from tests.reference.hearing import Heard
from tests.reference.oracle import Reading
from tests.reference.views import Need
from tests.reference.words import CHOICES, FINDINGS, FLAGS, ORDER, QUANTITIES, SCALES

__all__ = ["questions_of", "smallest_set"]

#: When so many sets of one size and less were tried in vain, larger ones are put together fact by fact.
_MOST_TRIED: Final = 20_000
_ANGLES: Final = ("injury.angle", "repairs.spacing_angle")


def questions_of(reading: Reading) -> list[dict[str, Any]]:
    """The questions of an open case, as a decision states them; nothing is asked that cannot change the verdict.

    What is open whatever the method must be settled; and of each injury one method, the one that is settled by the
    fewest questions, a section repair only where no unit will do. What no answer could settle is left out: the others
    could still end in a clear no.
    """
    if reading.verdict != "undetermined":
        return []
    unsettled = _unknown(reading.common)
    for number in range(1, len(reading.injuries) + 1):
        unsettled += _cheapest(reading, number, unsettled)
    injuries = len(reading.injuries)
    return [_question(need, injuries) for need in smallest_set([each for each in unsettled if each.needs])]


def smallest_set(unsettled: Sequence[Heard]) -> list[Need]:
    """The first of the smallest sets of facts that holds one of the needs of each, in the order of preference.

    The inspection comes first, since without it nothing else is worth measuring; then what many wait for; of equals
    what a rule limits, before what only decides whether it applies; then the order of the facts, and the subject.
    """
    open_ones = [each.needs for each in unsettled]
    weight = Counter(need for needs in open_ones for need in needs)
    limited = Counter(each.first for each in unsettled)

    def rank(need: Need) -> tuple[Any, ...]:
        return need[0] != "findings", -weight[need], -limited[need], ORDER.index(need[0]), need[1]

    # What nothing else could settle is asked anyway.
    chosen = {need for needs in open_ones if len(needs) == 1 for need in needs}
    rest = [needs for needs in open_ones if not needs & chosen]
    chosen |= _fewest(rest, sorted({need for needs in rest for need in needs}, key=rank), rank)
    return sorted(chosen, key=rank)


def _fewest(
    open_ones: list[frozenset[Need]], offered: list[Need], rank: Callable[[Need], tuple[Any, ...]]
) -> set[Need]:
    """The first smallest set of the facts that are offered which settles all that is open."""
    tried = 0
    for size in range(len(offered) + 1):
        for some in combinations(offered, size):
            if all(needs & set(some) for needs in open_ones):
                return set(some)
            tried += 1
        if tried > _MOST_TRIED:
            break
    chosen: set[Need] = set()
    while open_ones:
        hits = Counter(need for needs in open_ones for need in needs)
        best = min(hits, key=lambda need: (-hits[need], rank(need)))
        chosen.add(best)
        open_ones = [needs for needs in open_ones if best not in needs]
    return chosen


def _cheapest(reading: Reading, injury: int, unsettled: list[Heard]) -> list[Heard]:
    """What is open of repairing an injury by the method that is settled by the fewest questions."""
    options: list[tuple[tuple[bool, bool, int, int], list[Heard]]] = []
    for (number, method), found in reading.by_method.items():
        if number == injury and all(each.outcome != "fails" for each in found):
            unknown = _unknown(found)
            hopeless = any(not each.needs for each in unknown)
            cost = len(smallest_set([each for each in (*unsettled, *unknown) if each.needs]))
            options.append(((hopeless, method == "section", cost, len(options)), unknown))
    return min(options, key=lambda option: option[0])[1] if options else []


def _unknown(said: Sequence[Heard]) -> list[Heard]:
    return [each for each in said if each.outcome == "unknown"]


def _question(need: Need, injuries: int) -> dict[str, Any]:
    fact, subject = need
    if subject == "injury 1" and injuries == 1:
        subject = ""  # there is nothing to tell apart
    said = {"fact": fact, "subject": subject, "unit": _unit(fact)}
    return {key: text for key, text in said.items() if text} | _form(need)


#: Facts that are told by a list of injuries or repairs, of findings, as text, and as whole numbers.
_RECORDS: Final = ("injuries", "earlier_repairs")
_TEXTS: Final = ("tire.size", "tire.date_code", "injury.clock", "repair.clock")
_COUNTS: Final = ("vehicle.seats", "repairs.count")


def _form(need: Need) -> dict[str, Any]:
    """How a form asks for it: what is chosen from, in which units, and where the answer goes (RFC 6901)."""
    fact, subject = need
    words = {**CHOICES, **SCALES}.get(fact, ())
    if fact in FLAGS:
        kind, words = "flag", ("yes", "no")
    elif fact == "findings":
        kind, words = "set", FINDINGS
    elif words:
        kind = "choice"
    elif fact in _RECORDS:
        kind = "records"
    elif fact in _TEXTS:
        kind = "text"
    else:
        kind = "count" if fact in _COUNTS else "grid" if fact == "tire.tread_grid" else "quantity"
    said: dict[str, Any] = {"kind": kind, "several": kind in ("set", "records", "grid")}
    if words:
        said["choices"] = list(words)
    if kind in ("quantity", "grid"):
        said["units"] = _unit(fact).split(" or ")
    group, _, key = fact.rpartition(".")
    if group in ("injury", "repair"):
        subject = subject.removeprefix("the repair of ")
        new = subject.startswith("injury") or (group == "injury" and not subject)
        said["number"] = int(subject.rpartition(" ")[2] or 1)
        said["path"] = f"/{'injuries' if new else 'earlier_repairs'}/{said['number'] - 1}/{key}"
    else:
        said["path"] = "/" + fact.replace(".", "/")
    return said


def _unit(fact: str) -> str:
    if fact in _ANGLES:
        return "deg"
    if fact in ("vehicle.gvwr", "tire.age"):
        return {"vehicle.gvwr": "kg or lb", "tire.age": "years"}[fact]
    if fact in QUANTITIES or fact == "tire.tread_grid":
        return "mm or in"
    if fact in FLAGS:
        return "yes or no"
    return ", ".join({**CHOICES, **SCALES}.get(fact, ()))
