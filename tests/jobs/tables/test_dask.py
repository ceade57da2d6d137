"""The table check on Dask: the same function on partitions, and a cluster of two worker processes."""

import gc
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import pairwise
from pathlib import Path
from time import monotonic

import pandas as pd
import pytest
from typer.testing import CliRunner

from service.cli.main import app
from service.domain.errors import LunchError
from service.jobs.tables.check_table import check_table
from service.jobs.tables.files.dask import checker_on
from service.jobs.tables.files.run import check_file
from tests.cluster import end_worker
from tests.jobs.tables.table_files import rows_of, write
from tests.refused import refused
from tests.served import GENEROUS, ROOT, free_port

pytest.importorskip("distributed", reason="the extra dask is not installed")


def lunches_of(frame: pd.DataFrame) -> pd.DataFrame:
    """The partition function: the table check as it is."""
    return check_table(frame).lunches


def test_the_check_is_a_partition_function() -> None:
    """Partitions cut between lunches give together what the whole frame gives."""
    from dask import config, dataframe

    frame = pd.DataFrame(rows_of(40)).assign(line=range(1, 101))
    whole = lunches_of(frame)
    borders = [0, 20, 50, 100]
    assert all(frame["lunch"][cut] != frame["lunch"][cut - 1] for cut in borders[1:-1])
    with config.set({"dataframe.convert-string": False, "scheduler": "synchronous"}):
        parts = dataframe.from_map(lambda span: frame.iloc[span[0] : span[1]], list(pairwise(borders)))
        found = parts.map_partitions(lunches_of, meta=whole.iloc[:0]).compute()
    pd.testing.assert_frame_equal(found.reset_index(drop=True), whole)


@pytest.fixture(scope="module")
def cluster() -> Iterator[str]:
    """The address of a running cluster."""
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.cluster"],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    try:
        address = process.stdout.readline().strip()
        assert address.startswith("tcp://127.0.0.1:")
        yield address
    finally:
        process.stdin.close()
        process.wait(timeout=GENEROUS)
        process.stdout.close()


@pytest.mark.parametrize("kind", ["csv", "ndjson", "parquet"])
def test_two_workers_write_the_same_bytes_as_one_machine(cluster: str, tmp_path: Path, kind: str) -> None:
    """Lunches, findings and faults, chunk by chunk in the order of the rows."""
    source = write(tmp_path / f"table.{kind}", rows_of(120))
    written = []
    for place, checked in (("here", None), ("there", checker_on(cluster))):
        out = [tmp_path / f"{name}-{place}.{kind}" for name in ("lunches", "findings", "rejects")]
        block = 60 if kind == "parquet" else 7000
        check_file(source, out[0], out[1], out[2], lambda _done: None, checked, block)
        written.append([path.read_bytes() for path in out])
    assert written[0] == written[1]


def test_the_command_line_writes_the_same_bytes_on_the_cluster(cluster: str, tmp_path: Path) -> None:
    """``packed-lunch bulk --dask ADDRESS``: the same files, the same summary, the same exit code."""
    source = write(tmp_path / "table.csv", rows_of(60))
    seen = []
    for folder, more in (("here", []), ("there", ["--dask", cluster])):
        (tmp_path / folder).mkdir()
        out, findings = tmp_path / folder / "out.ndjson", tmp_path / folder / "findings.parquet"
        done = CliRunner().invoke(app, ["bulk", str(source), "--out", str(out), "--findings", str(findings), *more])
        files = {path.name: path.read_bytes() for path in out.parent.iterdir()}
        seen.append((done.exit_code, done.stdout.replace(f"/{folder}/", "/"), files))
    assert seen[0] == seen[1]
    assert sorted(seen[0][2]) == ["findings.parquet", "out.ndjson", "out.rejects.ndjson"]


def test_the_work_is_done_by_the_workers(cluster: str, tmp_path: Path) -> None:
    """Both of them: else the test above would prove nothing."""
    from distributed import Client

    source = write(tmp_path / "table.csv", rows_of(120))
    with Client(cluster, set_as_default=False) as client:
        before = client.run(lambda dask_worker: dask_worker.state.executed_count)
        out = [tmp_path / f"{name}.csv" for name in ("lunches", "findings", "rejects")]
        check_file(source, out[0], out[1], out[2], lambda _done: None, checker_on(cluster), 3000)
        after = client.run(lambda dask_worker: dask_worker.state.executed_count)
    assert len(after) == 2
    assert all(after[worker] > before[worker] for worker in after)


