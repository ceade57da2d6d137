"""``packed-lunch foods apple`` against a bare program that reads the same names and prints a table with the same libraries."""

import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

from tests.benchmarks.figure import Figure
from tests.benchmarks.server import as_installed

ROOT = Path(__file__).resolve().parents[2]
ROUNDS = 9
OURS = (sys.executable, "-m", "service", "foods", "apple")
BARE = (sys.executable, str(Path(__file__).with_name("bare_look_up.py")), "apple")


def seconds(command: tuple[str, ...]) -> float:
    """How long one run takes, from start to end."""
    began = time.perf_counter()
    done = subprocess.run(command, cwd=ROOT, env=as_installed(), capture_output=True, text=True, check=True)
    if "apple" not in done.stdout:
        raise RuntimeError(done.stdout)
    return time.perf_counter() - began


def figures() -> Iterator[Figure]:
    """The ratio of medians, in turns; the first turn of each compiles the modules and warms the disk."""
    ours, bare = [], []
    for _ in range(ROUNDS + 1):
        ours.append(seconds(OURS))
        bare.append(seconds(BARE))
    our_time, bare_time = sorted(ours[1:])[ROUNDS // 2], sorted(bare[1:])[ROUNDS // 2]
    yield Figure(
        "a look-up of foods against a bare program",
        our_time / bare_time,
        1.5,
        at_most=True,
        detail=f"{our_time * 1000:.0f} ms against {bare_time * 1000:.0f} ms",
    )
