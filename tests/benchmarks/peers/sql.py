"""What the two query engines share: conditions in SQL over columns of whole numbers."""

from __future__ import annotations

from collections.abc import Collection

from tests.benchmarks.flat import codes_of, mask, name
from tests.benchmarks.peers.infix import Infix

__all__ = ["Sql"]


class Sql(Infix):
    """Conditions over the columns of `Flat.columns`."""

    conjunction = "AND"
    disjunction = "OR"

    def fact(self, fact: str) -> str:
        """Return a column's name, quoted because `on` is a word of the language."""
        return f'"{name(fact)}"'

    def inverse(self, text: str) -> str:
        """Return the negation of a condition."""
        return f"NOT ({text})"

    def same(self, fact: str, word: str, *, no: bool) -> str:
        """Whether a fact's code is that of `word`."""
        return f"{self.fact(fact)} {'<>' if no else '='} {codes_of(fact).index(word)}"

    def one_of(self, fact: str, words: Collection[str]) -> str:
        """Whether a fact's code is that of one of several words."""
        codes = sorted(codes_of(fact).index(word) for word in words)
        return f"{self.fact(fact)} IN ({', '.join(map(str, codes))})"

    def any_found(self, words: Collection[str]) -> str:
        """Whether any of the bits is set."""
        return f"(findings & {mask(frozenset(words))}) <> 0"
