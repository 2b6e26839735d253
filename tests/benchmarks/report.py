"""What a run measured, as one table: medians, and each against the fastest peer that was measured beside it."""

from __future__ import annotations

import os
import platform
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from statistics import median
from typing import Any

__all__ = ["machine", "table"]


def machine() -> str:
    """Describe the machine: processor, cores, memory, system, Python."""
    name, pages = platform.processor() or platform.machine(), os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")
    info = Path("/proc/cpuinfo")
    if info.is_file():
        found = [line.partition(":")[2].strip() for line in info.read_text().splitlines() if "model name" in line]
        name = found[0] if found else name
    memory = f"{pages / 2**30:.0f} GiB"
    python = f"{platform.python_implementation()} {platform.python_version()}"
    return f"{name}, {os.cpu_count()} cores, {memory}, {platform.system()} {platform.release()}, {python}"


def table(benchmarks: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    """Yield the lines of the table."""
    groups: dict[str, list[Mapping[str, Any]]] = {}
    for each in _merged(benchmarks):
        groups.setdefault(each["group"], []).append(each)
    for group, found in groups.items():
        peer, floor = (_least(found, role) for role in ("peer", "floor"))
        memory = any("memory" in one["extra_info"] for one in found)
        against = f"{'fastest peer=1' if peer else '':>16}{'floor=1' if floor else '':>10}"
        yield ""
        yield f"{group:<82}{'median':>11}{'peak memory' if memory else 'a second':>14}{against}".rstrip()
        for one in found:
            more = f"{one['extra_info']['memory'] / 2**20:.1f} MiB" if memory else f"{1 / _each(one):,.0f}"
            ratios = f"{_each(one) / peer:>16.2f}" if peer else f"{'':>16}"
            ratios += f"{_each(one) / floor:>10.2f}" if floor else ""
            yield f"  {one['name']:<80}{_time(_each(one)):>11}{more:>14}{ratios}".rstrip()


def _merged(benchmarks: Iterable[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return what was measured in several turns once, with the median of all turns and the most memory of any."""
    turns: dict[tuple[str, str], list[Mapping[str, Any]]] = {}
    for each in benchmarks:
        turns.setdefault((each["group"], each["name"]), []).append(each)
    merged = []
    for found in turns.values():
        info = dict(found[0]["extra_info"])
        if "memory" in info:
            info["memory"] = max(each["extra_info"]["memory"] for each in found)
        merged.append({**found[0], "extra_info": info, "stats": {"median": median(_median(each) for each in found)}})
    return merged


def _median(one: Mapping[str, Any]) -> float:
    return float(one["stats"]["median"])


def _least(found: Sequence[Mapping[str, Any]], role: str) -> float | None:
    return min((_each(one) for one in found if one["extra_info"]["role"] == role), default=None)


def _each(one: Mapping[str, Any]) -> float:
    return _median(one) / int(one["extra_info"]["units"])


def _time(seconds: float) -> str:
    for unit, size in (("s", 1.0), ("ms", 1e-3), ("µs", 1e-6)):
        if seconds >= size:
            return f"{seconds / size:.2f} {unit}"
    return f"{seconds / 1e-9:.0f} ns"
