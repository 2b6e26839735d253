"""Whose name a pack carries: a caller's file never takes the place of a built-in pack unless the caller says so.

A rule of law or trade closes a gap, and so can turn "undetermined" into "within". So the names of built-in packs, and
the kind `baseline`, whose rules count everywhere, belong to the library. A caller that wants its own content there
names the pack; `Head.replaces` then marks it, and every decision in which it has a part says so.
"""

from __future__ import annotations

TYPE_CHECKING = False  # whoever has packs of their own wants to start as soon, and few are refused
if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from tirerules.errors import Problem
    from tirerules.packs.store import Head

__all__ = ["admitted"]


def admitted(builtin: Sequence[Head], own: Sequence[Head], replace: Collection[str]) -> tuple[Head, ...]:
    """Return the packs to choose from: the built-in ones but for those that are replaced, and the caller's own.

    What a caller's file holds byte for byte as a built-in one is that built-in pack. Raises PackError with every file
    that carries a built-in name, or is a second baseline, without being named in `replace`; ReplaceError for a name in
    `replace` that no file of the caller's carries. Where there is no built-in pack, nothing can be replaced.
    """
    shipped = {head.sha256 for head in builtin}
    names = {head.id for head in builtin}
    foreign = [head for head in own if head.sha256 not in shipped]
    claims = [head for head in foreign if head.id in names or (names and head.kind == "baseline")]
    problems = [_problem(head, head.id in names) for head in claims if head.id not in replace]
    if problems:
        from tirerules.errors import PackError

        raise PackError(problems)
    carried = {head.id for head in own}
    for name in sorted({*replace} - carried):
        from tirerules.errors import ReplaceError

        raise ReplaceError(name, sorted(carried))
    for head in claims:
        head.replaces = True
    replaced = {head.id for head in claims}
    return (*(head for head in builtin if head.id not in replaced), *own)


def _problem(head: Head, named: bool) -> Problem:
    cure = f"name it: load(..., replace=[{head.id!r}]), or --replace {head.id} on the command line"
    if named:
        message = f"a pack {head.id!r} ships with tirerules, and this file holds another"
        hint = f"give yours a name of its own; to have it in place of the built-in one, {cure}"
        return _placed(head, "builtin-name", "pack", message, hint)
    message = f"{head.id!r} is a second baseline: its rules would settle what the built-in packs leave open, everywhere"
    hint = f"make it a pack of kind company, which can only tighten; to let it settle that, {cure}"
    return _placed(head, "second-baseline", "kind", message, hint)


def _placed(head: Head, code: str, key: str, message: str, hint: str) -> Problem:
    """Return a problem with the place in the file of the key that it is about."""
    from tirerules.packs.files import content
    from tirerules.packs.reading import read

    return read(content(head.source), head.file).problem(code, (key,), message, hint)
