"""The main job in all four ways of use: wheel, sdist -> wheel, editable install and plain checkout.

A wheel that lost its packs would install and import without a word; so each way is asked for the packs it holds, and
the answer is compared with the files of this checkout. Everything runs outside it, or the checkout would answer.
"""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
# What each way of use must answer: its packs with their digests, and the verdict on a ticket of an invented counter.
ASK = """
import json, tirerules
book = tirerules.load()
decision = book.decide({
    "jurisdictions": ["US-SC"], "activity": "repair", "on": "2026-11-25",
    "tire": {"class": "passenger", "sealant_layer": True, "tread_depth": "6/32 in"},
    "vehicle": {"use": "private"},
    "injuries": [{"kind": "puncture", "zone": "crown", "diameter": "5 mm", "angle": "20 deg"}],
    "findings": [], "earlier_repairs": [],
})
print(json.dumps({
    "packs": {name: pack.sha256 for name, pack in book.packs.items()},
    "verdict": decision.verdict,
    "where": tirerules.__file__,
}))
"""


def run(*command: str | Path, cwd: Path, **environment: str) -> str:
    clean = {key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "COV"))}
    done = subprocess.run(
        [str(part) for part in command],
        cwd=cwd,
        env={**clean, **environment},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, f"{command} failed:\n{done.stdout}\n{done.stderr}"
    return done.stdout


def packs_of_checkout() -> dict[str, str]:
    files = (ROOT / "rulepacks").rglob("*.yaml")
    return {file.stem: hashlib.sha256(file.read_bytes()).hexdigest() for file in files}


def assert_answers(python: Path, cwd: Path, inside: Path, **environment: str) -> None:
    said = json.loads(run(python, "-c", ASK, cwd=cwd, **environment))
    assert said["packs"] == packs_of_checkout()
    assert said["verdict"] == "within-limits"
    assert Path(said["where"]).is_relative_to(inside)


def fresh_environment(folder: Path) -> Path:
    venv.create(folder, with_pip=True)
    return folder / "bin" / "python"


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sdist, and the wheel built from that sdist."""
    folder = tmp_path_factory.mktemp("built")
    run(sys.executable, "-m", "build", "--outdir", folder, ROOT, cwd=folder)
    return folder


def test_wheel_made_from_the_sdist_in_a_fresh_environment(built: Path, tmp_path: Path) -> None:
    (wheel,) = built.glob("*.whl")
    python = fresh_environment(tmp_path / "fresh")
    run(python, "-m", "pip", "install", "--quiet", wheel, cwd=tmp_path)
    assert_answers(python, tmp_path, tmp_path / "fresh")
    shown = run(python.parent / "tirerules", "limits", "US-SC", "--activity", "used-tire-installation", cwd=tmp_path)
    assert "at most 3/8 in" in shown


def test_wheel_made_from_the_checkout_holds_the_same_files(built: Path, tmp_path: Path) -> None:
    run(sys.executable, "-m", "build", "--wheel", "--outdir", tmp_path, ROOT, cwd=tmp_path)
    (direct,), (through_sdist,) = tmp_path.glob("*.whl"), built.glob("*.whl")
    with zipfile.ZipFile(direct) as one, zipfile.ZipFile(through_sdist) as other:
        assert {info.filename: info.CRC for info in one.infolist()} == {
            info.filename: info.CRC for info in other.infolist()
        }
        names = one.namelist()
    assert "tirerules/py.typed" in names
    assert {name for name in names if name.startswith("tirerules/_data/schemas/")} == {
        f"tirerules/_data/schemas/{file.name}" for file in (ROOT / "schemas").iterdir()
    }
    assert not any(name.startswith(("tests/", "rulepacks/", "schemas/")) for name in names)


def test_editable_install(tmp_path: Path) -> None:
    python = fresh_environment(tmp_path / "fresh")
    run(python, "-m", "pip", "install", "--quiet", "-e", ROOT, cwd=tmp_path)
    assert_answers(python, tmp_path, ROOT)


def test_plain_checkout(tmp_path: Path) -> None:
    assert_answers(Path(sys.executable), tmp_path, ROOT, PYTHONPATH=str(ROOT))
