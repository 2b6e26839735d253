"""A decision as JSON text, by an encoder for each program: pieces encoded beforehand, joined by mask.

An `Encoder` holds, by the place of an instance and how it was judged, the pieces of its reason; and tables of what
follows from masks of instances: the limits on a fact, the requirements, the notices of rules. INVARIANT: all that it
holds is a function of the program; what depends on a case is made for its decision and not kept. The text equals
``json.dumps(decision_to_json(decision), ensure_ascii=False)``, its digest included.
"""

from __future__ import annotations

from functools import partial

from tirerules.case.writing import case_to_json
from tirerules.engine.explanation import RequirementTable
from tirerules.engine.limits import LimitTables
from tirerules.engine.notices import groups_of
from tirerules.engine.words import verdict_words
from tirerules.packs.files import digest
from tirerules.record.decisions import (
    FORM,
    geometry_to_json,
    lock_to_json,
    notice_to_json,
    question_to_json,
    requirement_to_json,
)
from tirerules.record.pieces import block, encoded, limits, listed
from tirerules.record.reasons import ReasonPieces, Reasons
from tirerules.vocabulary import VERDICTS

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from tirerules.decision import Decision
    from tirerules.engine.evaluator import Evaluation
    from tirerules.engine.limits import FactTable, Figures, Steps
    from tirerules.engine.parts import Notice, Question
    from tirerules.engine.program import Program
    from tirerules.record.pieces import Text

__all__ = ["Encoder", "digest_in", "written"]

#: The length of a digest as it is written.
_DIGEST = len("sha256:") + 64


def written(decision: Decision) -> str:
    """Return a decision as JSON text."""
    return decision.evaluation.program.once(Encoder).text(decision)


def digest_in(text: str) -> str:
    """Return the digest with which the text of a decision ends."""
    return text[-_DIGEST - 2 : -2]


class TextTable(dict):  # type: ignore[type-arg]  # key -> text
    """Texts by what they follow from, a fact or a kind of notice and masks of instances.

    INVARIANT: a text is a function of its key and the program; at most `BOUND` are kept, then all are made again.
    """

    BOUND = 1_000
    __slots__ = ()

    def kept(self, key: object, make: Callable[[], Text]) -> Text:
        """Return the text of a key; `make` makes it."""
        text: Text | None = self.get(key)
        if text is None:
            text = make()
            if len(self) >= self.BOUND:
                self.clear()
            self[key] = text
        return text


