"""``packed-lunch bulk``: exit codes, progress, and real processes that are stopped in the middle."""

import json
import os
import pty
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from service.cli.main import app
from service.jobs.household.kinds import PACKETS
from service.jobs.household.records import keep_record
from service.jobs.household.requests import KeptPacket
from service.settings import settings
from service.store.access.households import create_household
from service.store.database import Store
from tests.served import GENEROUS, ROOT

Row = dict[str, Any]
HEADER = "lunch,age_months,standard,on,food,quantity,unit,avoids,insulated,cold_sources\n"
PACK = [
    "{},98,us-school-lunch,2026-12-01,bread-whole-wheat,2,slice,,true,2\n",
    "{},98,us-school-lunch,2026-12-01,turkey-breast-roasted,60,g,,true,2\n",
    "{},98,us-school-lunch,2026-12-01,carrots-raw,122,g,,true,2\n",
    "{},98,us-school-lunch,2026-12-01,apple,1,apple,,true,2\n",
    "{},98,us-school-lunch,2026-12-01,milk-1-percent,1,cup,,true,2\n",
]
"""An invented lunch that keeps every rule checked for one lunch."""


def lunches(count: int, first: int = 0) -> str:
    """So many lunches that keep the rules."""
    return "".join(line.format(f"L{number}") for number in range(first, first + count) for line in PACK)


def bulk(*options: str | Path) -> Result:
    """Run the command to its end, in this process."""
    return CliRunner().invoke(app, ["bulk", *map(str, options)])


@pytest.fixture
def table(tmp_path: Path) -> Path:
    """Three lunches in order."""
    path = tmp_path / "table.csv"
    path.write_text(HEADER + lunches(3))
    return path


def test_exit_code_0_where_every_lunch_may_be_packed(table: Path, tmp_path: Path) -> None:
    """The summary on standard output, nothing on standard error, an empty file of faults."""
    done = bulk(table, "--out", tmp_path / "out.csv")
    assert (done.exit_code, done.stderr) == (0, "")
    assert "3 lunches checked" in done.stdout
    assert len((tmp_path / "out.csv").read_text().splitlines()) == 4
    assert len((tmp_path / "out.rejects.csv").read_text().splitlines()) == 1


def test_exit_code_1_where_something_is_to_change(table: Path, tmp_path: Path) -> None:
    """A lunch with an allergen."""
    table.write_text(HEADER + lunches(3).replace(",,true", ",milk,true"))
    done = bulk(table, "--out", tmp_path / "out.csv")
    assert done.exit_code == 1
    assert "DO NOT PACK" in done.stdout


def test_exit_code_1_where_rows_are_rejected(table: Path, tmp_path: Path) -> None:
    """Though all lunches left may be packed; where the faults stand is shown."""
    table.write_text(HEADER + lunches(2) + lunches(1, 7).replace("apple,1", "appel,1"))
    done = bulk(table, "--out", tmp_path / "out.ndjson", "--rejects", tmp_path / "faults.ndjson", "--json")
    assert done.exit_code == 1
    told = json.loads(done.stdout)
    assert (told["lunches"], told["rejected_lunches"], told["faults"]) == (2, 1, 1)
    assert told["verdicts"]["pack"] == 2
    fault = json.loads((tmp_path / "faults.ndjson").read_text())
    assert (fault["line"], fault["lunch"], fault["field"], fault["value"]) == (15, "L7", "food", "appel")
    assert told["cautions"]


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("none.csv", "--out", "o.csv"), "is not a file that can be read"),
        (("table.csv", "--out", "o.txt"), "names no kind of table"),
        (("table.csv", "--out", "table.csv"), "is the same file as FILE"),
        (("table.csv", "--out", "o.csv", "--findings", "o.csv"), "is the same file as --out"),
    ],
)
def test_exit_code_2_for_bad_input(table: Path, options: tuple[str, ...], words: str) -> None:
    """One line that names the place, the value and the remedy; nothing is written."""
    paths = [str(table.parent / part) if "." in part else part for part in options]
    done = bulk(*paths)
    assert done.exit_code == 2
    assert words in done.stderr
    assert [path.name for path in table.parent.iterdir()] == ["table.csv"]


