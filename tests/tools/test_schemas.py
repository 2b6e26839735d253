"""Every schema in the hands of other people's tools, with real cases, decisions, vectors and every pack.

References: json-schema-to-typescript and the TypeScript compiler, quicktype (Rust, Java, C#), Ajv in strict mode,
datamodel-code-generator with pydantic, check-jsonschema in its default mode; general-purpose tools, none of ours.
"""

from __future__ import annotations

import importlib.util
import json
import shutil
import subprocess
import sys
from functools import cache
from itertools import islice
from pathlib import Path
from typing import Any

import pytest
import yaml

from tests.engine import everywhere
from tests.support import ROOT, injury, program, repair_case
from tirerules import decision_to_json
from tirerules.authoring.vectors import decided, plan
from tirerules.data import folder
from tirerules.record.brief import decision_to_brief

NAMES = ("case", "decision", "brief", "vectors", "rulepack")
PACKS = sorted((ROOT / "rulepacks").rglob("*.yaml"))
#: Invented tickets of most kinds: what a decision can hold occurs in them.
CASES = [
    repair_case(),
    repair_case(injuries=injury(diameter="8 mm", zone="shoulder"), method="one-piece"),
    repair_case(injuries=injury(angle=None), findings=None, tire={}),
    repair_case(
        injuries=injury(zone=None, from_centerline="40 mm", leans="toward-shoulder"), tire={"thickness": "14 mm"}
    ),
    repair_case(injuries=injury() * 2, earlier_repairs=[{"zone": "crown", "diameter": "4 mm", "clock": "7:30"}]),
    repair_case(jurisdictions=["US-SC", "CA-ON"], reading="as-enacted", zones="measured"),
    repair_case(repair_unit={"method": "one-piece", "rated_angle": "35 deg", "document": "an invented sheet"}),
    repair_case(tire={"tread_grid": [["3 mm", "4 mm"]] * 3, "tread_depth": None, "class": "light-truck"}),
    repair_case(activity="used-tire-sale", injuries=[], earlier_repairs=[{}], findings=["bulge", "leak"]),
    *(repair_case(jurisdictions=[code], activity="road-use", injuries=None) for code in ("US-NJ", "CA-QC", "US-TX")),
]


def schema_file(name: str) -> Path:
    return Path(str(folder("schemas"))) / f"{name}.schema.json"


def schema(name: str) -> dict[str, Any]:
    return json.loads(schema_file(name).read_text(encoding="utf-8"))


@cache
def documents() -> dict[str, list[Any]]:
    """Return real documents of every kind."""
    book = everywhere()
    decisions = [book.decide(case) for case in CASES]
    whole = [decision_to_json(each) for each in decisions]
    vectors = decided(book, plan(book, ("US-SC",)))
    return {
        "case": [{key: value for key, value in case.items() if key != "zones" or value} for case in CASES],
        "decision": [*whole, *(decision_to_json(each, further=True) for each in decisions)],
        "brief": [decision_to_brief(each) for each in decisions],
        "vectors": [json.loads(each.text) for each in islice(vectors, 60)],
        "rulepack": [json.loads(json.dumps(yaml.safe_load(path.read_text("utf-8")), default=str)) for path in PACKS],
    }


@pytest.mark.node
def test_ajv_in_strict_mode_takes_every_schema_and_every_document(tools):
    said = {"schemas": {name: schema(name) for name in NAMES}, "documents": documents()}
    done = subprocess.run(
        [program("node"), "ajv.mjs"], cwd=tools, input=json.dumps(said), capture_output=True, text=True, timeout=120
    )
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout) == {name: [] for name in NAMES}


@pytest.mark.node
def test_ajv_refuses_what_is_wrong(tools):
    bad = {
        "case": [{**CASES[0], "tire": {"class": "car"}}, {**CASES[0], "on": "2026-13-01"}, {"activity": "repair"}],
        "decision": [{**documents()["decision"][0], "verdict": "perhaps"}],
        "brief": [{**documents()["brief"][0], "digest": "none"}],
        "vectors": [{**documents()["vectors"][0], "id": "no slash"}],
        "rulepack": [{**documents()["rulepack"][0], "version": "one"}],
    }
    said = {"schemas": {name: schema(name) for name in NAMES}, "documents": bad}
    done = subprocess.run(
        [program("node"), "ajv.mjs"], cwd=tools, input=json.dumps(said), capture_output=True, text=True, timeout=120
    )
    assert {name: len(found) for name, found in json.loads(done.stdout).items()} == {
        name: len(each) for name, each in bad.items()
    }


