"""Test vectors: boundary cases made from the packs, with their decisions, for software in other languages.

One module an idea: `figures` and `cases` (how a value and a case are written), `starting` (where the vectors of a rule
start), `bodies`, `treads` and `conditions` (what is varied), `planning` (all of them, each case once), `answers` (what
a decision says), `lines` (the file), `untried` (what it does not show), `checking` (whether a file still stands).

The same packs give the same bytes: nothing here reads a clock, and every list and set is put in order.
"""

from __future__ import annotations

from tirerules.authoring.vectors.checking import Checked, check
from tirerules.authoring.vectors.lines import Decided, decided
from tirerules.authoring.vectors.planning import Vector, plan
from tirerules.authoring.vectors.untried import Untried, shown_by, untried

__all__ = ["Checked", "Decided", "Untried", "Vector", "check", "decided", "plan", "shown_by", "untried"]
