"""A counter's backend in TypeScript, compiled with types made from the schemas and run by Node.js."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support import program
from tests.tools.conftest import tools  # noqa: F401  # the fixture that installs the tools
from tests.tools.test_schemas import run, schema_file
from tirerules import replay

BACKEND = Path(__file__).with_name("counter.ts")


@pytest.mark.node
def test_a_ticket_goes_from_an_empty_form_to_a_replayed_record(tools):  # noqa: F811  # it is that fixture
    for name in ("case", "decision", "brief"):
        run(tools, "json2ts", "--input", str(schema_file(name)), "--output", f"{name}.ts")
    shutil.copy(BACKEND, tools)
    (tools / "node.d.ts").write_text(
        'declare module "node:child_process" { export function spawn(...given: any[]): any; }\n'
        'declare module "node:readline" { export function createInterface(given: any): any; }\n'
        "declare const process: any; declare const console: any; declare function structuredClone<T>(it: T): T;\n",
        encoding="utf-8",
    )
    options = (
        "--strict",
        "--skipLibCheck",
        "--module",
        "es2022",
        "--moduleResolution",
        "bundler",
        "--target",
        "es2022",
        "--outDir",
        "built",
    )
    (tools / "built").mkdir(exist_ok=True)
    (tools / "built" / "package.json").write_text('{"type": "module"}', encoding="utf-8")
    run(tools, "tsc", *options, "counter.ts", "node.d.ts")
    done = subprocess.run(
        [program("node"), tools / "built" / "counter.js", sys.executable, "-m", "tirerules"],
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert (done.returncode, done.stderr) == (0, "")
    said = json.loads(done.stdout)
    assert said["asked"][0] == "findings"
    assert said["verdict"] == "within-limits"
    assert replay(said["record"]).same
