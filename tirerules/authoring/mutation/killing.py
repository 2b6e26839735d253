"""The example that would notice a mutant: looked for among the boundary cases of the rule and of its mutant.

An example is worth the more the plainer it shows the difference: by another verdict, else by the rules that decide,
else by how a method fares, by what is asked or must be done, else by a rule that must not decide. What it need not say
is left out, as far as the verdict stays the same and the mutant is still noticed; what the pack gives for all its
examples is not said again.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from tirerules.authoring.examples import asked, deciding, holds
from tirerules.authoring.mutation.operators import Mutant
from tirerules.authoring.mutation.running import Setting, can_touch, decided
from tirerules.authoring.vectors.cases import LISTS, Json
from tirerules.authoring.vectors.planning import Trying, day_of
from tirerules.decision import Decision
from tirerules.engine.parts import Verdict
from tirerules.errors import TirerulesError
from tirerules.packs.pack import OVERLAYS
from tirerules.packs.rule import Rule
from tirerules.record import case_from_json
from tirerules.rulebook import Rulebook

__all__ = ["Killer", "Search", "over"]

#: How plainly an example shows a difference.
_VERDICT, _BECAUSE, _METHOD, _QUESTIONS, _STEPS, _NOT_BECAUSE = range(6)
#: So many rules that decide are named where the changed rule is none of them.
_NAMED: Final = 2


@dataclass(frozen=True, slots=True)
class Killer:
    """An example as a pack writes it: the case over what the pack gives, and what is expected."""

    case: Mapping[str, Any]
    expect: Mapping[str, Any]


class Search:
    """Looks for examples for the mutants of one pack; what the pack as it stands decides is remembered."""

    def __init__(self, setting: Setting) -> None:
        self.setting = setting
        self.trying = Trying(setting.rulebook, _places(setting))
        self._truth: dict[str, Decision | None] = {}

    def killer(self, mutant: Mutant, changed: Rulebook) -> Killer | None:
        """Return an example that holds of the pack and fails on the mutant; None where none was found."""
        best: tuple[tuple[int, bool, int], Json, Json] | None = None
        for case in self._candidates(mutant):
            found = self._kills(case, mutant, changed)
            if found is None:
                continue
            plain, expect = found
            worth = (plain, expect["verdict"] == Verdict.UNDETERMINED, len(json.dumps(case)))
            if best is None or worth < best[0]:
                best = worth, case, expect
            if worth[:2] == (_VERDICT, False):
                break
        if best is None:
            return None
        return self._written(self._shortened(best[1], best[2], best[0][0], mutant, changed), mutant, changed)

    def kills(self, killer: Killer, changed: Rulebook) -> bool:
        """Whether a mutant does not satisfy an example that the pack as it stands satisfies."""
        case = self.setting.whole(killer.case)
        found = decided(changed, case)
        return found is None or not holds(self.setting.pack, killer.expect, found)

    # --- where to look

    def _candidates(self, mutant: Mutant) -> Iterator[Json]:
        """Yield the boundary cases of the mutant and of the rule that the change may touch, each once."""
        seen: set[str] = set()
        for rule in (mutant.changed, mutant.rule):
            if rule is None:
                continue
            for place in self.trying.places_of(self.setting.pack)[:1]:
                for case in self._boundaries(rule, place):
                    key = json.dumps(case, sort_keys=True)
                    if key not in seen and can_touch(mutant, case_from_json(case)):
                        yield case
                    seen.add(key)

    def _boundaries(self, rule: Rule, place: str) -> Iterator[Json]:
        """Yield the boundary cases of a rule that can be read; none where the packs do not answer for the place."""
        variations = self.trying.of_rule(rule, place, day_of(self.setting.pack, rule))
        while True:
            try:
                _, case = next(variations)
                case_from_json(case)
            except StopIteration:
                return
            except TirerulesError:  # a figure that no case can state, or no pack for the place: the rest may follow
                continue
            yield case

    # --- what shows the difference

    def _kills(self, case: Json, mutant: Mutant, changed: Rulebook) -> tuple[int, Json] | None:
        """Return how plainly a case shows the mutant, and what to expect of it; None where it does not."""
        key = json.dumps(case, sort_keys=True)
        if key not in self._truth:
            self._truth[key] = _decided(self.setting.rulebook, case)
        true = self._truth[key]
        other = _decided(changed, case) if true is not None else None
        if true is None or other is None:
            return None
        return self._difference(true, other, mutant)

    def _difference(self, true: Decision, other: Decision, mutant: Mutant) -> tuple[int, Json] | None:
        expect: Json = {"verdict": str(true.verdict)}
        names = deciding(true)
        own = mutant.rule.name in names
        if true.verdict != other.verdict:
            named = [mutant.rule.name] if own else self._naming(names, true.verdict)
            return _VERDICT, self._because(expect, named)
        lost = names - deciding(other)
        if lost:
            named = [mutant.rule.name] if mutant.rule.name in lost else self._naming(lost, true.verdict)
            return _BECAUSE, self._because(expect, named)
        expect = self._because(expect, [mutant.rule.name] if own else [])
        methods = _methods(true)
        differing = {name: said for name, said in methods.items() if _methods(other).get(name) != said}
        if differing:
            return _METHOD, expect | {"methods": differing}
        if true.asked != other.asked:
            return _QUESTIONS, expect | {"questions": list(true.asked)}
        if _steps(true) != _steps(other):
            return _STEPS, expect | {"steps": _steps(true)}
        if mutant.rule.name in deciding(other) - names:
            return _NOT_BECAUSE, self._because(expect, self._naming(names, true.verdict)) | {
                "not-because": [mutant.rule.id]
            }
        return None

    def _naming(self, names: frozenset[str], verdict: Verdict) -> list[str]:
        """Return which rules to name where the changed one does not decide: those of the pack first; few pass alone."""
        if verdict is Verdict.WITHIN:
            names = frozenset(name for name in names if name.startswith(f"{self.setting.pack.id}/"))
        return sorted(names, key=lambda name: (not name.startswith(f"{self.setting.pack.id}/"), name))[:_NAMED]

    def _because(self, expect: Json, names: list[str]) -> Json:
        prefix = f"{self.setting.pack.id}/"
        return expect | {"because": [name.removeprefix(prefix) for name in names]} if names else expect

    # --- how it is written

    def _shortened(self, case: Json, expect: Json, plain: int, mutant: Mutant, changed: Rulebook) -> Json:
        """Return the case without what it need not say, or with what is given in its place."""
        given = asked(self.setting.pack, self.setting.given)
        wanted = self._truth[json.dumps(case, sort_keys=True)]
        assert wanted is not None  # INVARIANT: a case that shows a difference was decided
        for shorter in _shortenings(case, given):
            tried = shorter(case)
            if tried is None or tried == case:
                continue
            found = self._kills(tried, mutant, changed)
            if found is None or found[0] > plain or found[1] != expect:
                continue
            true = self._truth[json.dumps(tried, sort_keys=True)]
            if true is not None and (wanted.verdict is not Verdict.UNDETERMINED or true.asked == wanted.asked):
                case = tried
        return case

    def _written(self, case: Json, mutant: Mutant, changed: Rulebook) -> Killer | None:
        found = self._kills(case, mutant, changed)
        assert found is not None  # INVARIANT: only what still kills was kept
        killer = Killer(over(case, asked(self.setting.pack, self.setting.given)), found[1])
        whole = self.setting.whole(killer.case)
        true = decided(self.setting.rulebook, whole)
        sound = true is not None and holds(self.setting.pack, killer.expect, true) and self.kills(killer, changed)
        return killer if sound else None


def _places(setting: Setting) -> tuple[str, ...]:
    """Return where an overlay is tried: where its examples are asked about, else in the first place there is."""
    if setting.pack.kind not in OVERLAYS:
        return ()
    codes = (code for each in setting.examples for code in each.case.jurisdictions)
    return tuple(dict.fromkeys((*codes, *setting.rulebook.codes)))[:1]


def _decided(rulebook: Rulebook, case: Json) -> Decision | None:
    try:
        return decided(rulebook, case_from_json(case))
    except TirerulesError:
        return None


def _methods(decision: Decision) -> dict[str, str]:
    """Return how each method fares that fares alike for every injury."""
    found: dict[str, set[str]] = {}
    for each in decision.methods:
        found.setdefault(each.method, set()).add(str(each.verdict))
    return {name: said for name, verdicts in found.items() if len(verdicts) == 1 for said in verdicts}


def _steps(decision: Decision) -> list[str]:
    return [each.step for each in decision.requirements]


def over(case: Mapping[str, Any], given: Mapping[str, Any]) -> Json:
    """Return what an example writes so that, laid over `given`, it says `case`: the inverse of `merged`."""
    said: Json = {}
    for key, value in case.items():
        before = given.get(key)
        if isinstance(value, dict) and isinstance(before, dict):
            part = over(value, before)
            said |= {key: part} if part else {}
        elif key not in given or value != before:
            said[key] = value
    return said | {key: None for key in given if key not in case}


# --- shorter cases ----------------------------------------------------------------------------------------------------

_Shorter = Callable[[Json], Json | None]


def _shortenings(case: Json, given: Mapping[str, Any]) -> Iterator[_Shorter]:
    """Yield what may make a case shorter, whole blocks first: a part as it is given, or left out where it is not."""
    keys = [key for key in dict.fromkeys((*case, *given)) if key != "activity"]
    yield from (_as_given((key,), given) for key in keys)
    for key in keys:
        parts = [block.get(key) for block in (case, given)]
        if all(isinstance(part, dict) or part is None for part in parts):
            yield from (_as_given((key, name), given) for name in dict.fromkeys((*(parts[0] or ()), *(parts[1] or ()))))
    for key in LISTS.values():
        for at, record in enumerate(case.get(key) or ()):
            yield from (_without((key, at, name)) for name in record)


def _as_given(path: tuple[str, ...], given: Mapping[str, Any]) -> _Shorter:
    def shorter(case: Json) -> Json | None:
        *blocks, last = path
        before: Any = given
        for each in blocks:
            before = before.get(each, {}) if isinstance(before, dict) else {}
        block = dict(case.get(blocks[0]) or {}) if blocks else dict(case)
        block.pop(last, None)
        if last in before:
            block[last] = before[last]
        if not blocks:
            return block
        return {**case, blocks[0]: block} if block else {key: part for key, part in case.items() if key != blocks[0]}

    return shorter


def _without(path: tuple[str, int, str]) -> _Shorter:
    key, at, name = path

    def shorter(case: Json) -> Json | None:
        records = list(case.get(key) or ())
        if at >= len(records) or name not in records[at]:
            return None
        records[at] = {each: value for each, value in records[at].items() if each != name}
        return {**case, key: records}

    return shorter
