"""Many threads on one rulebook, fresh or forgetting all the time, say what one thread says."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from itertools import islice
from random import Random
from threading import Barrier, Thread
from typing import Any

import pytest

import tirerules
from tests.engine.forgetting import keep
from tests.reference.drawing import drawn_cases
from tests.support import builtin_packs, injury, repair_case
from tirerules import case_from_json

THREADS = 8


@pytest.fixture
def _switching() -> Iterator[None]:
    """Let threads take turns as often as they can, so that they meet inside every step."""
    usual = sys.getswitchinterval()
    sys.setswitchinterval(1e-6)
    yield
    sys.setswitchinterval(usual)


def _by_threads(say: Callable[[Any], str], cases: list[Any]) -> list[list[str]]:
    """Return what each thread says, all of which start at once and each of which starts at another case."""
    together, said = Barrier(THREADS), [[""] * len(cases) for _ in range(THREADS)]

    def decide(number: int) -> None:
        together.wait()
        for step in range(len(cases)):
            at = (step + number * len(cases) // THREADS) % len(cases)
            try:
                said[number][at] = say(cases[at])
            except Exception as error:
                said[number][at] = repr(error)

    threads = [Thread(target=decide, args=(number,)) for number in range(THREADS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return said


@pytest.mark.usefixtures("_switching")
def test_threads_on_a_fresh_rulebook_say_what_one_says():
    texts = [json.dumps(case) for case in islice(drawn_cases(Random(5), builtin_packs()), 60)]
    texts += [json.dumps(repair_case(injuries=injury(diameter=f"{at}/10 mm"))) for at in range(40, 80)]
    alone = [tirerules.load().decide_json(text) for text in texts]
    for said in _by_threads(tirerules.load().decide_json, texts):
        assert said == alone


@pytest.mark.usefixtures("_switching")
@pytest.mark.parametrize("read", [dict, case_from_json], ids=["plain", "typed"])
def test_threads_that_forget_all_the_time_say_what_one_says(monkeypatch, read):
    measured = [f"{at}/1000 in" for at in range(200, 280)] + [f"{at} mm to {at + 1} mm" for at in range(20)]
    once = [
        repair_case(
            on=f"2026-11-{at % 28 + 1:02}",
            injuries=injury(diameter=text, angle=f"{len(text)} deg"),
            tire={"size": f"{155 + 5 * (at % 30)}/45R17"},
        )
        for at, text in enumerate(measured)
    ]
    cases = [read(case) for case in once * 20]
    alone = [str(tirerules.load().decide(case).verdict) for case in cases[: len(measured)]] * 20
    keep(monkeypatch, 3)
    rulebook = tirerules.load()
    for said in _by_threads(lambda case: str(rulebook.decide(case).verdict), cases):
        assert said == alone
