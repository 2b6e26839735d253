"""Running a pack's own examples: the case as written, decided by the pack together with the packs it stands on.

Where the decision is not what the example expects, each difference is told on its own, with what decided instead.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from tirerules.decision import Decision
from tirerules.engine.parts import Outcome, Reason, Verdict
from tirerules.errors import CaseError, TirerulesError, UnknownJurisdictionError, nearest
from tirerules.packs.pack import Example, Pack
from tirerules.packs.reading import Path
from tirerules.packs.rule import Rule
from tirerules.rulebook import Rulebook
from tirerules.vocabulary import Activity, answering

__all__ = ["Difference", "Ran", "asked", "deciding", "holds", "run_examples"]

#: Which reasons "because" speaks of, by verdict.
_DECIDING: Final = {
    Verdict.WITHIN: Outcome.PASSES,
    Verdict.OUTSIDE: Outcome.FAILS,
    Verdict.UNDETERMINED: Outcome.UNKNOWN,
}
_FIRST: Final = (Outcome.FAILS, Outcome.UNKNOWN)
_STEP: Final = re.compile(r"\[(\d+)\]|([^.\[\]]+)")


@dataclass(frozen=True, slots=True)
class Difference:
    """One way in which an example is not what it expects. `path` is the place within the example."""

    path: Path
    message: str
    hint: str = ""
    key: bool = False  #: whether the place is the key itself rather than its value


@dataclass(frozen=True, slots=True)
class Ran:
    """One example that was run, by its position in the pack."""

    number: int
    decision: Decision | None  #: None where its case cannot be decided
    differences: tuple[Difference, ...]

    @property
    def failing(self) -> frozenset[str]:
        """The names of the rules that surely fail, for the tire or for one of the methods."""
        return self._with(Outcome.FAILS)

    @property
    def unsettled(self) -> frozenset[str]:
        """The names of the rules of which it is not known whether they are satisfied."""
        return self._with(Outcome.UNKNOWN)

    def _with(self, outcome: Outcome) -> frozenset[str]:
        reasons = _reasons(self.decision) if self.decision else ()
        return frozenset(reason.rule for reason in reasons if reason.outcome is outcome)


def run_examples(pack: Pack, rulebook: Rulebook) -> Iterator[Ran]:
    """Decide every example of `pack` by `rulebook`, which holds it."""
    for number, example in enumerate(pack.examples):
        try:
            decision = rulebook.decide(asked(pack, example.case))
        except CaseError as error:
            wrong = (
                Difference(
                    _within(example, each.path),
                    f"the case is wrong at {each.path}: {each.message}",
                    each.hint,
                    each.code == "case-key",
                )
                for each in error.problems
            )
            yield Ran(number, None, tuple(wrong))
        except TirerulesError as error:
            place = "jurisdictions" if isinstance(error, UnknownJurisdictionError) else ""
            said, _, cure = str(error).partition(" -- ")
            undecided = Difference(_within(example, place), f"the case cannot be decided: {said}", cure)
            yield Ran(number, None, (undecided,))
        else:
            yield Ran(number, decision, tuple(_compare(pack, example.expect, decision, rulebook)))


def asked(pack: Pack, case: Mapping[str, Any]) -> dict[str, Any]:
    """Return the case of an example as it is decided: on the day of the review and in the pack's place, if not said."""
    whole: dict[str, Any] = {"on": pack.reviewed.isoformat(), **case}
    if pack.kind in ("country", "jurisdiction"):
        whole.setdefault("jurisdictions", [pack.id])
    return whole


def holds(pack: Pack, expect: Mapping[str, Any], decision: Decision) -> bool:
    """Whether a decision is what an example of `pack` expects."""
    return next(_differing(pack, expect, decision), None) is None


def deciding(decision: Decision) -> frozenset[str]:
    """Return the names that `because` may give for a decision: the rules whose outcome is that of the verdict."""
    wanted = _DECIDING[decision.verdict]
    return frozenset(reason.rule for reason in _reasons(decision) if reason.outcome is wanted)


def _within(example: Example, path: str) -> Path:
    """Return the place in the example that a path such as ``injuries[0].diameter`` names, as far as it is written."""
    here: Any = example.case
    found: list[str | int] = ["case"]
    for number, key in _STEP.findall(path):
        step = int(number) if number else key
        if not (isinstance(here, list) and number) and not (isinstance(here, Mapping) and step in here):
            break
        here = here[step]
        found.append(step)
    return tuple(found)


