"""The machine that a run was measured on."""

from __future__ import annotations

import os
import platform
from pathlib import Path

__all__ = ["machine"]


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
