"""A law cited without a section: nobody can look it up.

Lenient: a section sign, a word for a part of a law with its number, a number in parts (393.75, 39-75-210, 120(1)), or
an abbreviation with a number will do; a year alone will not. An inspection manual or an agency's page may have no
numbers at all, so there it is information.

Bad, `citation-section`::

    sources:
      act: {citation: Invented Tire Act 2019, authority: statute, evidence: text-read}
    rules:
      - id: tread
        says: Invented.
        activity: [repair]
        limit: {fact: tire.tread_depth, at-least: 3 mm}
        source: act

Bad, `manual-section`::

    sources:
      manual: {citation: Invented inspection manual, authority: inspection-manual, evidence: text-read}
    rules:
      - id: tread
        says: Invented.
        activity: [repair]
        limit: {fact: tire.tread_depth, at-least: 3 mm}
        source: manual

Good::

    sources:
      act: {citation: "Invented Tire Act 2019, s. 4(1)", authority: statute, evidence: text-read}
    rules:
      - id: tread
        says: Invented.
        activity: [repair]
        limit: {fact: tire.tread_depth, at-least: 3 mm}
        source: act
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from tirerules.authoring.checks._subject import Check, Code, Subject
from tirerules.errors import Problem

__all__ = ["CHECK"]

_STATUTE: Final = Code("citation-section", "warning", "a statute or regulation is cited without a section")
_MANUAL: Final = Code("manual-section", "information", "an inspection manual is cited without a section")
#: Words for a part of a law, in English and in the French and Spanish that the packs' laws are written in.
_PART: Final = (
    r"section|secs?|ss?|articles?|arts?|art[ií]culos?|rules?|rr?|regulations?|regs?|règlements?|paragraphs?|paras?|"
    r"items?|parts?|pt|chapters?|chap|ch|c|clauses?|cl|appendix|app|titles?|tit|division|div|schedule|sched|annex|"
    r"no|nos"
)
_SECTION: Final = re.compile(
    rf"§|\b(?i:{_PART})\b\.?\s*(?:\d|[IVXLC]+\b|[A-Z]\b)"  # § 5, s. 5, Part IV, Appendix A
    r"|\d[A-Za-z]?[.:/–-]\d|\d\([0-9A-Za-z]+\)"  # 393.75, 39-75-210, 122/2009, 120(1)
    r"|\b[A-Z]{2,}\s+\d"  # MCL 257
)


def _find(subject: Subject) -> Iterator[Problem]:
    for key, source in subject.pack.sources.items():
        if source.law and not _SECTION.search(source.citation):
            manual = source.authority == "inspection-manual"
            yield subject.finding(
                _MANUAL if manual else _STATUTE,
                ("sources", key, "citation"),
                f"the citation {source.citation!r} names no section",
                "write the section or the page where the rule stands, if it has one"
                if manual
                else "write the section where the rule stands, as in: Example Code § 1-2-3",
            )


CHECK: Final = Check((_STATUTE, _MANUAL), _find)
