"""The list of changes that nothing can notice: a YAML mapping, name of the change -> why.

It explains a score and never raises it.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from tirerules.authoring.mutation.mutating import Mutated
from tirerules.errors import MissingDataError, PackError
from tirerules.packs.reading import MAX_BYTES, read

__all__ = ["read_reasons", "stale"]


def read_reasons(file: str) -> Mapping[str, str]:
    """Return the reasons by the name of the change.

    Raises MissingDataError where the file cannot be read, and PackError where it is no such mapping.
    """
    try:
        with Path(file).open("rb") as stream:
            content = stream.read(MAX_BYTES + 1)
    except OSError as error:
        raise MissingDataError(f"{file}: {error.strerror}") from None
    document = read(content, file)
    data = document.data
    if not isinstance(data, dict) or not all(isinstance(why, str) and why.strip() for why in data.values()):
        hint = "write one line for each: `US-XX/rule-id act road-use: why nothing can notice it`"
        raise PackError([document.problem("wrong-type", (), "this is no list of changes with a reason for each", hint)])
    return {name: " ".join(why.split()) for name, why in data.items()}


def stale(reasons: Mapping[str, str], mutated: Mutated) -> list[str]:
    """Return what is wrong with a list: entries for the packs at hand that are noticed, or that no rule gives."""
    packs = {pack for pack, _ in mutated.made}
    names = {str(each.mutant) for each in mutated.survivors}
    return [
        f"{name!r} is listed, but it is noticed or no rule gives it -- delete the entry"
        for name in reasons
        if name.partition("/")[0] in packs and name not in names
    ]
