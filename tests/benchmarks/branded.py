"""The index of branded foods: its build against a bare read of the same archive, its size, and look-ups.

``BRANDED_CODES`` in the environment says how many codes the invented archive has (default 20,000, about 100,000 entries and 1.3
million values); 400,000 make the size of a real one, two million entries and 27 million values.
"""

import os
import random
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

from service.lookup.branded.index import BrandedIndex
from tests.benchmarks.figure import Figure
from tests.benchmarks.server import as_installed
from tests.lookup.branded.enlarge import Truth, read_truth

CODES = int(os.environ.get("BRANDED_CODES", "20000"))
HERE = Path(__file__).parent
LOOKED_UP = 2_000
SEARCHED = 300
ROUNDS = 7
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
BUILD = (
    "import sys, pathlib; from service.lookup.branded.build import build_index; "
    "build_index(pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2]))"
)
SHOW = (
    "import sys, pathlib; from service.lookup.branded.index import BrandedIndex; "
    "print(BrandedIndex(pathlib.Path(sys.argv[1])).by_code(sys.argv[2]).fdc_id)"
)


def used(*command: str) -> tuple[float, float, float]:
    """Seconds of processor time, seconds by the clock, and megabytes at the most, of one process.

    The megabytes are at least those of this process when it began the other.
    """
    began = time.perf_counter()
    with subprocess.Popen(
        [sys.executable, *command], cwd=HERE.parents[1], env=as_installed(), stdout=subprocess.DEVNULL
    ) as process:
        _pid, status, usage = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise RuntimeError(f"{command} ended with {process.returncode}")
    return (
        usage.ru_utime + usage.ru_stime,
        time.perf_counter() - began,
        usage.ru_maxrss / (1 if sys.platform == "linux" else 1024) / 1024,
    )


def figures() -> Iterator[Figure]:
    """Ratios where there is something to compare with; sizes for a real archive in proportion to the codes."""
    with tempfile.TemporaryDirectory() as folder:
        archive, to = Path(folder, "archive.zip"), Path(folder, "foods.sqlite3")
        used(
            "-m", "tests.lookup.branded.enlarge", str(archive), str(CODES)
        )  # so that this process stays small: see ``used``
        bare = used(str(HERE / "bare_archive_read.py"), str(archive))
        ours = used("-c", BUILD, str(archive), str(to))
        yield Figure(
            "building the index against reading its archive",
            ours[0] / bare[0],
            3,
            at_most=True,
            detail=f"{ours[0]:.0f} s of a processor, {ours[1]:.0f} s by the clock, against {bare[0]:.0f} s and {bare[1]:.0f} s",
        )
        yield Figure("memory of a build, MB", ours[2], 800, at_most=True, detail=f"the bare read {bare[2]:.0f} MB")
        size = to.stat().st_size / 1e6
        yield Figure(
            "the index of 400,000 codes, MB",
            size * 400_000 / CODES,
            500,
            at_most=True,
            detail=f"{size:.0f} MB for {CODES:,}",
        )
        yield from _look_ups(BrandedIndex(to), read_truth(archive))


def _look_ups(index: BrandedIndex, truth: Truth) -> Iterator[Figure]:
    pick = random.Random(5)  # noqa: S311 - which codes are tried
    codes = pick.sample(list(truth.newest), min(LOOKED_UP, CODES))
    with closing(sqlite3.connect(index.path)) as file:
        rows = file.execute("SELECT gtin, fdc_id, values_fdc_id FROM foods").fetchall()
    wrong = len(truth.newest) - sum(
        (truth.newest.get(code), truth.values.get(code)) == (newest, of) for code, newest, of in rows
    )
    yield Figure(
        "codes with a wrong newest version or values", wrong, 0, at_most=True, detail=f"of {len(truth.newest):,}"
    )
    code = str(codes[0])
    ours = sorted(used("-c", SHOW, str(index.path), code)[0] for _ in range(ROUNDS))[ROUNDS // 2]
    bare = sorted(used(str(HERE / "bare_code_look_up.py"), str(index.path), code)[0] for _ in range(ROUNDS))[
        ROUNDS // 2
    ]
    detail = f"{ours * 1000:.0f} ms of a processor against {bare * 1000:.0f} ms"
    yield Figure("a code in a new process against bare sqlite3", ours / bare, 4, at_most=True, detail=detail)
    yield Figure(
        "a code, ms of a processor",
        _slowest_of_100(index.by_code, [str(code) for code in codes]),
        1,
        at_most=True,
        detail="99 of 100",
    )
    names = [description.split() for description in truth.descriptions.values()][:SEARCHED]
    words = [" ".join(pick.sample(name, 2)) for name in names]
    yield Figure(
        "two words, ms of a processor", _slowest_of_100(index.by_words, words), 50, at_most=True, detail="99 of 100"
    )
    beginnings = [pick.choice(name)[: pick.randint(3, 8)] for name in names]
    yield Figure(
        "a beginning, ms of a processor",
        _slowest_of_100(index.by_words, beginnings),
        50,
        at_most=True,
        detail="99 of 100",
    )
    wanted = [
        (name, place)
        for name in names
        for place in range(len(name))
        if len(name[place]) > 4 and name.count(name[place]) == 1
    ]
    tried = [
        (word[place], [*word[:place], _misspelt(pick, word[place]), *word[place + 1 :]])
        for word, place in pick.sample(wanted, SEARCHED)
    ]
    right = sum(
        any(word in food.description.split() for food in index.by_words(" ".join(typed), 3)) for word, typed in tried
    )
    yield Figure("misspelt words: right among the first three", right / len(tried), 0.95)
    misspelt = [" ".join(typed) for _word, typed in tried]
    yield Figure(
        "a misspelt word, ms of a processor",
        _slowest_of_100(index.by_words, misspelt),
        50,
        at_most=True,
        detail="99 of 100",
    )


def _misspelt(pick: random.Random, word: str) -> str:
    """A word with a letter left out, added, changed, or two exchanged, but not the first."""
    at = pick.randrange(1, len(word) - 1)
    return pick.choice(
        (
            word[:at] + word[at + 1 :],
            word[:at] + pick.choice(LETTERS) + word[at:],
            word[:at] + pick.choice(LETTERS) + word[at + 1 :],
            word[:at] + word[at + 1] + word[at] + word[at + 2 :],
        )
    )


def _slowest_of_100(look_up: Callable[[str], object], asked: list[str]) -> float:
    """Milliseconds of processor time that 99 of 100 look-ups stay below."""
    taken = []
    for one in asked:
        began = time.process_time()
        look_up(one)
        taken.append(1000 * (time.process_time() - began))
    return sorted(taken)[int(len(taken) * 0.99)]
