"""What the first decision of a process needs imports nothing slow, and what it knows by itself is what others know."""

from __future__ import annotations

import dataclasses
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from tests.deciding import SIZE
from tirerules.deciding import gaps
from tirerules.index import evaluate, plain, plan
from tirerules.stated import INJURY, REPAIR, WHOLE
from tirerules.verdict import Verdict

from tests.support import injury, pack_text, repair_case
from tirerules import case as cases
from tirerules import vocabulary
from tirerules.packs.rule import READINGS
from tirerules.vocabulary import FACTS

ROOT = Path(__file__).parents[2]
#: What makes a process start slowly.
SLOW = ("yaml", "jsonschema", "pint", "packaging", "dataclasses", "typing", "re", "json", "fractions", "decimal")
SLOW += ("argparse", "pathlib", "datetime", "hashlib", "inspect", "importlib.resources")
#: What only text that nobody wrote a direct reader for needs.
SLOWEST = ("yaml", "jsonschema", "pint")

_PROCESS = """
import sys
import tirerules
case = {case!r}
decision = tirerules.load().decide(case)
verdict = str(decision.verdict)
by = decision.limits_method
light = sorted(set({slow!r}) & set(sys.modules))
said = tirerules.decision_to_json(decision)
whole = sorted(set({slowest!r}) & set(sys.modules))
import json
print(json.dumps([verdict, by, light, said["verdict"], whole]))
"""


def _process(case: dict[str, Any]) -> Any:
    script = _PROCESS.format(case=case, slow=SLOW, slowest=SLOWEST)
    return json.loads(subprocess.check_output([sys.executable, "-c", script], timeout=120))


LIGHT = {
    "repair": repair_case(),
    "outside": repair_case(injuries=injury(diameter="1/2 in")),
    "several injuries": repair_case(injuries=injury() * 2, earlier_repairs=[{"zone": "crown", "diameter": "3 mm"}]),
    "unrecorded": repair_case(findings=None, earlier_repairs=None),
    "used tire": repair_case(activity="used-tire-installation", injuries=[], jurisdictions=["US-SC", "CA-ON"]),
    "today": repair_case(on=None),
}


@pytest.mark.parametrize("case", LIGHT.values(), ids=LIGHT)
def test_a_verdict_imports_nothing_slow(case):
    _process(case)  # the cache is warm from now on, whatever ran before
    verdict, method, light, whole_verdict, slowest = _process(case)
    assert verdict == whole_verdict
    assert (method is None) == (case["activity"] != "repair")
    assert light == []
    assert slowest == []


def test_what_only_asks_whether_a_tire_is_within_the_limits_imports_almost_nothing():
    """Without `site`, which imports what it likes."""
    script = "import sys; sys.path.insert(0, {root!r}); import tirerules; rulebook = tirerules.load(); {ask}"
    ask = "print([rulebook.decide(case).within for case in {cases!r}], *sys.modules)"
    cases = [repair_case(), repair_case(injuries=injury(diameter="1/2 in")), repair_case(findings=None)]
    script = script.format(root=str(ROOT), ask=ask.format(cases=cases))
    for _ in range(2):  # the cache is warm the second time
        told = subprocess.check_output(
            [sys.executable, "-S", "-c", script], text=True, timeout=120, env=with_packages()
        )
    answers, *modules = told.removesuffix("\n").rsplit("] ", 1)[0], *told.rpartition("] ")[2].split()
    assert answers == "[True, False, False"
    assert not {*SLOW} & {*modules}


def test_packs_of_the_callers_own_import_nothing_slow_either(tmp_path):
    (tmp_path / "own.yaml").write_text(pack_text(SIZE), encoding="utf-8")
    script = f"import sys, tirerules\ntirerules.load({str(tmp_path)!r}).decide({repair_case()!r}).verdict\n"
    script += f"print(*sorted(set({SLOW!r}) & set(sys.modules)))"
    subprocess.check_output([sys.executable, "-c", script], timeout=120)  # the cache is warm from now on
    assert subprocess.check_output([sys.executable, "-c", script], text=True, timeout=120) == "\n"


def with_packages() -> dict[str, str]:
    """Return an environment in which installed packages are found without `site`."""
    return {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}


@pytest.mark.parametrize(
    "case",
    [
        repair_case(tire={"size": "225/45R17", "tread_width": "180 mm", "thickness": "10 mm", "date_code": "4625"}),
        repair_case(injuries=injury(zone=None, from_centerline="60 mm", leans="toward-shoulder", clock="3:00")),
        repair_case(tire={"tread_grid": [["3 mm", "4 mm"]] * 3, "tread_depth": None}),
    ],
    ids=["sidewall", "measured", "grid"],
)
def test_a_decision_in_full_imports_no_reader_of_other_texts(case):
    _process(case)
    assert _process(case)[-1] == []


# --- what is written down twice --------------------------------------------------------------------------------------


def test_verdicts_stand_in_one_order():
    assert {*vocabulary.VERDICTS} == {*Verdict}
    assert [vocabulary.VERDICTS[number] for number in (evaluate.OUTSIDE, evaluate.UNDETERMINED, evaluate.WITHIN)] == [
        Verdict.OUTSIDE,
        Verdict.UNDETERMINED,
        Verdict.WITHIN,
    ]


def test_the_short_reader_knows_the_keys_of_a_case():
    fields = {field.name for field in dataclasses.fields(cases.Case)}
    assert fields == plain._OTHERS | plain._GROUPS.keys()
    kinds = {kind.group: kind for kind in (*cases._Group.__subclasses__(),)}
    read = {
        **{group: (keys, WHOLE) for group, keys in plain._GROUPS.items()},
        "injury": (plain._INJURY, INJURY),
        "repair": (plain._REPAIR, REPAIR),
    }
    for group, (keys, places) in read.items():
        named = {field.name for field in dataclasses.fields(kinds[group])}
        assert {places.fields[place] for place, _ in keys.values()} == named
        assert {f"{group}.{key}": place for key, (place, _) in keys.items()}.items() <= places.items()
    assert {*FACTS} > plain._LEFT
    assert plain.READINGS == READINGS


def test_both_ways_stop_at_the_same_number_of_combinations():
    assert evaluate._MOST_COMBINATIONS == gaps._MOST_COMBINATIONS
    assert gaps._ESSENTIAL.keys() == {plan._SIZE, plan._TREAD, plan._REPAIRED_SIZE}
