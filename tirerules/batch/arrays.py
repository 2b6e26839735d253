"""Many rows at once: what `tirerules.index` does with one case's bits, done with columns of them.

The rows of a table are sorted by plan (place, activity, reading, span of days). Of every plan and column, each value
has four words of bits, one bit for each rule; what is known of a row is the OR of the words of its values. Python runs
for each plan, each value and each distinct answer, never for each row. Rows that state what must be worked out first
(measurements from the center line, several injuries or earlier repairs), rows whose plan is too large for a word, and
rows that cannot be decided yet are left to `Rulebook.decide`.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
import pyarrow as pa

from tirerules.batch.answers import Answer, answer_of
from tirerules.batch.tickets import COLUMNS, value_of
from tirerules.errors import TirerulesError
from tirerules.index.packing import Packer, unplaced
from tirerules.index.plain import plain_case
from tirerules.index.plan import Plan
from tirerules.rulebook import Rulebook
from tirerules.words import CURED_BY_REPAIR, REPAIR_METHODS
