"""All rules that answer for one place, activity, day and reading, compiled to bits.

Bit `i` is the `i`-th rule by name, requirements behind all others. A plan is immutable but for what it remembers, which
is a function of its rules; it is shared between threads.
"""

from __future__ import annotations

from tirerules.index.bits import Reader, Table, admits_words
from tirerules.stated import NO_INJURIES, NO_REPAIRS, SEVERAL_INJURIES
from tirerules.vocabulary import JUDGES_REPAIRS, NO_HIGHWAY, settles
from tirerules.worked_out import REGROOVED

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from typing import Any, TypeAlias

    from tirerules.index.evaluate import Found
    from tirerules.index.packing import Packer
    from tirerules.index.rows import Row
    from tirerules.packs.rule import Rule

    #: What is known of an injury, and of the repair that it becomes; of one that was measured, the same by method too.
    Injured = tuple[int, int] | tuple[int, int, Mapping[str, tuple[int, int]]]
    #: What is known of a case: of the tire; of the tire with each pair of repairs, where there are pairs; of each
    #: earlier repair; of each injury; flags; the method; the findings. Of a list that is not recorded, there is one
    #: repair or injury of which nothing is known.
    Packed = tuple[int, tuple[int, ...], tuple[int, ...], tuple[Injured, ...], int, str | None, frozenset[str] | None]

    #: The names of the rules that a tire fails once it is repaired, by method.
    Failing: TypeAlias = "tuple[tuple[str, ...], ...]"

__all__ = [
    "NO_INJURIES",
    "NO_REPAIRS",
    "OWN_FIGURES",
    "PLACED",
    "REPAIR",
    "SEVERAL_INJURIES",
    "Memory",
    "Plan",
    "make_room",
]

#: The flags of a packed case, beside those of `tirerules.stated`: a figure follows from a measure of this very tire; of
#: several repairs, a place around the tire is known, on which it depends what is asked next.
OWN_FIGURES, PLACED = 4, 16

REPAIR = "repair"
_MOST_REMEMBERED = 5_000
#: Cases that are known alike get the same answer; so many are remembered by all plans of a rulebook together.
_MOST_FOUND = 20_000
#: What must be limited before anything can pass: the fact, and whether by a ceiling.
_SIZE, _TREAD, _REPAIRED_SIZE = "injury.diameter", "tire.tread_depth", "repair.diameter"


class Memory:
    """What several plans remember together, so that all of it stays within bounds."""

    __slots__ = ("_found", "after", "forms", "limits", "pieces")

    def __init__(self) -> None:
        #: Each memory of what was found that a plan has put something into, once for everything that was put there.
        self._found: list[dict[Any, Found]] = []
        #: The rules that a tire fails once it is repaired, by what is known of it then.
        self.after: dict[tuple[Any, ...], tuple[Failing, ...]] = {}
        #: The limits on a fact, by the names of the rules that set them.
        self.limits: dict[tuple[Any, ...], Any] = {}
        #: The text of their decisions with holes, and the pieces that such texts share.
        self.forms: dict[tuple[Any, ...], Any] = {}
        self.pieces: dict[str, str] = {}

    def keep(self, plan: Plan, key: Any, found: Found) -> Found:
        """Let `plan` remember what was found of cases that are known alike; a few kilobytes each."""
        if len(self._found) >= _MOST_FOUND:
            held, self._found = self._found, []
            for each in held:
                each.clear()
        self._found.append(plan.found)
        plan.found[key] = found
        return found

    def limits_by(self, key: tuple[Any, ...], make: Callable[[], Any]) -> Any:
        """Return the limits on a fact, made when they are first asked for."""
        limits = self.limits.get(key)
        if limits is None:
            limits = make_room(self.limits, _MOST_FOUND)[key] = make()
        return limits

    def keep_after(self, key: tuple[Any, ...], failing: tuple[Failing, ...]) -> tuple[Failing, ...]:
        """Remember the rules that a tire fails once it is repaired."""
        make_room(self.after, _MOST_FOUND)[key] = failing
        return failing


