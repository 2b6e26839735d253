"""The HTTP service under load: one worker, distinct tickets, a brief record for each.

An asyncio client keeps so many connections open and sends the next request as soon as one is answered; a second row
paces it at the rate that is asked for. Latency is wall time, since it is what a counter waits for; both ends share the
machine, which counts against the service.
"""

from __future__ import annotations

import asyncio
import os
import socket
import statistics
import subprocess
import sys
import time
from pathlib import Path
from typing import Final

from tests.benchmarks.asking import fresh_seeds
from tests.benchmarks.context import Context
from tests.benchmarks.measuring import say
from tests.benchmarks.tickets import texts, tickets

__all__ = ["measure"]

_CONNECTIONS: Final = 50
_WARM: Final = 4_000
_REQUESTS: Final = 10_000
_MANY: Final = 100_000
_RATE: Final = 1_000.0


async def _one(port: int, bodies: list[bytes], began: float, gap: float, took: list[float], number: int) -> None:
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    for place, body in enumerate(bodies):
        if gap:
            await asyncio.sleep(max(0.0, began + (place * _CONNECTIONS + number) * gap - time.perf_counter()))
        start = time.perf_counter()
        writer.write(
            b"POST /decide?answer=brief HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
            b"Content-Length: %d\r\n\r\n%s" % (len(body), body)
        )
        head = await reader.readuntil(b"\r\n\r\n")
        if not head.startswith(b"HTTP/1.1 200"):
            raise AssertionError(head.decode("latin-1"))
        length = next(int(line[16:]) for line in head.lower().split(b"\r\n") if line.startswith(b"content-length: "))
        await reader.readexactly(length)
        took.append(time.perf_counter() - start)
    writer.close()


async def _load(port: int, count: int, rate: float = 0.0) -> tuple[float, list[float]]:
    """Return how many requests a second were answered, and how long each took, in seconds."""
    bodies = [text.encode() for text in texts(tickets(count, next(fresh_seeds())))]
    took: list[float] = []
    began = time.perf_counter()
    await asyncio.gather(
        *(
            _one(port, bodies[number::_CONNECTIONS], began, 1 / rate if rate else 0.0, took, number)
            for number in range(_CONNECTIONS)
        )
    )
    return count / (time.perf_counter() - began), sorted(took)


def _resident(process: int) -> float:
    pages = int(Path(f"/proc/{process}/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20


def _told(name: str, found: tuple[float, list[float]]) -> None:
    rate, took = found
    half, most = statistics.median(took) * 1e3, took[int(len(took) * 0.99)] * 1e3
    say(f"{name:60} {rate:8.0f}/s   median {half:6.1f} ms   p99 {most:6.1f} ms")


def measure(context: Context) -> None:
    """Measure the service, and how it grows."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "tirerules", "serve", "--port", str(port)]
    with subprocess.Popen(command, stderr=subprocess.DEVNULL) as serving:
        try:
            for _ in range(100):
                try:
                    socket.create_connection(("127.0.0.1", port), 1).close()
                    break
                except OSError:
                    time.sleep(0.1)
            asyncio.run(_load(port, _WARM))
            _told(
                f"brief decisions, {_CONNECTIONS} connections, as fast as they come",
                asyncio.run(_load(port, _REQUESTS)),
            )
            _told(f"the same at {_RATE:.0f} a second", asyncio.run(_load(port, _REQUESTS, _RATE)))
            before = _resident(serving.pid)
            for _ in range(_MANY // _REQUESTS):
                asyncio.run(_load(port, _REQUESTS))
            say(f"resident memory: {before:.0f} MiB, after {_MANY:,} requests more {_resident(serving.pid):.0f} MiB")
        finally:
            serving.terminate()