def test_an_address_at_which_nobody_answers_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """And nothing is written."""
    monkeypatch.setattr("service.jobs.tables.files.dask.SECONDS_TO_ANSWER", 1)
    source = write(tmp_path / "table.csv", rows_of(3))
    checked = checker_on(f"tcp://127.0.0.1:{free_port()}")
    with refused(LunchError, match="is not an address at which a scheduler answers"):
        check_file(source, tmp_path / "o.csv", None, tmp_path / "r.csv", lambda _done: None, checked)
    assert list(tmp_path.iterdir()) == [source]


def test_workers_of_another_version_are_refused(cluster: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """They might answer otherwise."""
    monkeypatch.setattr("service.jobs.tables.files.dask.__version__", "0.0.1")
    source = write(tmp_path / "table.csv", rows_of(3))
    with refused(LunchError, match="has workers of version"):
        check_file(source, tmp_path / "o.csv", None, tmp_path / "r.csv", lambda _done: None, checker_on(cluster))


def test_without_the_extra_the_way_to_it_is_told(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """In the words of the remedy."""
    monkeypatch.setitem(sys.modules, "distributed", None)
    source = write(tmp_path / "table.csv", rows_of(3))
    checked = checker_on("tcp://127.0.0.1:1")
    with refused(LunchError, match=r"pip install 'packed-lunch\[dask\]'"):
        check_file(source, tmp_path / "o.csv", None, tmp_path / "r.csv", lambda _done: None, checked)


@contextmanager
def started(workers: int) -> Iterator[tuple["subprocess.Popen[str]", str]]:
    """A cluster of its own, which a test may harm, and its address."""
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.cluster", str(workers)],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    with process:
        try:
            assert process.stdout is not None
            yield process, process.stdout.readline().strip()
        finally:
            process.kill()


def kill(process: "subprocess.Popen[str]") -> None:
    process.kill()


def freeze(process: "subprocess.Popen[str]") -> None:
    """It holds its connections and answers nobody."""
    process.send_signal(signal.SIGSTOP)


def without_workers(process: "subprocess.Popen[str]") -> None:
    assert process.stdin is not None
    process.stdin.write("none\n")
    process.stdin.flush()


@pytest.mark.parametrize(
    ("harm", "words"),
    [
        (kill, r"was lost in the middle of the run.*Start the cluster again"),
        (freeze, r"was lost in the middle of the run.*Start the cluster again"),
        (without_workers, r"lost all its workers in the middle of the run; nothing was written. Start workers"),
    ],
)
def test_what_is_lost_in_the_middle_is_reported_within_a_minute(
    harm: Callable[["subprocess.Popen[str]"], None], words: str, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    """In a sentence with a remedy, no traceback next to it, and nothing is written."""
    source = write(tmp_path / "table.csv", rows_of(2000))
    harmed: list[float] = []

    def harm_midway(done: int) -> None:
        if done > 20_000 and not harmed:
            harmed.append(monotonic())
            harm(process)

    with started(2) as (process, address), refused(LunchError, match=words):
        check_file(source, tmp_path / "o.csv", None, tmp_path / "r.csv", harm_midway, checker_on(address), 3000)
    assert monotonic() - harmed[0] < 60
    gc.collect()  # tasks that nobody waits for any more say so when they are thrown away
    assert list(tmp_path.iterdir()) == [source]
    assert "Traceback" not in capfd.readouterr().err


def test_a_cluster_without_workers_ends_the_command_with_2(tmp_path: Path) -> None:
    """At once, and nothing is written."""
    source = write(tmp_path / "table.csv", rows_of(3))
    with started(0) as (_process, address):
        done = CliRunner().invoke(app, ["bulk", str(source), "--out", str(tmp_path / "o.csv"), "--dask", address])
    assert done.exit_code == 2
    assert "has no workers. Start workers that have version" in done.stderr
    assert list(tmp_path.iterdir()) == [source]


def test_work_over_which_one_worker_after_the_other_ends_is_given_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each is started again and takes the same frame; after a few it is said what to do."""
    monkeypatch.setattr("service.jobs.tables.files.dask.check_table", end_worker)
    source = write(tmp_path / "table.csv", rows_of(3))
    with started(2) as (_process, address), refused(LunchError, match="lost several workers over the same part"):
        check_file(source, tmp_path / "o.csv", None, tmp_path / "r.csv", lambda _done: None, checker_on(address))
    assert list(tmp_path.iterdir()) == [source]
