"""Generators for the algebra: few distinct values, so that ties and collisions are common."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

from tirerules.strictest.bounds import Ceiling, Constraint, Floor, Interval, Permitted, Prohibited, Strictest

#: The usual figures of the trade in mm, with both sides of the dual 1/4 in (6 mm).
numbers = st.sampled_from([Fraction(n) for n in (0, 3, 6, 8, 10)] + [Fraction(127, 20), Fraction(381, 40)])
words = st.frozensets(st.sampled_from(["crown", "shoulder", "belt-edge", "sidewall", "bead"]))
answers = st.sampled_from([True, False, None])

constraints: st.SearchStrategy[Constraint] = st.one_of(
    st.builds(Ceiling.of, numbers, st.booleans()),
    st.builds(Floor.of, numbers, st.booleans()),
    st.builds(Permitted, words),
    st.builds(Prohibited, words),
)
elements = st.lists(constraints, max_size=5).map(lambda found: Strictest.of(*found))
intervals = st.tuples(numbers, numbers).map(lambda pair: Interval(min(pair), max(pair)))
values = st.one_of(intervals, st.sampled_from(["crown", "shoulder", "bead"]).map(lambda word: frozenset({word})))
