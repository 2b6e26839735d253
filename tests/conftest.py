"""What holds for every test."""

from __future__ import annotations

import os
import shutil
import tempfile

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