def _compare(pack: Pack, expect: Mapping[str, Any], decision: Decision, rulebook: Rulebook) -> Iterator[Difference]:
    for path, message, rules in _differing(pack, expect, decision):
        yield Difference(path, message, _told(rules, decision, rulebook))


def _differing(pack: Pack, expect: Mapping[str, Any], decision: Decision) -> Iterator[tuple[Path, str, Sequence[str]]]:
    """Yield where a decision is not what was expected, and in which words; with the rules that the words are about."""
    named, barred = (
        [name if "/" in name else f"{pack.id}/{name}" for name in expect.get(key, ())]
        for key in ("because", "not-because")
    )
    if expect["verdict"] != decision.verdict:
        yield ("expect", "verdict"), f"expected {expect['verdict']}, got {decision.verdict}", named
    known = deciding(decision) if named or barred else frozenset()
    for at, rule in enumerate(named):
        if rule not in known:
            yield ("expect", "because", at), f"expected because of {rule}, which does not decide it", [rule]
    for at, rule in enumerate(barred):
        if rule in known:
            yield ("expect", "not-because", at), f"expected not because of {rule}, which decides it", [rule]
    for method, wanted in expect.get("methods", {}).items():
        got = {verdict.verdict for verdict in decision.methods if verdict.method == method}
        if got != {wanted}:
            message = f"expected {method} {wanted}, got {', '.join(sorted(got)) or 'no such method'}"
            yield ("expect", "methods", method), message, ()
    if "questions" in expect and list(decision.asked) != list(expect["questions"]):
        message = f"expected the questions {list(expect['questions'])}, got {list(decision.asked)}"
        yield ("expect", "questions"), message, ()
    steps = [each.step for each in decision.requirements] if "steps" in expect else []
    if steps != list(expect.get("steps", ())):
        yield ("expect", "steps"), f"expected the steps {list(expect['steps'])}, got {steps}", ()


def _reasons(decision: Decision) -> tuple[Reason, ...]:
    return (*decision.reasons, *(reason for method in decision.methods for reason in method.reasons))


def _line(reason: Reason) -> str:
    measured = f"{reason.fact} {reason.measured}".rstrip()
    limit = f", {reason.limit}" if reason.limit else ""
    return f"{reason.rule} {reason.outcome} ({measured}{limit})"


def _told(expected: Iterable[str], decision: Decision, rulebook: Rulebook) -> str:
    """What decided it, a line for each rule: those expected, those that fail, those that could not be judged."""
    open_ = [reason for reason in _reasons(decision) if reason.outcome is not Outcome.PASSES]
    open_.sort(key=lambda reason: _FIRST.index(reason.outcome))
    lines = [
        *(line for name in expected for line in _instead(name, decision, rulebook)),
        *(_line(reason) for reason in open_),
    ]
    return "\n".join(dict.fromkeys(lines)) or "every rule passes"


def _instead(name: str, decision: Decision, rulebook: Rulebook) -> Sequence[str]:
    """What an expected rule did, whether it decides the case or not."""
    found = [_line(reason) for reason in _reasons(decision) if reason.rule == name]
    if found:
        return found
    pack = rulebook.packs.get(name.partition("/")[0])
    rules: Mapping[str, Rule] = {rule.name: rule for rule in pack.rules} if pack else {}
    if name in rules:
        return [f"{name} was not judged: {_not_judged(rules[name], decision)}"]
    if name.startswith("engine/"):
        return [f"{name} does not arise"]
    offers = nearest(name, rules)
    return [f"there is no rule {name}" + (f"; did you mean {' or '.join(offers)}?" if offers else "")]


def _not_judged(rule: Rule, decision: Decision) -> str:
    if rule.pack not in decision.packs:
        return f"{rule.pack} does not answer for {', '.join(decision.case.jurisdictions)}"
    if not rule.activities & set(answering(Activity(decision.case.activity))):
        return f"it regulates {', '.join(sorted(rule.activities))}, not {decision.case.activity}"
    if not rule.in_force(decision.on):
        return f"it is not in force on {decision.on}"
    when = "; ".join(condition.text for condition in rule.conditions)
    return f"it applies where {when}" if when else "what it speaks of is not in the case"
