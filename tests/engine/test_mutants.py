"""The comparison with the specification notices each wrong engine of `MUTANTS`, and nothing wrong in the right one."""

from __future__ import annotations

import pytest

from tests.engine.mutants import MUTANTS, Mutant, caught
from tests.support import ROOT

pytestmark = pytest.mark.long


@pytest.mark.parametrize("mutant", MUTANTS, ids=lambda mutant: mutant.wrong)
def test_a_wrong_engine_is_noticed(mutant, tmp_path):
    found = caught(mutant, tmp_path)
    assert "specification:" in found, f"not noticed: {mutant.wrong}"


def test_nothing_is_wrong_with_the_right_engine(tmp_path):
    assert caught(None, tmp_path) == ""


def test_an_edit_of_what_is_not_there_is_refused():
    with pytest.raises(ValueError, match="holds 0 times"):
        Mutant("rulebook.py", "no such text", "", "").apply(ROOT / "tirerules")
