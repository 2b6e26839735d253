"""How much of what is drawn is tried: a part by the ordinary run, all of it by `python -m pytest -m long`."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis.strategies import SearchStrategy

__all__ = ["law", "some_of"]

#: A long run draws so many times as many examples as the ordinary one.
TIMES = 10


def some_of(values: Iterable[Any], ordinary: int) -> list[Any]:
    """Return parameters of a test: the first `ordinary` of `values` for every run, the others for the long one."""
    return [
        value if place < ordinary else pytest.param(value, marks=pytest.mark.long) for place, value in enumerate(values)
    ]


def law(
    *drawn: SearchStrategy[Any], examples: int, **named: SearchStrategy[Any]
) -> Callable[[Callable[..., None]], Callable[[int], None]]:
    """Return a decorator that makes a test of a law: it holds for `examples` draws, and for `TIMES` as many when long.

    The law takes what the strategies draw, and no fixtures.
    """

    def decorate(claim: Callable[..., None]) -> Callable[[int], None]:
        @pytest.mark.parametrize("examples", some_of((examples, TIMES * examples), 1))
        def test(examples: int) -> None:
            how = settings(max_examples=examples, deadline=None, suppress_health_check=[HealthCheck.too_slow])
            how(given(*drawn, **named)(claim))()

        test.__name__, test.__doc__, test.__module__ = claim.__name__, claim.__doc__, claim.__module__
        return test

    return decorate
