"""Where the built-in rule packs and schemas are, in a wheel, an editable install and a plain checkout.

Compiled packs (`tirerules.packs.shipped`) lie inside the package in all three; a checkout has them once they were made.

Folders on disk are found with `os` alone: pathlib and importlib.resources take longer to import than all packs to read.
"""

from __future__ import annotations

import os

TYPE_CHECKING = False  # typing's own constant would import typing
if TYPE_CHECKING:
    from importlib.resources.abc import Traversable
    from typing import Final

__all__ = ["PACKAGE", "folder", "inside", "place"]

#: The folder of the package.
PACKAGE: Final = os.path.dirname(__file__)


def inside(name: str) -> str:
    """Return the path at which a wheel has the folder `name`: it need not be there."""
    return os.path.join(PACKAGE, "_data", name)


def place(name: str) -> str | None:
    """Return the path of the folder `rulepacks` or `schemas`, or None where it lies on no disk or is missing."""
    installed = inside(name)
    if os.path.isdir(installed):
        return installed
    # A checkout or an editable install: the folders stand beside the package. The project file must be there too, or
    # any folder of that name that happens to lie in site-packages would do.
    checkout = os.path.dirname(PACKAGE)
    beside = os.path.join(checkout, name)
    return beside if os.path.isfile(os.path.join(checkout, "pyproject.toml")) and os.path.isdir(beside) else None


def folder(name: str) -> Traversable:
    """Return the folder `rulepacks` or `schemas`, which may lie in an archive.

    Raises MissingDataError when neither an installed copy nor a checkout holds it.
    """
    found = place(name)
    if found is not None:
        from pathlib import Path

        return Path(found)
    from importlib.resources import files

    packed = files("tirerules") / "_data" / name
    if packed.is_dir():
        return packed
    from tirerules.errors import MissingDataError

    raise MissingDataError(f"the built-in {name} are missing from this installation -- reinstall tirerules")
