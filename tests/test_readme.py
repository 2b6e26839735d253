"""What the README shows in Python is true."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import tirerules

README = Path(__file__).parent.parent / "README.md"


def test_the_python_example_says_what_its_comments_say(capsys):
    (block,) = re.findall(r"```python\n(.*?)```", README.read_text(encoding="utf-8"), flags=re.S)
    names: dict[str, Any] = {}
    exec(compile(block, str(README), "exec"), names)
    decision = names["decision"]
    assert decision.verdict is tirerules.Verdict.OUTSIDE
    assert str(decision.limits["injury.diameter"].at_most) == "6 mm"
    printed = dict(line.split(" ", 1) for line in capsys.readouterr().out.splitlines())
    assert printed["one-piece"].startswith("outside-limits ['industry/one-piece-angle'")
    assert printed["two-piece"].startswith("outside-limits ['industry/sealant-layer-method'")


def test_every_subcommand_is_named():
    text = README.read_text(encoding="utf-8")
    folder = Path(tirerules.__file__).parent / "cli"
    commands = {file.stem for file in folder.glob("*.py") if "def configure(" in file.read_text(encoding="utf-8")}
    assert {"decide", "limits", "check", "replay"} <= commands
    assert [command for command in sorted(commands) if f"`tirerules {command}" not in text] == []
