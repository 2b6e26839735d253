"""The file of vectors: one line of JSON for each, in the order of their ids."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from tirerules.authoring.vectors.answers import Answer, answer
from tirerules.authoring.vectors.cases import Json
from tirerules.authoring.vectors.planning import Vector
from tirerules.rulebook import Rulebook

__all__ = ["Decided", "decided"]


@dataclass(frozen=True, slots=True)
class Decided:
    """A vector with its answer."""

    vector: Vector
    answer: Answer

    @property
    def json(self) -> Json:
        """The line as data, valid by `vectors.schema.json`."""
        vector = self.vector
        return {
            "id": vector.id,
            "also": list(vector.also),
            "case": vector.case,
            "expect": self.answer.expect(vector.facts, steps=vector.steps),
            **self.answer.provenance,
        }

    @property
    def text(self) -> str:
        """The line as written: ASCII alone, so that no terminal or locale can change its bytes."""
        return json.dumps(self.json, ensure_ascii=True)


def decided(rulebook: Rulebook, vectors: Iterable[Vector]) -> Iterator[Decided]:
    """Decide vectors one by one, in their order."""
    for vector in vectors:
        yield Decided(vector, answer(rulebook, vector.asked))