class Encoder:
    """Makes the texts of the decisions of one program."""

    #: How many digests are computed before OpenSSL is loaded, which does it faster and takes as long to load.
    FEW = 8
    __slots__ = ("_digests", "_fixed", "_program", "_reasons", "_texts")

    def __init__(self, program: Program) -> None:
        self._program, self._reasons, self._digests = program, ReasonPieces(program), 0
        self._texts = TextTable()
        #: What is the same in every decision of the program, since that is of one rulebook and of some of its places.
        self._fixed: dict[str, Text] = {}

    def text(self, decision: Decision) -> str:
        """Return a decision of this program as JSON text."""
        evaluation = decision.evaluation
        row, fixed = evaluation.row, self._fixed
        if not fixed:
            fixed["cautions"], fixed["engine"] = encoded(decision.cautions), encoded(decision.engine)
            fixed["packs"] = encoded(lock_to_json(decision.packs))
        reasons = Reasons(self._reasons, evaluation)
        verdict = encoded(VERDICTS[evaluation.verdict])
        activity = encoded(row.activity)
        say = encoded(verdict_words(row.activity, decision.verdict, decision.one_method))
        methods = listed(self._methods(evaluation, reasons))
        limited = self._limits(evaluation, reasons.figures)
        leading = encoded(evaluation.leading)
        shared = reasons.text(None, evaluation.looks, evaluation.gaps)
        geometry = encoded([geometry_to_json(each) for each in decision.geometry])
        questions = listed(map(self._question, decision.questions))
        requirements = self._requirements(evaluation)
        notices = self._notices(decision)
        case = encoded(case_to_json(row))
        on = encoded(row.on)
        cautions, packs, engine = fixed["cautions"], fixed["packs"], fixed["engine"]
        canonical = (
            f'{{"activity":{activity[1]},"case":{case[1]},"cautions":{cautions[1]},"engine":{engine[1]},'
            f'"form":{FORM},"geometry":{geometry[1]},"limits":{limited[1]},"limits_method":{leading[1]},"methods":{methods[1]},'
            f'"notices":{notices[1]},"on":{on[1]},"packs":{packs[1]},"questions":{questions[1]},"reasons":{shared[1]},'
            f'"requirements":{requirements[1]},"say":{say[1]},"verdict":{verdict[1]}}}'
        )
        return (
            f'{{"verdict": {verdict[0]}, "activity": {activity[0]}, "say": {say[0]}, "methods": {methods[0]}, '
            f'"limits": {limited[0]}, "limits_method": {leading[0]}, "reasons": {shared[0]}, '
            f'"geometry": {geometry[0]}, "questions": {questions[0]}, '
            f'"requirements": {requirements[0]}, "notices": {notices[0]}, '
            f'"cautions": {cautions[0]}, "case": {case[0]}, "packs": {packs[0]}, '
            f'"engine": {engine[0]}, "form": {FORM}, "on": {on[0]}, '
            f'"digest": "sha256:{self._digest(canonical.encode("ascii"))}"}}'
        )

    def _digest(self, canonical: bytes) -> str:
        if self._digests < self.FEW:
            self._digests += 1
            return digest(canonical)
        from hashlib import sha256

        return sha256(canonical).hexdigest()

    # --- parts

    def _methods(self, evaluation: Evaluation, reasons: Reasons) -> Iterator[Text]:
        for each in evaluation.methods:
            number = each.injury - 1
            looks = [look for look in evaluation.looks if look.injury == number]
            found = reasons.text(each.name, looks, evaluation.gaps_of(number, each.name))
            name, verdict = encoded(each.name)[0], VERDICTS[each.verdict]
            yield (
                f'{{"method": {name}, "injury": {each.injury}, "verdict": "{verdict}", "reasons": {found[0]}}}',
                f'{{"injury":{each.injury},"method":{name},"reasons":{found[1]},"verdict":"{verdict}"}}',
            )

    def _limits(self, evaluation: Evaluation, figures: Figures) -> Text:
        tables, kept = self._program.once(LimitTables), self._texts.kept
        return block(
            {
                fact: limits(tables.made(fact, steps, figures))
                if varies
                else kept((fact, steps), partial(_fact, tables[fact], steps))
                for fact, steps, varies in tables.steps(evaluation, figures)
            }
        )

    def _requirements(self, evaluation: Evaluation) -> Text:
        table = self._program.once(RequirementTable)
        steps = table.steps(evaluation)
        return self._texts.kept(steps, lambda: encoded([requirement_to_json(each) for each in table[steps]]))

    def _question(self, question: Question) -> Text:
        return self._texts.kept(question, lambda: encoded(question_to_json(question)))

    def _notices(self, decision: Decision) -> Text:
        found: list[Text] = []
        for key, notices in groups_of(decision.told):
            if key is None:
                found += [encoded(notice_to_json(each)) for each in notices]
            elif notices:
                found.append(self._texts.kept(key, partial(_inner, notices)))
        return listed(found)


def _fact(table: FactTable, steps: Steps) -> Text:
    """Return the text of what limits one fact."""
    return limits(table[steps])


def _inner(notices: Sequence[Notice]) -> Text:
    """Return the text of notices as they stand in a list."""
    shown, canonical = encoded([notice_to_json(each) for each in notices])
    return shown[1:-1], canonical[1:-1]