@pytest.mark.parametrize("named", ["", ".", ".."])
@pytest.mark.parametrize("option", ["--out", "--findings", "--rejects"])
def test_a_name_that_is_no_file_is_refused(table: Path, tmp_path: Path, option: str, named: str) -> None:
    """As from a shell's variable that is not set: told as bad input, and never passed over."""
    out = [] if option == "--out" else ["--out", tmp_path / "out.csv"]
    done = bulk(table, *out, option, named)
    assert done.exit_code == 2
    assert f"{option}: " in done.stderr
    assert "Name it with one of: .csv" in done.stderr
    assert not (tmp_path / "out.csv").exists()


def test_findings_go_to_a_file_of_their_own(table: Path, tmp_path: Path) -> None:
    """If asked for."""
    done = bulk(table, "--out", tmp_path / "out.parquet", "--findings", tmp_path / "findings.csv.gz")
    assert done.exit_code == 0
    assert "findings, written to" in done.stdout
    assert (tmp_path / "findings.csv.gz").stat().st_size > 100


def test_a_terminal_is_shown_a_bar(table: Path, tmp_path: Path) -> None:
    """On standard error, so that the summary can be piped on."""
    table.write_text(HEADER + lunches(4000))
    ours, theirs = pty.openpty()
    with subprocess.Popen(
        [sys.executable, "-m", "service", "bulk", str(table), "--out", str(tmp_path / "out.csv")],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=theirs,
        env={**os.environ, "TERM": "xterm", "COLUMNS": "100"},
    ) as process:
        os.close(theirs)
        shown = b""
        while True:
            try:
                part = os.read(ours, 65536)
            except OSError:  # the other side is closed
                break
            if not part:
                break
            shown += part
        os.close(ours)
        printed = process.stdout.read() if process.stdout else b""
    assert b"Checking table.csv" in shown
    told = re.findall(rb"([0-9.]+)/([0-9.]+) ", shown)
    assert {done for done, whole in told if done == whole}, "the bar never came to its end"
    assert b"\x1b[2K" in shown.split(b"Checking")[-1], "the bar is not taken away at the end"
    assert b"Checking" not in printed
    assert process.returncode == 0


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A table of many blocks."""
    path = tmp_path_factory.mktemp("large") / "table.csv"
    with path.open("w") as file:
        file.write(HEADER)
        for first in range(0, 20_000, 10_000):
            file.write(lunches(10_000, first))
    return path


PROC = Path("/proc/self/status")
MEASURED = f"""
import sys
from service.cli.main import app
from service.jobs.household.kinds import PACKETS
from service.jobs.household.records import keep_record
from service.jobs.household.requests import KeptPacket
from service.settings import settings
from service.store.database import Store
from service.store.access.households import create_household
from service.jobs.tables.files import lines as table_lines
table_lines.BLOCK_BYTES = 1 << 20
try:
    app(sys.argv[1:])
finally:
    peak = next(line.split()[1] for line in open("{PROC}") if line.startswith("VmHWM"))
    print("peak", peak, file=sys.stderr)
