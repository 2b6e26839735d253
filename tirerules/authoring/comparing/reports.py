"""What a comparison found: text for people, Markdown for a pull request's comment, JSON for programs.

Pure: values in, text out. A pack is somebody else's text: what a terminal would obey, and what Markdown would take for
markup or a mention, is shown and never passed on.

The JSON has these stable names: `format` (1), `packs` (one for each pack that changed: `pack`, `title`, `old_version`
and `new_version` or null, `effect`, `needs`, `changes`, `problems`), `unchanged` (ids), `problems` (how many) and
`left` (the versions that only the old side holds, and old records may need: `pack`, `version`, `sha256`). A change has
`kind`, `effect`, `needs`, `activities`, `when` (conditions in words), `from` and `until` (days or null), `subject`,
`old`, `new`, `says` and `rules`; a problem `code`, `message`, `hint`, `file`, `line` and `column`. `effect` is
``looser``, ``tighter``, ``looser-and-tighter`` or ``none``; `needs` is ``major``, ``minor``, ``patch`` or ``none``.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Any, Final

from tirerules.authoring.comparing.change import Change, Effect, Level
from tirerules.authoring.comparing.comparison import Comparison, PackComparison
from tirerules.errors import Problem
from tirerules.escaping import escaped, escaped_json

__all__ = ["FORMATS", "json_report", "markdown", "summary", "text"]

#: What the version gate says, by pack.
Problems = Mapping[str, Sequence[Problem]]


def summary(comparison: Comparison, problems: Problems) -> str:
    """Return in one line how much changed."""
    changed, same = len(comparison.packs), len(comparison.unchanged)
    parts = [f"{changed} pack{'s' * (changed != 1)} changed", f"{same} unchanged"]
    count = f"{_count(problems)} problem{'s' * (_count(problems) != 1)}"
    return f"{', '.join(parts)}; version gate: {count if problems else 'passes'}"


def _count(problems: Problems) -> int:
    return sum(map(len, problems.values()))


def _versions(found: PackComparison, arrow: str) -> str:
    versions = [str(held.pack.version) if held else "" for held in (found.old, found.new)]
    return f" {arrow} ".join(dict.fromkeys(version for version in versions if version))


def _headline(found: PackComparison) -> str:
    """Return in words what a pack's changes come to."""
    if found.old is None or found.new is None:
        return "removed" if found.new is None else "added"
    if found.level is Level.NONE:
        return "nothing changed but the version"
    effect = found.effect.replace("-", " ")
    if found.effect is Effect.NONE:
        effect = "no limit changed" + (", but what is left open did" if found.level is Level.MINOR else "")
    return f"{effect}; needs a new {found.level} version"


# --- text -------------------------------------------------------------------------------------------------------------


def text(comparison: Comparison, problems: Problems) -> str:
    """Return the changes as text, pack by pack, each followed by what the version gate says of it."""
    lines: list[str] = [] if comparison.packs else ["nothing changed"]
    for found in comparison.packs:
        lines.append(f"{found.pack} {_versions(found, '->')} ({found.title}): {_headline(found)}")
        for change in found.changes:
            rules = f" [{', '.join(change.rules)}]" if change.rules else ""
            lines.append(f"  {change}{rules}")
        lines += [f"  {problem}" for problem in problems.get(found.pack, ())]
    return "\n".join(map(escaped, lines))


# --- Markdown ---------------------------------------------------------------------------------------------------------


def markdown(comparison: Comparison, problems: Problems) -> str:
    """Return the changes as Markdown: a heading and a table for each pack, and what the version gate says first."""
    lines = ["## Rule packs: what changes for whom", "", _plain(summary(comparison, problems)) + "."]
    if problems:
        lines += ["", "**The version gate fails:**", ""]
        lines += [f"- {_plain(str(problem))}" for each in problems.values() for problem in each]
    for found in comparison.packs:
        title = f"{found.pack} {_versions(found, '→')} ({found.title})"
        lines += ["", f"### {_plain(title)}", ""]
        lines += [f"{_plain(_headline(found))}.", ""]
        if found.changes:
            lines += ["| | for whom, when | what | rules |", "|---|---|---|---|", *map(_row, found.changes)]
    return "\n".join(lines)


def _row(change: Change) -> str:
    effect = change.effect is not Effect.NONE
    cells = [change.tag, change.whom, f"{change.subject} {change.says}", ", ".join(change.rules)]
    said = [_plain(cell) for cell in cells]
    return f"| {f'**{said[0]}**' if effect else said[0]} | {' | '.join(said[1:])} |"


_MARKUP: Final = re.compile(r"([\\`*_{}\[\]<>|~])")
_MENTION: Final = re.compile(r"([@#])")


def _plain(said: str) -> str:
    """Return text that Markdown shows as it is: no markup, and no mention of people or issues (split by a comment)."""
    return _MENTION.sub(r"\1<!-- -->", _MARKUP.sub(r"\\\1", escaped(said).replace(" -> ", " → ")))


# --- JSON -------------------------------------------------------------------------------------------------------------


def json_report(comparison: Comparison, problems: Problems) -> str:
    """Return the changes as JSON; see the names above."""
    said = {
        "format": 1,
        "packs": [_pack_json(found, problems.get(found.pack, ())) for found in comparison.packs],
        "unchanged": list(comparison.unchanged),
        "problems": _count(problems),
        "left": [
            {"pack": held.pack.id, "version": str(held.pack.version), "sha256": held.pack.sha256}
            for held in comparison.left
        ],
    }
    return escaped_json(json.dumps(said, ensure_ascii=False, indent=1))


def _pack_json(found: PackComparison, problems: Sequence[Problem]) -> dict[str, Any]:
    return {
        "pack": found.pack,
        "title": found.title,
        "old_version": str(found.old.pack.version) if found.old else None,
        "new_version": str(found.new.pack.version) if found.new else None,
        "effect": str(found.effect),
        "needs": str(found.level),
        "changes": [_change_json(change) for change in found.changes],
        "problems": [
            {name: getattr(problem, name) for name in ("code", "message", "hint", "file", "line", "column")}
            for problem in problems
        ],
    }


def _change_json(change: Change) -> dict[str, Any]:
    return {
        "kind": str(change.kind),
        "effect": str(change.effect),
        "needs": str(change.level),
        "activities": list(change.activities),
        "when": list(change.when),
        "from": change.start.isoformat() if change.start else None,
        "until": change.end.isoformat() if change.end else None,
        "subject": change.subject,
        "old": change.old,
        "new": change.new,
        "says": change.says,
        "rules": list(change.rules),
    }


#: How a comparison can be told, by name.
FORMATS: Final[Mapping[str, Callable[[Comparison, Problems], str]]] = MappingProxyType(
    {"text": text, "json": json_report, "markdown": markdown}
)
