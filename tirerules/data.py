"""Where the built-in rule packs and schemas are, in a wheel, an editable install and a plain checkout."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from tirerules.errors import MissingDataError

__all__ = ["folder"]


@cache
def folder(name: str) -> Traversable:
    """Return the folder `rulepacks` or `schemas`.

    Raises MissingDataError when neither an installed copy nor a checkout holds it.
    """
    installed = files("tirerules") / "_data" / name
    if installed.is_dir():
        return installed
    # A checkout or an editable install: the folders stand beside the package. The project file must be there too, or
    # any folder of that name that happens to lie in site-packages would do.
    checkout = Path(__file__).parent.parent
    if (checkout / "pyproject.toml").is_file() and (checkout / name).is_dir():
        return checkout / name
    raise MissingDataError(f"the built-in {name} are missing from this installation -- reinstall tirerules")
