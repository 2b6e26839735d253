"""What holds for every test."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Generator
from pathlib import Path

import pytest

#: Says that this session, or the one whose worker this process is, has a cache of its own already.
_OWN = "TIRERULES_TESTS_CACHE"


def pytest_configure(config: pytest.Config) -> None:
    """Give the session a cache of its own, so that no test reads or writes the user's.

    This early because test modules load packs when they are imported. In the environment because tests start processes,
    and because the workers of a session are to share it. Nothing of the library is imported here, or the coverage of
    what it does on import would not be measured in a worker.
    """
    if _OWN not in os.environ:
        folder = tempfile.mkdtemp(prefix="tirerules-tests-")
        os.environ |= {_OWN: folder, "TIRERULES_CACHE": folder}
        config.add_cleanup(lambda: shutil.rmtree(folder, ignore_errors=True))


#: Packs of each kind: the trade's baseline, countries, states.
_FEW = ("industry.yaml", "US.yaml", "US-SC.yaml", "US-NJ.yaml", "CA.yaml", "CA-ON.yaml")


@pytest.fixture(scope="session")
def few(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a few of the packs that ship. No test may change it."""
    from tirerules.packs.library import builtin, files_under

    place = tmp_path_factory.mktemp("few")
    for file in files_under(builtin()):
        if file.name in _FEW:
            (place / file.name).write_bytes(file.read_bytes())
    return place


@pytest.fixture
def shipping_few(few: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the library ship these few packs alone: reading all of them takes seconds."""
    from tests.support import ship

    ship(monkeypatch, few)


@pytest.fixture
def standing_on_few(few: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let packs that are checked stand on a few of those that ship, each read once: reading all takes seconds."""
    from tests.support import read_once
    from tirerules.authoring import checking

    monkeypatch.setattr(checking, "builtin", lambda: few)
    monkeypatch.setattr(checking, "read_files", read_once)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Let a test that was skipped fail: a check that did not run has said nothing, and nobody counts skips."""
    report = yield
    if report.skipped and not hasattr(report, "wasxfail"):
        report.outcome, report.longrepr = "failed", f"skipped, which no test may be: {report.longrepr}"
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report(
    collector: pytest.Collector,
) -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    """Let a module that skips itself fail too."""
    report = yield
    if report.skipped:
        report.outcome, report.longrepr = "failed", f"skipped, which no module may be: {report.longrepr}"
    return report
