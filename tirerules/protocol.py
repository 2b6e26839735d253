"""One message in, one message out: what a stream of lines and a service answer, whatever carries them.

`protocol.md`, beside this file, is the page for those who write the other end. A message is one JSON object of at most
`LONGEST` bytes: a case, or an envelope around one that says what is wanted. INVARIANT: every message is answered by
exactly one, in its order; a bad one costs only itself, and no answer depends on another.
"""

from __future__ import annotations

from tirerules.errors import CaseError, Problem, ProblemsError, TirerulesError
from tirerules.plain_json import ENCODE

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from typing import Any, Final

    from tirerules.decision import Decision
    from tirerules.rulebook import Rulebook
    from tirerules.vocabulary import Verdict

__all__ = ["ANSWERS", "LONGEST", "PROTOCOL", "Reply", "error_text", "held_to", "reply", "text_of"]

#: The number of the protocol: it grows when a message that was answered no longer would be, or otherwise.
PROTOCOL: Final = 1
#: The longest message, in bytes, its line end left out.
LONGEST: Final = 1_000_000
_LONGEST_ID: Final = 200
_KEYS: Final = ("id", "case", "answer", "about")


class Reply:
    """The answer to one message: its text, one line of JSON, and the verdict of a case.

    Without a verdict it is an error, or tells `about` the library.
    """

    __slots__ = ("about", "text", "verdict")

    def __init__(self, text: str, verdict: Verdict | None = None, *, about: bool = False) -> None:
        self.text, self.verdict, self.about = text, verdict, about


def _whole(decision: Decision) -> str:
    from tirerules.record.written import written

    return written(decision)


def _brief(decision: Decision) -> str:
    from tirerules.record.brief import decision_to_brief

    return ENCODE(decision_to_brief(decision))


def _further(decision: Decision) -> str:
    from tirerules.record.decisions import decision_to_json

    return ENCODE(decision_to_json(decision, further=True))


#: What may be asked for, the first where nothing is said -> what writes it.
ANSWERS: Final[Mapping[str, Callable[[Decision], str]]] = {"whole": _whole, "brief": _brief, "further": _further}


def text_of(decision: Decision, answer: str = "whole") -> str:
    """Return a decision as one line of JSON: whole, brief, or with what is told on request. Raises KeyError."""
    return ANSWERS[answer](decision)


def held_to(case: Any, most: int) -> None:
    """Refuse a case with more injuries or earlier repairs than `most`: each pair of them is judged.

    Raises CaseError. Who answers strangers bounds them; a hundred of each take seconds in a body of a few kB.
    """
    for name in ("injuries", "earlier_repairs"):
        listed = case.get(name) if isinstance(case, dict) else None
        if isinstance(listed, list) and len(listed) > most:
            raise _refused("case-count", f"more than {most} {name} are not answered here", "decide them apart", name)


def reply(rulebook: Rulebook, message: bytes, number: int, most: int | None = None) -> Reply:
    """Answer one message; `number` is that of its line, which an answer to a message without an id names.

    `most` bounds the lists of a case, where it is given (see `held_to`). What is wrong with a message is its answer.
    Raises what no one expects of the library: a defect.
    """
    from tirerules.record.parsing import parse

    where: dict[str, Any] = {"line": number}
    try:
        if len(message) > LONGEST:
            raise _refused("too-long", f"the message is longer than {LONGEST} bytes", "send cases one by one")
        try:
            said = parse(message.decode("utf-8"))
        except UnicodeDecodeError:
            raise _refused("not-utf-8", "the line is no UTF-8 text", "write UTF-8") from None
        enveloped = isinstance(said, dict) and any(key in said for key in _KEYS)
        if enveloped and "id" in said:
            where = {"id": _id(said["id"])}
        if most is not None:
            held_to(said.get("case") if enveloped else said, most)
        if enveloped:
            return _enveloped(rulebook, said)
        decision = rulebook.decide(said)
        return Reply(_whole(decision), decision.verdict)
    except ProblemsError as error:
        return Reply(error_text(error.problems, where))
    except TirerulesError as error:
        return Reply(error_text([Problem("case-place", str(error))], where))


def _enveloped(rulebook: Rulebook, said: Mapping[str, Any]) -> Reply:
    unknown = [key for key in said if key not in _KEYS]
    if unknown:
        raise _refused("message-key", f"unknown key {unknown[0]!r}", f"one of: {', '.join(_KEYS)}", unknown[0])
    marked = f'"id": {ENCODE(said["id"])}, ' if "id" in said else ""
    if "about" in said:
        return Reply(f'{{{marked}"about": {ENCODE(_about(rulebook))}}}', about=True)
    if "case" not in said:
        raise _refused("message-key", "the message holds no case", 'write {"id": 1, "case": {...}}', "case")
    wanted = said.get("answer", "whole")
    if not isinstance(wanted, str) or wanted not in ANSWERS:
        raise _refused("message-value", f"{wanted!r} is no answer", f"one of: {', '.join(ANSWERS)}", "answer")
    decision = rulebook.decide(said["case"])
    return Reply(f'{{{marked}"decision": {text_of(decision, wanted)}}}', decision.verdict)


def _id(said: Any) -> str | int:
    if type(said) is int or (isinstance(said, str) and len(said) <= _LONGEST_ID):
        return said
    raise _refused("message-value", "an id is a whole number or a short text", "", "id")


def _about(rulebook: Rulebook) -> dict[str, Any]:
    from tirerules._version import __version__
    from tirerules.record.decisions import FORM, lock_to_json

    return {"protocol": PROTOCOL, "engine": __version__, "form": FORM, "packs": lock_to_json(rulebook.lock)}


def _refused(code: str, message: str, hint: str = "", path: str = "") -> CaseError:
    return CaseError([Problem(code, message, hint, path=path)])


def error_text(problems: Iterable[Problem], where: Mapping[str, Any]) -> str:
    """Return the answer to a bad message: what is wrong with it, where and what to write instead, as one line.

    `where` is its id, which stands beside the error, or its line, which stands in it.
    """
    said = [
        {key: text for key in ("code", "path", "message", "hint") if (text := getattr(problem, key))}
        for problem in problems
    ]
    inside = {key: value for key, value in where.items() if key != "id"} | {"problems": said}
    return ENCODE({**({"id": where["id"]} if "id" in where else {}), "error": inside})