"""


def peak_mb(table: Path, out: Path) -> float:
    """The most memory that a run of its own process held."""
    done = subprocess.run(
        [sys.executable, "-c", MEASURED, "bulk", str(table), "--out", str(out)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    word, kilobytes = done.stderr.split()
    assert word == "peak"
    return int(kilobytes) / 1024


@pytest.mark.skipif(not PROC.exists(), reason="this system does not tell a process's peak of memory in /proc")
def test_memory_does_not_grow_with_the_file(tmp_path: Path) -> None:
    """Several times the rows, in small blocks: it holds less more than the file is longer.

    Read as one block, the longer file takes ten times that (tried).
    """
    files = []
    for count in (20_000, 120_000):
        files.append(tmp_path / f"{count}.csv")
        files[-1].write_text(HEADER + lunches(count))
    small, great = (peak_mb(file, tmp_path / f"{file.stem}-out.ndjson") for file in files)
    more = (files[1].stat().st_size - files[0].stat().st_size) / 2**20
    assert more > 30
    assert great - small < more, (small, great, more)


def test_a_disk_that_is_full_is_told_and_leaves_what_was_there(large: Path, tmp_path: Path) -> None:
    """A real limit on the size of files, met in the middle of the run."""
    (tmp_path / "out.csv").write_text("what was there before")
    limited = (
        "import resource, sys; resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096));"
        "from service.cli.main import app; app(sys.argv[1:])"
    )
    command = [sys.executable, "-c", limited, "bulk", str(large), "--out", str(tmp_path / "out.csv")]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert done.stderr.startswith("--out: ")
    assert "cannot be written (File too large)" in done.stderr
    assert {path.name: path.read_text() for path in tmp_path.iterdir()} == {"out.csv": "what was there before"}


HELD = """
import sys, time
from service.cli.main import app
from service.jobs.household.kinds import PACKETS
from service.jobs.household.records import keep_record
from service.jobs.household.requests import KeptPacket
from service.settings import settings
from service.store.database import Store
from service.store.access.households import create_household
from service.jobs.tables.files import lines as table_lines, run
table_lines.BLOCK_BYTES = 1 << 16
whole = run.check_here

def held(chunks, findings, **more):
    for number, one in enumerate(whole(chunks, findings, **more)):
        yield one
        if number == 3:
            print("held", flush=True)
            time.sleep(600)

