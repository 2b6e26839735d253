"""The main job in all four ways of use: wheel, sdist -> wheel, editable install and plain checkout.

A wheel that lost its packs would install and import without a word; so each way is asked for the packs it holds, and
the answer is compared with the files of this checkout. Each uses the packs that were compiled for it: without a cache
folder, without a home, with nothing to write to. Everything runs outside this checkout, or the checkout would answer.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
# What each way of use must answer: the verdict on a ticket of an invented counter, what was imported for it, and its
# packs with their digests.
ASK = """
import sys, tirerules
book = tirerules.load()
decision = book.decide({
    "jurisdictions": ["US-SC"], "activity": "repair", "on": "2026-11-25",
    "tire": {"class": "passenger", "sealant_layer": True, "tread_depth": "6/32 in"},
    "vehicle": {"use": "private"},
    "injuries": [{"kind": "puncture", "zone": "crown", "diameter": "5 mm", "angle": "20 deg"}],
    "findings": [], "earlier_repairs": [],
})
verdict, within = str(decision.verdict), decision.within
imported = sorted({"yaml", "jsonschema"} & set(sys.modules))
import json
print(json.dumps({
    "verdict": verdict,
    "imported": imported,
    "packs": {name: lock.sha256 for name, lock in book.lock.items()},
    "rules": sum(len(pack.rules) for pack in book.packs.values()),
    "read": sorted({"yaml", "jsonschema"} & set(sys.modules)),
    "where": tirerules.__file__,
}))
"""


def run(*command: str | Path, cwd: Path, **environment: str) -> str:
    left_out = ("PYTHON", "COV", "TIRERULES")
    clean = {key: value for key, value in os.environ.items() if not key.startswith(left_out)}
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


#: No cache; a home that cannot be written; no home at all.
_WITHOUT: tuple[dict[str, str], ...] = (
    {"TIRERULES_CACHE": "off"},
    {"HOME": "/proc", "XDG_CACHE_HOME": ""},
    {"HOME": "", "XDG_CACHE_HOME": ""},
)


def assert_answers(python: Path, cwd: Path, inside: Path, compiled: bool = True, **environment: str) -> None:
    """Ask where no cache is, where no home is, and where nothing can be written; no YAML is read if it was compiled."""
    for without in _WITHOUT if compiled else _WITHOUT[:1]:
        said = json.loads(run(python, "-c", ASK, cwd=cwd, **environment, **without))
        assert said["packs"] == packs_of_checkout()
        assert said["verdict"] == "within-limits"
        assert said["rules"] > 300
        assert (said["imported"], said["read"]) == (([], []) if compiled else (["jsonschema", "yaml"],) * 2)
        assert Path(said["where"]).is_relative_to(inside)


def read_only(folder: Path) -> None:
    """Let nobody write to a folder; a user who may do anything could, so what is in it is compared as well."""
    for path in (folder, *folder.rglob("*")):
        path.chmod(0o555 if path.is_dir() else 0o444)


def state_of(folder: Path) -> dict[str, int]:
    """Return when each file below a folder was changed, but for Python's own caches."""
    files = (path for path in folder.rglob("*") if path.is_file() and path.suffix != ".pyc")
    return {str(path): path.stat().st_mtime_ns for path in files}


def copy_of_checkout(folder: Path) -> Path:
    """Return a copy of this checkout without what git ignores, in which packs can be compiled."""
    shutil.copytree(ROOT, folder, ignore=shutil.ignore_patterns(".*", "_data", "__pycache__", "*.egg-info"))
    shutil.copy(ROOT / ".pre-commit-hooks.yaml", folder)
    return folder


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
    (package,) = (tmp_path / "fresh").glob("lib/python*/site-packages/tirerules")
    read_only(package)
    before = state_of(tmp_path)
    assert_answers(python, tmp_path, package)
    shown = run(python.parent / "tirerules", "limits", "US-SC", "--activity", "used-tire-installation", cwd=tmp_path)
    assert "at most 3/8 in" in shown
    assert state_of(tmp_path) == before


