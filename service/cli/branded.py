"""``packed-lunch branded``: the index of branded foods of a public database: build it, find foods, show the food of a code."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from service.cli.terminal.faults import report_faults
from service.cli.terminal.printing import AsJson, Reply, amount, counted, finish, say, table
from service.cli.terminal.stopping import STOPPED, ended_by_signals
from service.domain.errors import BadInput
from service.domain.messages import message

if TYPE_CHECKING:
    from rich.console import Console

branded = typer.Typer(
    help="Branded foods of USDA FoodData Central, looked up without the network: build, find, show.",
    no_args_is_help=True,
)


@branded.command()
def build(
    archive: Annotated[
        str, typer.Argument(metavar="ARCHIVE.zip", help="The CSV archive of branded foods, as downloaded.")
    ],
    as_json: AsJson = False,
) -> None:
    """Build the index from the archive that you have downloaded; an index that was built before is replaced."""
    from service.jobs.foods.branded.build import build_branded
    from service.settings import settings

    with report_faults(as_json):
        try:
            with ended_by_signals(), _shown_progress(archive) as progress:
                built = build_branded(archive, settings().branded_foods_file, progress)
        except KeyboardInterrupt:
            sys.stderr.write("Stopped. What was built before is unchanged.\n")
            raise typer.Exit(STOPPED) from None
        say(
            built,
            as_json,
            f"{counted(built['foods'], 'food', 'foods')} by code, the newest of {counted(built['versions'], 'entry', 'entries')}, "
            f"as of {built['release']}.",
            f"Without nutrition values: {counted(built['foods_without_values'], 'food', 'foods')}. Left out, since their code is missing "
            f"or cannot be right: {counted(built['entries_without_code'], 'entry', 'entries')}.",
            f"The index is in {built['file']}",
        )


@branded.command()
def find(
    words: Annotated[
        list[str], typer.Argument(help="Words of the name or brand; the last may be the beginning of one.")
    ],
    limit: Annotated[int, typer.Option(help="How many foods to list.", min=1, max=50)] = 20,
    as_json: AsJson = False,
) -> None:
    """List the foods whose name or brand has all the words, or words that are spelt alike."""
    from service.jobs.foods.branded.look_up import branded_index, find_branded
    from service.settings import settings

    with report_faults(as_json):
        query = " ".join(words)
        reply = find_branded(branded_index(settings().branded_foods_file), query, limit)
        if not reply["items"] and not as_json:
            raise BadInput(pointer="WORDS", value=query, problem=message("fault.finds-no-branded-food"))
        finish(reply, as_json, _show_found, 0)


@branded.command()
def show(
    code: Annotated[str, typer.Argument(metavar="CODE", help="The digits under the bars of the packet.")],
    as_json: AsJson = False,
) -> None:
    """Show everything that the index has of the food with this code."""
    from service.jobs.foods.branded.look_up import show_branded
    from service.settings import settings

    with report_faults(as_json):
        finish(show_branded(settings().branded_foods_file, code), as_json, _show_food, 0)


@contextmanager
def _shown_progress(archive: str) -> Iterator[Callable[[int, int], None]]:
    """A bar on a terminal by the bytes read; in a pipe a line for each tenth, on standard error."""
    if not sys.stderr.isatty():
        yield _tenths()
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn

    columns = (TextColumn("{task.description}", markup=False), BarColumn(), TaskProgressColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(file=sys.stderr), transient=True) as bar:
        task = bar.add_task(f"Reading {Path(archive).name}", total=None)
        yield lambda done, whole: bar.update(task, completed=done, total=whole)


def _tenths() -> Callable[[int, int], None]:
    said = 0

    def progress(done: int, whole: int) -> None:
        nonlocal said
        tenth = 10 * done // whole if whole else 0
        if tenth > said:
            said = tenth
            sys.stderr.write(f"{tenth * 10} % read\n")

    return progress


def _show_found(out: "Console", reply: Reply) -> None:
    shown = table("code", "name", "brand", "changed")
    for one in reply["items"]:
        shown.add_row(
            one["gtin"], one["description"], one["brand_name"] or one["brand_owner"], one["date"] or "not said"
        )
    out.print(shown)
    out.print(f"FoodData Central as of {reply['release']}. Show one with 'packed-lunch branded show CODE'.")


def _show_food(out: "Console", reply: Reply) -> None:
    out.print(f"{reply['description']} ({reply['gtin']})", style="bold")
    out.print(", ".join(one for one in (reply["brand_name"], reply["brand_owner"], reply["category"]) if one))
    serving = "not said"
    if reply["serving_amount"] and reply["serving_unit"]:
        serving = f"{amount(reply['serving_amount'])} {reply['serving_unit']}"
    named = f" ({reply['household_serving']})" if reply["household_serving"] else ""
    out.print(f"Serving: {serving}{named}")
    out.print(
        f"Source: FoodData Central as of {reply['read']}, entry {reply['fdc_id']}, changed {reply['date'] or 'on an unknown day'}"
    )
    out.print(f"Ingredients: {reply['ingredients'] or 'not given'}")
    known = [one for one in reply["values"] if one["amount"] is not None]
    if known:
        values = table(f"in {known[0]['basis']}", "amount", "unit", "entry", "changed", "")
        for one in known:
            doubt = "doubtful" if one["implausible"] else ""
            values.add_row(
                one["nutrient"],
                amount(one["amount"]),
                one["unit"],
                str(one["fdc_id"]),
                one["date"] or "not said",
                doubt,
            )
        out.print(values)
        out.print("Unknown: " + ", ".join(one["nutrient"] for one in reply["values"] if one["amount"] is None))
    allergens = table("allergen", "level", "why")
    for allergen, seen in reply["allergens"].items():
        allergens.add_row(allergen, seen["level"].replace("_", " "), seen["evidence"])
    other = reply["other_allergens"]
    allergens.add_row("any other", other["level"].replace("_", " "), other["evidence"])
    out.print(allergens)
    for note in reply["notes"]:
        out.print(f"* {note}", soft_wrap=True)
