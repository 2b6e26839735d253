"""What mutation found: scores by kind and by pack, and the examples to paste, or findings for the formats of `check`.

Pure: values in, text out.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from tirerules.authoring.checking import Checked
from tirerules.authoring.checks import SURVIVES
from tirerules.authoring.mutation.killing import Killer
from tirerules.authoring.mutation.mutating import Mutated, Survivor
from tirerules.authoring.mutation.operators import KINDS
from tirerules.authoring.mutation.writing import yaml_lines
from tirerules.errors import Problem
from tirerules.values import replace

__all__ = ["Scores", "found", "pasting", "scores", "tables"]


@dataclass(frozen=True, slots=True)
class Scores:
    """How many mutants there are and how many of them were noticed: by kind, by pack, and in all."""

    by_kind: Mapping[str, tuple[int, int]]
    by_pack: Mapping[str, tuple[int, int]]

    @property
    def overall(self) -> tuple[int, int]:
        """All mutants, and those noticed."""
        return sum(made for made, _ in self.by_kind.values()), sum(noticed for _, noticed in self.by_kind.values())

    def reached(self, least: int, least_each: int) -> bool:
        """Whether `least` percent of all were noticed and `least_each` percent of every kind."""
        return _enough(self.overall, least) and all(_enough(each, least_each) for each in self.by_kind.values())


def _enough(score: tuple[int, int], least: int) -> bool:
    made, noticed = score
    return 100 * noticed >= least * made


def scores(mutated: Mutated) -> Scores:
    """Return the scores; nothing is left out of the count."""
    lost = Counter((each.mutant.kind, each.pack.id) for each in mutated.survivors)
    by_kind: dict[str, tuple[int, int]] = dict.fromkeys(KINDS, (0, 0))
    by_pack: dict[str, tuple[int, int]] = {pack.id: (0, 0) for pack, _ in mutated.gathered.packs}
    for (pack, kind), made in sorted(mutated.made.items()):
        noticed = made - lost[kind, pack]
        by_kind[kind] = by_kind[kind][0] + made, by_kind[kind][1] + noticed
        by_pack[pack] = by_pack[pack][0] + made, by_pack[pack][1] + noticed
    return Scores(by_kind, by_pack)


def tables(found: Scores) -> str:
    """Return the scores as two tables, by kind and by pack, and the line for all."""
    rows = [
        ("kind", *_HEAD),
        *((kind, *_figures(score)) for kind, score in found.by_kind.items()),
        ("all", *_figures(found.overall)),
        ("", "", "", ""),
        ("pack", *_HEAD),
        *((pack, *_figures(score)) for pack, score in sorted(found.by_pack.items()) if score[0]),
    ]
    wide = max(len(name) for name, *_ in rows)
    return "\n".join(
        f"{name:{wide}}  {made:>7}  {noticed:>7}  {score:>7}".rstrip() for name, made, noticed, score in rows
    )


_HEAD: Final = ("mutants", "noticed", "score")


def _figures(score: tuple[int, int]) -> tuple[str, str, str]:
    made, noticed = score
    # Rounded down, so that no score is told that was not reached.
    tenths = 1000 * noticed // made if made else 1000
    return str(made), str(noticed), f"{tenths // 10}.{tenths % 10} %"


# --- what survives ----------------------------------------------------------------------------------------------------


def pasting(mutated: Mutated, reasons: Mapping[str, str]) -> Iterator[str]:
    """Yield, pack by pack, the examples that would notice what survives, as items of `examples`; then the rest.

    `reasons` holds the survivors that are listed, by name: for them no example is shown.
    """
    by_pack: dict[str, list[Survivor]] = {}
    for each in mutated.survivors:
        by_pack.setdefault(each.pack.file, []).append(each)
    for file, survivors in sorted(by_pack.items()):
        open_ = [each for each in survivors if str(each.mutant) not in reasons]
        yield f"# {file}: {len(survivors)} not noticed, {len(survivors) - len(open_)} of them listed with a reason"
        for killer, noticed in _together(open_):
            yield from (f"  # notices {_name(each)}" for each in noticed)
            yield from yaml_lines(killer)
        yield from (f"  # {_name(each)}: {each.why}" for each in open_ if each.killer is None)


def _name(survivor: Survivor) -> str:
    return str(survivor.mutant)


def _together(survivors: Sequence[Survivor]) -> Iterator[tuple[Killer, Sequence[Survivor]]]:
    """Yield each example with the survivors that it would notice."""
    found: dict[int, tuple[Killer, list[Survivor]]] = {}
    for each in survivors:
        if each.killer is not None:
            found.setdefault(id(each.killer), (each.killer, []))[1].append(each)
    yield from found.values()


def found(mutated: Mutated, reasons: Mapping[str, str]) -> Checked:
    """Return the survivors as findings, each at its rule, with the examples that do not hold; or unreadable packs."""
    survivors = [_problem(each, reasons.get(_name(each))) for each in mutated.survivors]
    return mutated.gathered.checked([*mutated.gathered.problems, *mutated.broken, *survivors])


def _problem(survivor: Survivor, reason: str | None) -> Problem:
    mutant = survivor.mutant
    at = next(at for at, rule in enumerate(survivor.pack.rules) if rule.name == mutant.rule.name)
    message = f"no example notices that {KINDS[mutant.kind][1]}: {mutant}"
    if reason is not None:
        hint, severity = f"listed: {reason}", "information"
    elif survivor.killer is not None:
        hint, severity = "\n".join(("add under `examples`:", *yaml_lines(survivor.killer))), "warning"
    else:
        hint, severity = survivor.why, "warning"
    return replace(survivor.document.problem(SURVIVES.name, ("rules", at, "id"), message, hint), severity=severity)
