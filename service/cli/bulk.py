"""``packed-lunch bulk``: check a table of lunches; progress on a terminal, a summary at the end."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from service.cli.household.care import SALTS, opened_store
from service.cli.terminal.faults import report_faults
from service.cli.terminal.printing import VERDICT_WORDS, AsJson, Reply, counted, finish, show_cautions
from service.cli.terminal.request_files import read_asked
from service.cli.terminal.stopping import STOPPED, ended_by_signals
from service.domain.cautions import CAUTIONS
from service.domain.errors import BadInput, LunchError
from service.domain.messages import message

if TYPE_CHECKING:
    from rich.console import Console

    from service.domain.foods.packets import KnownOfFoods
    from service.jobs.tables.files.run import TableSummary

"""Exit code of a run stopped by Ctrl+C, as shells have it (128 + SIGINT)."""
VERDICTS = ("pack", "adjust", "check_label", "do_not_pack")


def bulk(
    file: Annotated[str, typer.Argument(metavar="FILE", help="A table with one row an item: CSV, NDJSON or Parquet.")],
    out: Annotated[str, typer.Option(metavar="FILE", help="Where one row a lunch goes; the ending names the format.")],
    findings: Annotated[
        str | None, typer.Option(metavar="FILE", help="Where one row a finding goes, if wanted.")
    ] = None,
    rejects: Annotated[
        str | None, typer.Option(metavar="FILE", help="Where faults go; left out: next to OUT, named .rejects.")
    ] = None,
    dask: Annotated[
        str | None, typer.Option(metavar="ADDRESS", help="Check on the Dask cluster there (extra: dask).")
    ] = None,
    packets: Annotated[
        str | None,
        typer.Option(metavar="FILE", help="Packets that were read: a JSON list, as packets of a lunch check."),
    ] = None,
    salts_cooking_water: Annotated[bool | None, SALTS] = None,
    yardstick: Annotated[
        list[str] | None,
        typer.Option(
            metavar="ID",
            help="Show lunches beside this yardstick (see standards) where their rows name none; may be given again.",
        ),
    ] = None,
    household: Annotated[
        str | None,
        typer.Option(metavar="ID", help="Also use the packets of this household, and what it says of cooking water."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Check a table of lunches, however long: rows with faults are reported apart, all other lunches are kept."""
    with report_faults(as_json):
        from service.jobs.tables.files.run import check_file
        from service.jobs.tables.files.write import format_of

        known = known_of_foods_of(packets, salts_cooking_water, household)
        beside = known_yardsticks(yardstick or [])
        source, to = Path(file), Path(out)
        if not source.is_file():
            raise BadInput(
                pointer="FILE",
                value=file,
                problem=message("fault.no-table-file"),
            )
        checked = None
        if dask is not None:
            from service.jobs.tables.files.dask import checker_on

            checked = checker_on(dask, known, beside)
        format_of(to, "--out")
        rejected_to = rejects_path(to) if rejects is None else Path(rejects)
        try:
            with ended_by_signals(), shown_progress(source) as progress:
                findings_to = None if findings is None else Path(findings)
                summary = check_file(
                    source, to, findings_to, rejected_to, progress, checked, known=known, yardsticks=beside
                )
        except KeyboardInterrupt:
            sys.stderr.write("Stopped. Nothing was written.\n")
            raise typer.Exit(STOPPED) from None
        fine = not summary.faults and summary.verdicts.total() == summary.verdicts["pack"]
        finish(run_reply(summary, to, findings, rejected_to), as_json, show_summary, 0 if fine else 1)


def known_yardsticks(ids: list[str]) -> list[str]:
    """The yardsticks named; ``UnknownName`` for one that is none."""
    from service.jobs.lunch.yardsticks import check_yardsticks

    try:
        check_yardsticks(ids)
    except LunchError as fault:
        for one in fault.faults():
            one.under("--yardstick")
        raise
    return ids


def known_of_foods_of(packets: str | None, salts_cooking_water: bool | None, household: str | None) -> "KnownOfFoods":
    """What the table is checked with besides its rows, from the options."""
    from service.jobs.tables.packet_file import PacketFile
    from service.jobs.tables.request import known_of_foods

    read = [] if packets is None else read_asked(packets, PacketFile).root
    if household is None:
        return known_of_foods(read, salts_cooking_water)
    from service.jobs.household.tables import known_to_household
    from service.jobs.household.transfer.export_household import the_household

    with opened_store() as store:
        of = the_household(store, household)
        with store.reading() as connection:
            return known_to_household(connection, of, read, salts_cooking_water)


def rejects_path(out: Path) -> Path:
    """Where rejected rows go if nothing is said: next to the answers, ``lunches.rejects.csv`` for ``lunches.csv``."""
    from service.jobs.tables.files.write import ENDINGS

    ending = next((ending for ending in ENDINGS if out.name.lower().endswith(ending)), "")
    stem = out.name[: len(out.name) - len(ending)]
    return out.with_name(f"{stem}.rejects{ending}")


@contextmanager
def shown_progress(source: Path) -> Iterator[Callable[[int], None]]:
    """A bar on a terminal by the bytes read; nothing in a pipe."""
    if not sys.stderr.isatty():
        yield lambda _done: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, DownloadColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("{task.description}", markup=False), BarColumn(), DownloadColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(file=sys.stderr), transient=True) as bar:
        task = bar.add_task(f"Checking {source.name}", total=source.stat().st_size)
        yield lambda done: bar.update(task, completed=done)


def run_reply(summary: "TableSummary", out: Path, findings: str | None, rejects: Path) -> Reply:
    """What came of the run, as one object."""
    from service.jobs.tables.cautions import said_in
    from service.reference.messages import listed_as

    return {
        "lunches": summary.verdicts.total(),
        "verdicts": {verdict: summary.verdicts[verdict] for verdict in VERDICTS},
        "findings": summary.findings if findings else None,
        "rejected_lunches": summary.rejected,
        "faults": summary.faults,
        "out": str(out),
        "findings_file": findings,
        "rejects_file": str(rejects),
        **listed_as("caution", [*CAUTIONS, *said_in(summary.cautions)]),
    }


def show_summary(to: "Console", reply: Reply) -> None:
    """How many lunches have each verdict, what was rejected, and where all of it is."""
    to.print(f"{counted(reply['lunches'], 'lunch', 'lunches')} checked, written to {reply['out']}")
    for verdict, count in reply["verdicts"].items():
        to.print(f"  {count:>12,}  {VERDICT_WORDS[verdict]}")
    if reply["findings_file"]:
        to.print(f"{counted(reply['findings'], 'finding', 'findings')}, written to {reply['findings_file']}")
    if reply["faults"]:
        to.print(
            f"{counted(reply['rejected_lunches'], 'lunch', 'lunches')} rejected for "
            f"{counted(reply['faults'], 'fault', 'faults')}; each is listed with its line in {reply['rejects_file']}"
        )
    show_cautions(to, reply["cautions"])