def test_an_edited_pack_of_a_wheel_is_decided_by_what_it_says_now(built: Path, tmp_path: Path) -> None:
    """The trade's figure for passenger tires, made smaller by hand and written with as many letters."""
    (wheel,) = built.glob("*.whl")
    with zipfile.ZipFile(wheel) as held:
        held.extractall(tmp_path)
    file = tmp_path / "tirerules" / "_data" / "rulepacks" / "industry.yaml"
    text = file.read_text(encoding="utf-8")
    edited = text.replace("1/4 in", "1/6 in").replace("6 mm", "4 mm")
    assert len(edited) == len(text)
    file.write_text(edited, encoding="utf-8")
    run_by = {"PYTHONPATH": str(tmp_path), "TIRERULES_CACHE": "off"}
    said = json.loads(run(sys.executable, "-c", ASK, cwd=tmp_path, **run_by))
    assert said["verdict"] == "outside-limits"
    assert said["packs"] == packs_of_checkout() | {"industry": hashlib.sha256(file.read_bytes()).hexdigest()}


def test_wheel_made_from_the_checkout_holds_the_same_files(built: Path, tmp_path: Path) -> None:
    run(sys.executable, "-m", "build", "--wheel", "--outdir", tmp_path, ROOT, cwd=tmp_path)
    (direct,), (through_sdist,) = tmp_path.glob("*.whl"), built.glob("*.whl")
    with zipfile.ZipFile(direct) as one, zipfile.ZipFile(through_sdist) as other:
        assert {info.filename: info.CRC for info in one.infolist()} == {
            info.filename: info.CRC for info in other.infolist()
        }
        names = one.namelist()
    assert len(names) == len({*names})
    assert "tirerules/py.typed" in names
    assert {name for name in names if name.startswith("tirerules/_data/schemas/")} == {
        f"tirerules/_data/schemas/{file.name}" for file in (ROOT / "schemas").iterdir()
    }
    compiled = {f"{sha256}.jsonl" for sha256 in packs_of_checkout().values()} | {"index.json"}
    assert {name for name in names if name.startswith("tirerules/_data/compiled/")} == {
        f"tirerules/_data/compiled/{name}" for name in compiled
    }
    assert not any(name.startswith(("tests/", "rulepacks/", "schemas/")) for name in names)


def test_editable_install(tmp_path: Path) -> None:
    checkout = copy_of_checkout(tmp_path / "checkout")
    python = fresh_environment(tmp_path / "fresh")
    run(python, "-m", "pip", "install", "--quiet", "-e", checkout, cwd=tmp_path)
    run(python, "-m", "tirerules.packs.compiling", cwd=tmp_path)
    read_only(checkout / "tirerules")
    assert_answers(python, tmp_path, checkout)


def test_plain_checkout(tmp_path: Path) -> None:
    checkout = copy_of_checkout(tmp_path / "checkout")
    by_path = {"PYTHONPATH": str(checkout)}
    assert_answers(Path(sys.executable), tmp_path, checkout, compiled=False, **by_path)
    run(sys.executable, "-m", "tirerules.packs.compiling", cwd=tmp_path, **by_path)
    assert_answers(Path(sys.executable), tmp_path, checkout, **by_path)
    code = checkout / "tirerules" / "packs" / "building.py"
    code.write_text(code.read_text(encoding="utf-8") + "# other code\n", encoding="utf-8")
    assert_answers(Path(sys.executable), tmp_path, checkout, compiled=False, **by_path)


def test_an_unpacked_sdist_uses_what_was_compiled_for_it(built: Path, tmp_path: Path) -> None:
    (sdist,) = built.glob("*.tar.gz")
    shutil.unpack_archive(sdist, tmp_path, filter="data")
    (checkout,) = tmp_path.glob("tirerules-*")
    assert_answers(Path(sys.executable), tmp_path, checkout, PYTHONPATH=str(checkout))


def test_what_is_compiled_is_no_part_of_the_repository() -> None:
    assert "/tirerules/_data/" in (ROOT / ".gitignore").read_text(encoding="utf-8").splitlines()
