"""Decisions in the form of an earlier release: without what only later ones say.

A release may let decisions say more, such as a notice of a new kind or a further key. That is no other answer, so a
record is compared in the form of the release that wrote it, which its `engine` names. What a form leaves out is handed
over beside it, never dropped in silence. Nothing that an earlier release said is ever left out or said otherwise.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

from packaging.version import InvalidVersion, Version

from tirerules.errors import Problem, ReplayError

__all__ = ["Form", "form_of"]

#: No version has more characters.
_LONGEST: Final = 40

#: Blocks of a decision that stand by a name of their own: the limits by fact, the packs by id.
_BY_NAME: Final = ("limits", "packs")


@dataclass(frozen=True, slots=True)
class Form:
    """What decisions of one release, and of those before it that wrote the same, can say.

    `keys` maps a block to its keys: the decision itself under ``decision``, and each list or block under its key. A
    block that is not named there holds whatever it holds.
    """

    last: Version  #: the last release that wrote it
    keys: Mapping[str, frozenset[str]]
    notices: frozenset[str]  #: the kinds of notices

    def told(self, said: Mapping[str, Any]) -> tuple[dict[str, Any], tuple[str, ...]]:
        """Return a decision's JSON in this form, and in words what it says beyond it, each once."""
        beyond: dict[str, None] = {}
        return self._block("decision", said, beyond), tuple(beyond)

    def _block(self, block: str, said: Mapping[str, Any], beyond: dict[str, None]) -> dict[str, Any]:
        known = self.keys.get(block, said.keys())
        beyond |= dict.fromkeys(f"{block}.{key}" for key in said if key not in known)
        return {key: self._value(key, value, beyond) for key, value in said.items() if key in known}

    def _value(self, key: str, value: Any, beyond: dict[str, None]) -> Any:
        if key not in self.keys:
            return value
        if isinstance(value, list):
            if key == "notices":
                beyond |= dict.fromkeys(f"{each['kind']}: {each['text']}" for each in value if not self._knows(each))
                value = [each for each in value if self._knows(each)]
            return [self._block(key, each, beyond) for each in value]
        if key in _BY_NAME:
            return {name: self._block(key, each, beyond) for name, each in value.items()}
        return self._block(key, value, beyond)

    def _knows(self, notice: Mapping[str, Any]) -> bool:
        return notice["kind"] in self.notices


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


_REASON: Final = _words("rule fact subject measured limit outcome applies says extended citation authority evidence")
#: The forms that are no longer written, oldest first. One is added when a release lets decisions say more: that of the
#: release before it, which is never edited afterwards.
_FORMS: Final = (
    Form(
        last=Version("1.0.0"),
        keys=MappingProxyType(
            {
                "decision": _words(
                    "verdict activity say methods limits limits_method reasons geometry questions requirements notices "
                    "cautions case packs engine on digest"
                ),
                "methods": _words("method injury verdict reasons"),
                "limits": _words("at_most less_than at_least more_than permitted prohibited binding ladder"),
                "ladder": _words(
                    "rule limit as_enacted also_printed when applies extended citation authority evidence"
                ),
                "reasons": _REASON,
                "geometry": _words("injury offset known reach_outside reach_inside band rule margin"),
                "questions": _words("fact subject ask unit"),
                "requirements": _words("step say when rules"),
                "notices": _words("kind text rules"),
                "case": _words(
                    "jurisdictions activity on tire vehicle axle shop road sale repairs injuries earlier_repairs "
                    "findings method repair_unit reading"
                ),
                "packs": _words("version sha256"),
            }
        ),
        notices=_words("none-located partial not-reviewed gap evidence currency extension not-yet-in-force resale"),
    ),
    Form(
        last=Version("1.1.0"),
        keys=MappingProxyType(
            {
                "decision": _words(
                    "verdict activity say methods limits limits_method reasons geometry questions requirements notices "
                    "cautions case packs engine on digest"
                ),
                "questions": _words("fact subject ask unit"),
                "requirements": _words("step say when rules"),
                "notices": _words("kind text rules"),
            }
        ),
        notices=_words(
            "none-located partial not-reviewed gap evidence currency extension not-yet-in-force resale replaced "
            "zone-named carrier"
        ),
    ),
)


def form_of(engine: str, here: str) -> Form | None:
    """Return the form of a release's decisions; None where it is that of this library, whose version is `here`.

    A release later than this one has no form here. Raises ReplayError where `engine` is no version.
    """
    made, now = _version(engine), Version(here)
    return next((form for form in _FORMS if made <= form.last < now), None)


def _version(engine: object) -> Version:
    try:
        if isinstance(engine, str) and len(engine) <= _LONGEST:
            return Version(engine)
    except InvalidVersion:
        pass
    raise ReplayError([Problem("replay", "the decision names no version of the library", path="engine")])