@pytest.mark.node
def test_typescript_knows_every_document_by_its_type(tools):
    """Types made by json-schema-to-typescript; real documents as literals, compiled by tsc in its strict mode."""
    lines = []
    for name, kind in (
        ("case", "TireCase"),
        ("decision", "TireDecision"),
        ("brief", "BriefRecord"),
        ("vectors", "TireTestVector"),
    ):
        shutil.copy(schema_file(name), tools)
        made = tools / f"{name}.ts"
        run(tools, "json2ts", "--input", f"{name}.schema.json", "--output", made.name)
        assert f"export interface {kind} " in made.read_text(encoding="utf-8")
        lines.append(f'import type {{ {kind} }} from "./{name}.js";')
        lines += [
            f"export const {name}{number}: {kind} = {json.dumps(each)};"
            for number, each in enumerate(documents()[name][:24])
        ]
    for part in ("Tire", "Injury", "EarlierRepair", "RepairUnit", "Vehicle"):
        assert f"export interface {part} " in (tools / "case.ts").read_text(encoding="utf-8")
    (tools / "right.ts").write_text("\n".join(lines), encoding="utf-8")
    options = ("--noEmit", "--strict", "--skipLibCheck", "--module", "nodenext", "--target", "es2022")
    run(tools, "tsc", *options, "right.ts")
    wrong = 'import type { TireCase } from "./case.js";\nexport const it: TireCase = '
    for bad in (
        '{jurisdictions: ["US-SC"], activity: "mend"}',
        '{jurisdictions: ["US-SC"], activity: "repair", tyre: {}}',
    ):
        (tools / "wrong.ts").write_text(f"{wrong}{bad};", encoding="utf-8")
        with pytest.raises(AssertionError, match=r"wrong\.ts\(2,"):
            run(tools, "tsc", *options, "wrong.ts")


@pytest.mark.node
@pytest.mark.parametrize(
    ("language", "ending", "told"), [("rust", "rs", "pub struct "), ("csharp", "cs", "public partial class ")]
)
@pytest.mark.parametrize("name", ["case", "decision", "brief"])
def test_quicktype_makes_types_with_our_names(tools, tmp_path, language, ending, told, name):
    file = tmp_path / f"made.{ending}"
    run(tools, "quicktype", "--src-lang", "schema", "--lang", language, "--out", str(file), str(schema_file(name)))
    made = file.read_text(encoding="utf-8")
    parts = {
        "case": ("Tire", "Injury", "EarlierRepair"),
        "decision": ("Reason", "Question", "Margin"),
        "brief": ("Because",),
    }
    assert all(f"{told}{part}" in made for part in parts[name])


@pytest.mark.node
@pytest.mark.parametrize("name", ["case", "decision", "brief"])
def test_the_types_of_quicktype_compile_in_java(tools, tmp_path, name):
    out = tmp_path / "made" / "Made.java"
    out.parent.mkdir()
    given = ("--src-lang", "schema", "--lang", "java", "--just-types", "--package", "made", "--out", str(out))
    run(tools, "quicktype", *given, str(schema_file(name)))
    files = sorted(str(file) for file in out.parent.glob("*.java"))
    assert len(files) > 3 or name == "brief"
    done = subprocess.run([program("javac"), "-d", str(tmp_path), *files], capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr


def run(tools: Path, name: str, *given: str) -> None:
    done = subprocess.run(
        [program("node"), tools / "node_modules" / ".bin" / name, *given],
        cwd=tools,
        capture_output=True,
        text=True,
        timeout=180,
    )
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize("name", ["case", "decision", "brief"])
def test_pydantic_models_read_every_document(name, tmp_path):
    """Models made by datamodel-code-generator; what they read and write again is what was given."""
    made = tmp_path / f"made_{name}.py"
    given = ("--input-file-type", "jsonschema", "--output-model-type", "pydantic_v2.BaseModel", "--disable-timestamp")
    done = subprocess.run(
        [sys.executable, "-m", "datamodel_code_generator", "--input", schema_file(name), "--output", made, *given],
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    spec = importlib.util.spec_from_file_location(made.stem, made)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[made.stem] = module
    spec.loader.exec_module(module)
    model = getattr(module, {"case": "TireCase", "decision": "TireDecision", "brief": "BriefRecord"}[name])
    for each in documents()[name]:
        again = model.model_validate(each).model_dump(mode="json", by_alias=True, exclude_unset=True)
        assert again == each


def test_check_jsonschema_takes_every_document_in_its_default_mode(tmp_path):
    for name in NAMES:
        files = []
        if name == "rulepack":
            files = [str(path) for path in PACKS]
        for number, each in enumerate([] if files else documents()[name]):
            files.append(str(tmp_path / f"{name}-{number}.json"))
            Path(files[-1]).write_text(json.dumps(each), encoding="utf-8")
        done = subprocess.run(
            [sys.executable, "-m", "check_jsonschema", "--schemafile", schema_file(name), *files[:160]],
            capture_output=True,
            text=True,
            timeout=120,
        )
        assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize("name", NAMES)
def test_a_schema_refers_to_nothing_outside_itself(name):
    text = schema_file(name).read_text(encoding="utf-8")
    assert text.count('"$ref"') == text.count('"$ref": "#/$defs/') > 0
