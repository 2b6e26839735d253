"""What is public: the names that `__all__` of three packages lists, their signatures, what is said of each.

`TIRERULES_WRITE_SNAPSHOTS=1 pytest tests/test_public.py` accepts a change; a minor version may only add.
"""

from __future__ import annotations

import inspect
import os
import pickle
import warnings
from concurrent.futures import ProcessPoolExecutor
from importlib import import_module
from multiprocessing import get_context
from pathlib import Path

import pytest

import tirerules
from tests.support import injury, repair_case
from tirerules._deferred import deferred
from tirerules.values import Value, fields

PACKAGES = ("tirerules", "tirerules.batch", "tirerules.authoring", "tirerules.words", "tirerules.documents")
FILE = Path(__file__).with_name("snapshots") / "public.txt"


def names(package: str) -> list[tuple[str, object]]:
    module = import_module(package)
    return [(f"{package}.{name}", getattr(module, name)) for name in getattr(module, "__all__", ())]


def signature(value: object) -> str:
    if inspect.isclass(value) and issubclass(value, Value):
        members = [f"  {name}: {value.__annotations__.get(name, '')}" for name in fields(value)]
    elif inspect.isclass(value):
        members = [
            f"  {name}{inspect.signature(member) if inspect.isfunction(member) else ''}"
            for name, member in sorted(vars(value).items())
            if name[0] != "_"
        ]
    else:
        members = []
    try:
        called = str(inspect.signature(value)) if callable(value) and "typing" not in type(value).__module__ else ""
    except ValueError:
        called = ""
    return "\n".join([called if not inspect.isclass(value) else "", *members])


def test_signatures_are_as_they_were():
    said = "".join(f"{name}{signature(value)}\n" for package in PACKAGES[:3] for name, value in names(package))
    if os.environ.get("TIRERULES_WRITE_SNAPSHOTS"):
        FILE.write_text(said, encoding="utf-8")
    assert said == FILE.read_text(encoding="utf-8")


@pytest.mark.parametrize("package", PACKAGES)
def test_every_public_name_can_be_had_and_is_explained(package):
    for name, value in names(package):
        if inspect.isclass(value) or inspect.isfunction(value):
            assert inspect.getdoc(value), name
            for inner, member in vars(value).items() if inspect.isclass(value) else ():
                if inner[0] != "_" and (inspect.isfunction(member) or isinstance(member, property)):
                    assert inspect.getdoc(member), f"{name}.{inner}"


def test_what_can_fail_says_by_which_error():
    """Of the functions that read what others wrote."""
    for name in ("load", "measure", "quantity", "replay", "case_from_json", "lock_from_json", "answered"):
        assert "Raises" in (inspect.getdoc(getattr(tirerules, name)) or ""), name
    assert "Raises" in (inspect.getdoc(tirerules.Rulebook.decide) or "")


# --- sent elsewhere ---------------------------------------------------------------------------------------------------

CASES = [repair_case(injuries=injury(diameter=f"{size / 10} mm")) for size in range(20, 90, 10)]


def _decide(rulebook: tirerules.Rulebook, case: dict) -> tirerules.Decision:
    return rulebook.decide(case)


def test_a_rulebook_and_its_decisions_go_to_a_pool_of_processes_and_back():
    rulebook = tirerules.load()
    here = [rulebook.decide(case) for case in CASES]
    [each.limits for each in here]  # what was read of a decision is not sent
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        there = list(pool.map(_decide, [rulebook] * len(CASES), CASES))
    assert there == here
    again = pickle.loads(pickle.dumps(here[0]))
    assert tirerules.decision_to_json(again) == tirerules.decision_to_json(here[0])
    for part in (here[0].reasons[0], here[0].notices, here[0].limits["injury.diameter"], here[0].margins):
        assert pickle.loads(pickle.dumps(part)) == part


# --- names that go ----------------------------------------------------------------------------------------------------


def test_an_old_name_goes_on_for_a_minor_version_and_warns():
    held = {"__name__": "invented"}
    find = deferred(held, {"tirerules.quantities": ("measure",)}, {"gauge": "measure"})
    with pytest.warns(DeprecationWarning, match="invented.gauge is now measure"):
        assert find("gauge") is tirerules.measure
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert find("measure") is tirerules.measure
    with pytest.raises(AttributeError, match="no attribute 'laod'"):
        find("laod")
