"""``packed-lunch plan``: one to four weeks, from what stands on which day to what is made and moved."""

import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Annotated, Any

import typer

from service.cli.terminal.faults import report_faults
from service.cli.terminal.printing import VERDICT_WORDS, AsJson, Reply, finish, show_notes, table
from service.cli.terminal.request_files import RequestFile, read_asked

if TYPE_CHECKING:
    from rich.console import Console

    from service.planning.solver import Progress

ShowProgress = Annotated[bool, typer.Option("--progress", help="Show on standard error how far the search is.")]
Told = Callable[["Progress"], bool]


def plan(file: RequestFile, progress: ShowProgress = False, as_json: AsJson = False) -> None:
    """Plan one to four weeks: the body of POST /v1/plans as a file. Ctrl-C ends a search and keeps the best plan found."""
    with report_faults(as_json):
        from service.jobs.plan.weeks.plan_weeks import plan_weeks
        from service.jobs.plan.weeks.requests import PlanRequest

        asked = read_asked(file, PlanRequest)
        with _watched(asked.seconds, shown=progress) as told:
            reply = plan_weeks(asked, told=told)
        wrong = reply["short"] or any(day["nothing_for"] for day in reply["days"])
        finish(reply, as_json, show_plan, 1 if wrong else 0)


@contextmanager
def _watched(seconds: float, *, shown: bool) -> Iterator[Told]:
    """What is told of the search's progress: shown as a bar, and stopped by Ctrl-C once there is a plan."""
    stopped = False

    def stop(_signal: int, _frame: Any) -> None:
        nonlocal stopped
        if stopped:
            raise KeyboardInterrupt
        stopped = True

    before = signal.signal(signal.SIGINT, stop)
    try:
        if not shown:
            yield lambda _now: stopped
            return
        from rich.console import Console
        from rich.progress import BarColumn, TextColumn, TimeElapsedColumn
        from rich.progress import Progress as Bars

        parts = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
        with Bars(*parts, console=Console(stderr=True)) as bars:
            bar = bars.add_task("Looking for lunches", total=seconds)

            def told(now: "Progress") -> bool:
                if now.best is not None and abs(now.bound) < float("inf"):
                    off = 100 * max(0.0, now.best - now.bound) / max(abs(now.best), 1e-9)
                    bars.update(bar, description=f"Best so far: at most {off:.1f} % from the best possible")
                bars.update(bar, completed=min(seconds, now.seconds))
                return stopped

            yield told
            bars.update(bar, completed=seconds)
    finally:
        signal.signal(signal.SIGINT, before)


def show_plan(out: "Console", reply: Reply) -> None:
    """The plan day by day, what is made and moved, and how good it is."""
    out.print(reply["sentence"], style="bold")
    for sentence in reply["score"]["sentences"]:
        out.print(sentence)
    out.print()
    rows = [(day["day"], day["offer"] or "", ", ".join(day["buyers"]), ", ".join(day["away"])) for day in reply["days"]]
    listed = table("day", "offer", "buys the school's meal", "away")
    for row in rows:
        listed.add_row(*row)
    if any(any(row[1:]) for row in rows):
        out.print(listed)
    given = [(day, lunch) for day in reply["days"] for lunch in day["lunches"]]
    if given:
        listed = table("day", "child", "lunch", "check")
        for day, lunch in given:
            foods = ", ".join(f"{one['name']} ({one['cut']})" if one["cut"] else one["name"] for one in lunch["items"])
            listed.add_row(day["day"], lunch["child"], foods, VERDICT_WORDS.get(lunch["verdict"], "").lower())
        out.print(listed)
        for day, lunch in given:
            for one in lunch["off"]:
                out.print(f"{day['day']} {lunch['child']}: {one['sentence']}")
    for title, name in (("Made", "batches"), ("Moved", "moves"), ("Missing", "short"), ("Not bought", "not_bought")):
        if reply[name]:
            out.print()
            out.print(title, style="bold")
        for one in reply[name]:
            out.print(f"  {one['sentence']}")
    if reply["from_stock"]:
        out.print()
        out.print("From the stock", style="bold")
    for one in reply["from_stock"]:
        out.print(f"  {one['for_day']}: {one['grams']:,.0f} g of {one['name']} ({one['lot']})")
    if reply["changes"]:
        out.print()
        out.print("What changes", style="bold")
    for one in reply["changes"]:
        out.print(f"  {one['sentence']}")
    show_notes(out, reply)