run.check_here = held
app(sys.argv[1:])
"""
"""A run that stops in the middle of its work, however fast the machine is: after its fourth chunk it waits for a signal."""


@pytest.fixture
def running(large: Path, tmp_path: Path) -> Iterator["subprocess.Popen[str]"]:
    """A run in the middle of its work, next to the place of its answers."""
    (tmp_path / "out.ndjson").write_text("what was there before\n")
    with subprocess.Popen(
        [sys.executable, "-c", HELD, "bulk", str(large), "--out", str(tmp_path / "out.ndjson")],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as process:
        try:
            assert process.stdout is not None
            assert process.stdout.readline() == "held\n", process.stderr.read() if process.stderr else ""
            assert list(tmp_path.glob(".out.ndjson.*.part"))
            yield process
        finally:
            if process.poll() is None:
                process.kill()


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_run_that_is_stopped_leaves_what_was_there(
    running: "subprocess.Popen[str]", tmp_path: Path, number: signal.Signals
) -> None:
    """By Ctrl+C or by a request to end: nothing half-written, nothing next to it."""
    running.send_signal(number)
    _out, told = running.communicate(timeout=GENEROUS)
    assert running.returncode == 130
    assert told == "Stopped. Nothing was written.\n"
    assert [path.name for path in tmp_path.iterdir()] == ["out.ndjson"]
    assert (tmp_path / "out.ndjson").read_text() == "what was there before\n"


def test_a_run_that_is_killed_leaves_no_half_written_answers(running: "subprocess.Popen[str]", tmp_path: Path) -> None:
    """Nothing can clean up then; but the answers of before are whole, and the next run removes the rest."""
    running.kill()
    running.communicate(timeout=GENEROUS)
    assert (tmp_path / "out.ndjson").read_text() == "what was there before\n"
    small = tmp_path / "small.csv"
    small.write_text(HEADER + lunches(1))
    assert bulk(small, "--out", tmp_path / "out.ndjson").exit_code == 0
    assert json.loads((tmp_path / "out.ndjson").read_text())["lunch"] == "L0"
    assert not list(tmp_path.glob(".*.part"))


def test_a_run_to_the_same_name_leaves_the_half_written_file_of_another_that_goes_on(
    running: "subprocess.Popen[str]", tmp_path: Path
) -> None:
    """Only what a killed run left is removed."""
    small = tmp_path / "small.csv"
    small.write_text(HEADER + lunches(1))
    before = set(tmp_path.glob(".out.ndjson.*.part"))
    assert before
    assert bulk(small, "--out", tmp_path / "out.ndjson").exit_code == 0
    assert running.poll() is None
    assert before <= set(tmp_path.glob(".out.ndjson.*.part"))


READ = {"food": "bread-whole-wheat", "read_on": "2026-12-01", "ingredients": "Wheat flour, water, yeast, salt."}


def for_sesame(tmp_path: Path) -> Path:
    """One lunch of bread and pasta for a child that must not have sesame."""
    source = tmp_path / "lunches.csv"
    line = "A,98,us-school-lunch,2026-12-01,{},60,g,sesame,true,2\n"
    source.write_text(HEADER + line.format("bread-whole-wheat") + line.format("pasta-cooked"))
    return source


def checked_with(tmp_path: Path, *options: str | Path) -> tuple[Row, Row]:
    """The lunch as written, and the summary as JSON."""
    out = tmp_path / "out.ndjson"
    done = bulk(for_sesame(tmp_path), "--out", out, "--json", *options)
    assert done.exit_code in (0, 1), done.output
    return json.loads(out.read_text()), json.loads(done.stdout)


def test_packets_in_a_file_are_used(tmp_path: Path) -> None:
    packets = tmp_path / "packets.json"
    packets.write_text(json.dumps([READ, {**READ, "food": "pasta-cooked", "ingredients": "Durum wheat."}]))
    before, after = (checked_with(tmp_path, *more)[0] for more in ((), ("--packets", packets)))
    assert (before["allergen_outcome"], after["allergen_outcome"]) == ("check_label", "not_declared")


def test_a_packet_that_could_not_be_read_and_salted_water_are_said_once(tmp_path: Path) -> None:
    packets = tmp_path / "packets.json"
    packets.write_text(json.dumps([{**READ, "ingredients": "Сахар, пшеничная мука, молоко"}]))
    plain, summary = checked_with(tmp_path, "--packets", packets)
    codes = [one["code"] for one in summary["caution_messages"]]
    assert (codes.count("caution.not-read"), codes.count("caution.salted-water")) == (1, 1)
    salted, summary = checked_with(tmp_path, "--packets", packets, "--salts-cooking-water")
    assert "caution.salted-water" not in [one["code"] for one in summary["caution_messages"]]
    assert salted["sodium_mg"] > plain["sodium_mg"] + 50


def test_packets_that_do_not_fit_are_refused_before_anything_is_written(tmp_path: Path) -> None:
    packets = tmp_path / "packets.json"
    packets.write_text(json.dumps([{**READ, "food": "bred"}]))
    done = bulk(for_sesame(tmp_path), "--out", tmp_path / "out.csv", "--packets", packets)
    assert done.exit_code == 2
    assert "packets/0/food" in done.output
    assert not (tmp_path / "out.csv").exists()


def test_a_households_packets_and_cooking_water_are_used(tmp_path: Path, store: Store, store_url: str) -> None:
    with store.writing() as connection:
        household = create_household(connection, {"salts_cooking_water": True})
        for food in ("bread-whole-wheat", "pasta-cooked"):
            asked = KeptPacket.model_validate({**READ, "food": food})
            keep_record(connection, PACKETS, household, asked, None)
    with pytest.MonkeyPatch.context() as patched:
        patched.setenv("PACKED_LUNCH_DATABASE_URL", store_url)
        settings.cache_clear()
        found, summary = checked_with(tmp_path, "--household", str(household))
    settings.cache_clear()
    assert found["allergen_outcome"] == "not_declared"
    assert found["sodium_mg"] > checked_with(tmp_path)[0]["sodium_mg"] + 50
    assert "caution.salted-water" not in [one["code"] for one in summary["caution_messages"]]