def make_room(known: dict[Any, Any], most: int) -> dict[Any, Any]:
    """Return what is known, but nothing of it if it has grown too large: it can be worked out again."""
    if len(known) >= most:
        known.clear()
    return known


class Plan:
    """Rules as bits. Public attributes are for this folder."""

    __slots__ = (
        "activity",
        "bands",
        "caches",
        "codes",
        "condition_rule",
        "conditions",
        "count",
        "doubt",
        "each_repair",
        "extendable",
        "fits",
        "found",
        "full",
        "groups",
        "implied",
        "in_order",
        "judging",
        "limiting",
        "memory",
        "names",
        "packer",
        "paired",
        "proving",
        "reading",
        "relative",
        "repair_guards",
        "repaired",
        "repairing",
        "rows",
        "since",
        "size_guards",
        "tables",
        "tread_guards",
        "unreviewed",
        "width",
    )

    def __init__(
        self,
        rows: Iterable[Row],
        activity: str,
        implied: Sequence[str],
        codes: Sequence[str],
        reading: str,
        unreviewed: bool,
        memory: Memory | None = None,
        since: str = "",
    ) -> None:
        """Compile `rows`, which are those in force `since` a day for the activity and for those it implies.

        `unreviewed` says that a place's law on the act was never read, so that nothing can pass there. Plans that share
        a `memory` share its limits.
        """
        # Rules that limit something come first, so that few low bits say all that a verdict needs.
        self.rows = sorted(rows, key=lambda row: (row["body"] is None, row["name"]))
        self.names = tuple(row["name"] for row in self.rows)
        self.count = len(self.rows)
        self.full = (1 << self.count) - 1
        self.activity, self.codes, self.reading, self.since = activity, tuple(codes), reading, since
        self.unreviewed, self.implied = unreviewed, tuple(implied)
        self.repairing = activity == REPAIR
        #: What is known of every case: that a rule which only tells of a contradiction never surely applies.
        self.doubt = self._where(lambda row: row["contradicts"]) << self.count
        #: Condition number -> its rule and its test.
        self.condition_rule: list[int] = []
        self.conditions: list[dict[str, Any]] = []
        self.tables: Mapping[str, Table] = self._tables(reading)
        #: How many bits a packed number has.
        self.width = 4 * self.count + len(self.conditions) + len(self.tables)
        self.groups = self._groups()
        leads_to = set(implied)
        #: Rules on what a repair leads to, as they judge repairs that a tire already carries.
        self.repaired = self._where(
            lambda row: (
                self.repairing
                and not leads_to.isdisjoint(row["activities"])
                and _groups_of(row, "repair", "injury", "method") == {"repair"}
            )
        )
        #: Rules that are judged once for each earlier repair.
        self.each_repair = self._where(lambda row: "repair" in row["groups"])
        self.paired = self._where(lambda row: "pair" in row["groups"])
        #: Rules that draw a band in which an injury must lie, and the measures of the tire that some follow from.
        self.bands = self._where(lambda row: bool(row["body"] and row["body"]["fact"] == "injury.reach"))
        #: Bands of law or trade that somebody looked up, which alone prove that what lies within is the crown.
        self.proving = self.bands & self._where(lambda row: not (row["overlay"] or row["memory"]))
        self.relative = {row["body"]["of"] for row in self.rows if row["body"] and "of" in row["body"]}
        self.extendable = self._where(lambda row: row["extendable"])
        #: Rules that limit a fact; and the numbers of all rules, in the order in which a case's answers are told.
        self.limiting = self._where(lambda row: row["body"] is not None)
        self.in_order = tuple(index for rules in self._told_in_order() for index in _numbers(rules))
        self.size_guards = self._guards(_SIZE)
        self.tread_guards = {code: self._guards(_TREAD, code) for code in codes}
        #: Of the rules that are judged for each earlier repair alone, those that limit its size; None where the trade
        #: does not judge what a tire carries.
        earlier = self._guards(_REPAIRED_SIZE) & self.group("", True)
        self.repair_guards = earlier if activity in JUDGES_REPAIRS else None
        self.judging = self._judging()
        self.fits = self._fits()
        self.memory = memory or Memory()
        self.found: dict[Any, Found] = {}
        #: What packs cases for this plan, once it was asked to.
        self.packer: Packer | None = None
        self.caches: dict[str, dict[Any, Any]] = {}

    def _where(self, test: Any) -> int:
        return sum(1 << index for index, row in enumerate(self.rows) if test(row))

    def _cures(self, row: Row) -> bool:
        """Whether the rule regulates only what the repair leads to, where findings that it removes are gone."""
        return self.repairing and self.activity not in row["activities"]

    def _tables(self, reading: str) -> dict[str, Table]:
        readers: dict[str, list[Reader]] = {}
        kinds: dict[str, str] = {}
        n = self.count
        for index, row in enumerate(self.rows):
            bit, cures = 1 << index, self._cures(row)
            for condition in row["when"]:
                number = len(self.conditions)
                self.conditions.append(condition)
                self.condition_rule.append(index)
                kinds[condition["fact"]] = condition["kind"]
                maybe = bit << n | 1 << (4 * n + number)
                reader = Reader(condition, no=bit, maybe=maybe, takes_out=bit, cures=cures, weak=False)
                readers.setdefault(condition["fact"], []).append(reader)
            body = row["body"]
            if body is not None:
                kinds.setdefault(body["fact"], body["kind"])
                test = None if "of" in body else body.get(reading, body)
                reader = Reader(
                    test,
                    no=self.body_bits(index)[0],
                    maybe=self.body_bits(index)[1],
                    takes_out=bit,
                    cures=cures,
                    weak=bool(body.get("counted")),
                )
                readers.setdefault(body["fact"], []).append(reader)
        above = 4 * n + len(self.conditions)
        return {
            fact: Table(fact, kinds[fact], readers[fact], 1 << (above + place))
            for place, fact in enumerate(sorted(readers))
        }

    def _groups(self) -> dict[tuple[str, bool], int]:
        """Return the rules by what they are judged for: (which of injury and method, whether each earlier repair)."""
        found: dict[tuple[str, bool], int] = {}
        for index, row in enumerate(self.rows):
            key = ("+".join(sorted(_groups_of(row, "injury", "method"))), "repair" in row["groups"])
            found[key] = found.get(key, 0) | 1 << index
        return found

    def group(self, name: str, each_repair: bool = False) -> int:
        """Return the rules judged for `name`: empty for the tire, ``injury``, ``method``, ``injury+method``."""
        return self.groups.get((name, each_repair), 0)

    def _told_in_order(self) -> list[int]:
        """Return the groups of rules in the order in which they are judged; a rule counts where it comes first."""
        groups = [self.group(name) | self.group(name, True) for name in ("", "injury", "injury+method", "method")]
        left, found = self.full, []
        for rules in (*groups, self.full):
            found.append(rules & left)
            left &= ~rules
        return found

    def word(self, fact: str, word: str | bool | frozenset[str] | None) -> int:
        """Return what `fact` does where it is `word`; where it is unknown, for None."""
        table = self.tables.get(fact)
        return 0 if table is None else int(table[word])

    def open_conditions(self, packed: int, rules: int) -> list[int]:
        """Return the numbers of the conditions of `rules` that are open."""
        above = packed >> 4 * self.count
        open_ = _numbers(above & (1 << len(self.conditions)) - 1)
        return [number for number in open_ if rules >> self.condition_rule[number] & 1]

    def open_facts(self, packed: int, rules: int) -> tuple[str, ...]:
        """Return the facts that open conditions of `rules` read."""
        return tuple(dict.fromkeys(self.conditions[number]["fact"] for number in self.open_conditions(packed, rules)))

    def body_bits(self, at: int) -> tuple[int, int]:
        """Return the bits of a rule whose body is not satisfied, and of one for which that cannot be told."""
        bit = 1 << at
        return bit << 2 * self.count, bit << 2 * self.count | bit << 3 * self.count

    def _guards(self, fact: str, code: str | None = None) -> int:
        """Return the rules of law or trade that limit `fact` (in one place): without one, nothing can pass."""

        def guards(row: Row) -> bool:
            if row["overlay"] or row["memory"] or row["body"] is None or row["contradicts"]:
                return False
            place = row["pack"]
            if code is None and not settles(place, self.codes):
                return False
            if code is not None and place[:1].isupper() and place not in (code, code.partition("-")[0]):
                return False
            body = row["body"]
            return bool(body["fact"] == fact and body.get("guards") is (fact != _TREAD))

        return self._where(guards)

    def _judging(self) -> dict[str, int]:
        """Return the rules that judge each finding, by disqualifying it or by applying because of it.

        One that reads whether the tire was regrooved judges a regroove; one that permits or prohibits classes, those
        that are made for no highway.
        """
        found: dict[str, int] = {}
        for index, row in enumerate(self.rows):
            if row["overlay"] or not settles(row["pack"], self.codes):
                continue
            tests = [test for test in row["when"] if test["kind"] == "set" and test["negated"]]
            if row["body"] is not None and row["body"]["fact"] == "findings":
                tests.append(row["body"])
            judged = {word for test in tests for word in test["prohibited"]}
            read = [*row["when"], *([] if row["body"] is None else [row["body"]])]
            if any(test["fact"] == REGROOVED for test in read):
                judged.add("regroove")
            body = row["body"]
            if body is not None and body["fact"] == "tire.class":
                words = NO_HIGHWAY if body["permitted"] is not None else body["prohibited"]
                judged |= {NO_HIGHWAY[word] for word in words if word in NO_HIGHWAY}
            for word in judged:
                found[word] = found.get(word, 0) | 1 << index
        return found

    def _fits(self) -> bool:
        """Whether every rule is of a sort that bits can judge; else the reference decides."""
        guards = self.size_guards
        for tread in self.tread_guards.values():
            guards |= tread
            # A floor on tread is looked for on the tire as a whole.
            if not self.repairing and tread & ~self.group(""):
                return False
        for index, row in enumerate(self.rows):
            if guards >> index & 1:
                cured = self._cures(row) and any(test["kind"] == "set" for test in row["when"])
                if cured or _groups_of(row, "repair", "pair"):
                    return False
            body = row["body"]
            bands = ("injury.reach",) if self.repaired >> index & 1 else ("injury.reach", "repair.reach")
            if body is not None and "of" in body and body["fact"] not in bands:
                return False
        return True

    def of_class(self, class_: str) -> Plan:
        """Return the plan of the rules that may apply to tires of one class; it decides these as this one does."""
        known = self.cache("of class")
        if class_ not in known:
            rows = [row for row in self.rows if all(_admits(test, class_) for test in row["when"])]
            asked = (self.activity, self.implied, self.codes, self.reading, self.unreviewed)
            known[class_] = Plan(rows, *asked, self.memory, self.since)
        plan: Plan = known[class_]
        return plan

    def picked(self, rules: Sequence[Rule], mask: int) -> list[Rule]:
        """Return those of `rules`, which stand in the order of the plan, that are in a mask."""
        return [rules[at] for at in _numbers(mask)]

    def names_in(self, rules: int) -> tuple[str, ...]:
        """Return the names of the rules in a mask, in order."""
        known = self.cache("names")
        if rules not in known:
            known[rules] = tuple(self.names[at] for at in _numbers(rules))
        names: tuple[str, ...] = known[rules]
        return names

    def cache(self, name: str) -> dict[Any, Any]:
        """Return what is remembered under a name; each is a function of its key and of the plan."""
        known = self.caches.setdefault(name, {})
        return known if len(known) < _MOST_REMEMBERED else make_room(known, _MOST_REMEMBERED)


def _numbers(rules: int) -> list[int]:
    """Return the numbers of the rules in a mask."""
    found = []
    while rules:
        lowest = rules & -rules
        found.append(lowest.bit_length() - 1)
        rules ^= lowest
    return found


def _admits(test: dict[str, Any], class_: str) -> bool:
    return test["fact"] != "tire.class" or admits_words(test, frozenset({class_}))


def _groups_of(row: Row, *names: str) -> set[str]:
    return {name for name in names if name in row["groups"]}
