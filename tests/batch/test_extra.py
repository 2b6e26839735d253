"""Where the libraries of an extra are missing, a sentence says what to install; the rest of the library works."""

from __future__ import annotations

import os
import pickle
import subprocess
import sys

import pytest

from tests.batch.tickets import ROOT
from tirerules.batch import MissingExtraError

HIDE = """
import sys
class Hidden:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] == {library!r}:
            raise ModuleNotFoundError(f"No module named {{name!r}}", name=name)
sys.meta_path.insert(0, Hidden())
"""


def run(library, code):
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-c", HIDE.format(library=library) + code]
    return subprocess.run(command, env=environment, capture_output=True, text=True, check=False)


@pytest.mark.parametrize("library", ["pyarrow", "numpy", "tqdm"])
def test_importing_the_batch_says_what_to_install(library):
    done = run(library, "import tirerules, tirerules.batch")
    assert done.stderr.splitlines()[-1] == (
        f'tirerules.batch.errors.MissingExtraError: {library} is not installed -- pip install "tirerules[batch]"'
    )


def test_the_command_says_so_without_a_traceback_and_the_others_work():
    code = "from tirerules.cli import main; raise SystemExit(main(['audit', 'tickets.csv', 'out']))"
    done = run("pyarrow", code)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == 'tirerules: pyarrow is not installed -- pip install "tirerules[batch]"\n'
    done = run("pyarrow", "from tirerules.cli import main; raise SystemExit(main(['limits', '--help']))")
    assert done.returncode == 0


def test_spark_says_so_too():
    done = run("pyspark", "from tirerules.batch.spark import decide_in_arrow; decide_in_arrow({})")
    assert done.stderr.splitlines()[-1].endswith('pyspark is not installed -- pip install "tirerules[spark]"')


def test_the_error_is_an_import_error_and_pickles():
    error = MissingExtraError("batch", "pyarrow")
    assert isinstance(error, ImportError)
    assert str(pickle.loads(pickle.dumps(error))) == str(error)
