"""The example client of the protocol, run by Node.js against the real command."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support import injury, program, repair_case
from tirerules import __version__, load
from tirerules.protocol import PROTOCOL
from tirerules.record.brief import decision_to_brief

CLIENT = Path(__file__).with_name("stream_client.mjs")


@pytest.mark.node
def test_a_program_in_javascript_is_answered_line_by_line():
    cases = [
        repair_case(),
        repair_case(injuries=injury(diameter="8 mm")),
        repair_case(tire={"tread_depth": None}),
        repair_case(tire={"class": "car"}),
    ]
    done = subprocess.run(
        [program("node"), CLIENT, sys.executable, "-m", "tirerules"],
        input="\n".join(map(json.dumps, cases)),
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert (done.returncode, done.stderr) == (0, "")
    about, *answers = map(json.loads, done.stdout.splitlines())
    assert about == {"protocol": PROTOCOL, "engine": __version__}
    expected = [decision_to_brief(load().decide(case)) for case in cases[:3]]
    assert [each["digest"] for each in answers[:3]] == [each["digest"] for each in expected]
    assert [each["next"] for each in answers[:3]] == [None, None, expected[2]["questions"][0]["path"]]
    assert answers[3] == {"refused": ["case-value tire.class"]}


def test_the_example_is_short():
    assert len(CLIENT.read_text(encoding="utf-8").splitlines()) <= 60
