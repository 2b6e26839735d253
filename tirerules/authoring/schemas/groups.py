"""The typed groups of facts (`tirerules.case.groups`), written out from the vocabulary as Python."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from tirerules.authoring.schemas.literals import type_of
from tirerules.vocabulary import FACTS, Fact, Kind, facts_of, field_of

__all__ = ["groups_text", "write_groups"]

_FILE: Final = Path(__file__).parents[2] / "case" / "groups.py"
#: Group of facts -> its class, and what that is.
_CLASSES: Final = {
    "tire": ("Tire", "The tire."),
    "vehicle": ("Vehicle", "The vehicle the tire is for."),
    "axle": ("Axle", "Where on the vehicle the tire goes."),
    "shop": ("Shop", "Who does the work."),
    "road": ("Road", "Where the tire is driven."),
    "sale": ("Sale", "How the tire is sold."),
    "injury": ("Injury", "One injury to be repaired now."),
    "repair": ("EarlierRepair", "One repair the tire already carries."),
    "repairs": ("Repairs", "All repairs of the tire together, the new ones included."),
}
_TYPES: Final = {
    Kind.QUANTITY: "Measured",
    Kind.COUNT: "int",
    Kind.FLAG: "bool",
    Kind.GRID: "tuple[tuple[Measured, ...], ...]",
}
_HEAD: Final = '''"""The groups of facts as typed values, a field for each fact.

Written by `python -m tirerules.authoring.schemas`. A field `key` of a group is the fact ``group.key``; a trailing
underscore is Python's, not the trade's. None is unknown.
"""

from __future__ import annotations

from tirerules.case.group import Group

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import ClassVar

    from tirerules.quantities import Measured
    from tirerules.words import (
{types}
    )

__all__ = [
{names}
]
'''


def groups_text() -> str:
    """Return the module that the vocabulary makes."""
    assert {fact.group for fact in FACTS.values()} <= {"", *_CLASSES}  # INVARIANT: every group has a class
    names = "\n".join(f'    "{name}",' for name, _ in sorted(_CLASSES.values()))
    types = {kind for fact in FACTS.values() if fact.group and (kind := type_of(fact)) is not None}
    return _HEAD.replace("{names}", names).replace(
        "{types}", "\n".join(f"        {kind}," for kind in sorted(types))
    ) + "".join(map(_class, _CLASSES))


def _class(group: str) -> str:
    name, said = _CLASSES[group]
    lines = [f"class {name}(Group):", f'    """{said}"""', "", f'    group: ClassVar[str] = "{group}"']
    return "\n".join(["", "", *lines, *map(_field, facts_of(group)), ""])


def _field(fact: Fact) -> str:
    kind = type_of(fact) or _TYPES.get(fact.kind, "str")
    return f"    {field_of(fact.name)}: {kind} | None = None"


def write_groups() -> None:
    """Write the module of the package that this is."""
    _FILE.write_text(groups_text(), encoding="utf-8")
