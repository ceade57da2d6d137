"""``packed-lunch avoids``: what a child avoids, shown or written for other programs, and taken over from a list of theirs."""

from typing import TYPE_CHECKING, Annotated

import typer

from service.cli.household.care import WhichHousehold, opened_store
from service.cli.terminal.faults import report_faults
from service.cli.terminal.printing import AsJson, Reply, finish, say, table
from service.cli.terminal.request_files import RequestFile, read_asked

if TYPE_CHECKING:
    from rich.console import Console

avoids = typer.Typer(help="What a child avoids: show, replace or add from a FHIR R4 list.", no_args_is_help=True)
WhichChild = Annotated[str, typer.Argument(metavar="CHILD", help="Nickname or id of the child.")]


@avoids.command()
def show(
    child: WhichChild,
    as_fhir: Annotated[bool, typer.Option("--fhir", help="Print a FHIR R4 Bundle of AllergyIntolerance.")] = False,
    household: WhichHousehold = None,
    as_json: AsJson = False,
) -> None:
    """Show what a child avoids. What its school bans is not in it."""
    from service.jobs.household.children.child_avoids import id_of_child, show_avoids, show_avoids_as_fhir
    from service.jobs.household.kinds import CHILDREN
    from service.jobs.household.transfer.export_household import the_household

    with report_faults(as_json or as_fhir), opened_store() as store:
        of = the_household(store, household)
        with store.reading() as connection:
            child_id = id_of_child(connection, CHILDREN, of, child)
            shown = (show_avoids_as_fhir if as_fhir else show_avoids)(connection, CHILDREN, of, child_id)
        finish(shown.reply, as_json or as_fhir, _show, 0)


@avoids.command()
def replace(child: WhichChild, file: RequestFile, household: WhichHousehold = None, as_json: AsJson = False) -> None:
    """Put a FHIR R4 list in the place of what a child avoids; a list with a code that is not known is refused whole."""
    _take_over(child, file, household, as_json, add=False)


@avoids.command()
def add(child: WhichChild, file: RequestFile, household: WhichHousehold = None, as_json: AsJson = False) -> None:
    """Add a FHIR R4 list to what a child avoids; of two thresholds the stricter stays."""
    _take_over(child, file, household, as_json, add=True)


def _take_over(child: str, file: str, household: str | None, as_json: bool, *, add: bool) -> None:
    from service.jobs.household.children.child_avoids import id_of_child, take_over_avoids
    from service.jobs.household.kinds import CHILDREN
    from service.jobs.household.transfer.export_household import the_household
    from service.jobs.requests.fhir import FhirAvoids

    with report_faults(as_json):
        asked = read_asked(file, FhirAvoids)
        with opened_store() as store:
            of = the_household(store, household)
            with store.writing() as connection:
                child_id = id_of_child(connection, CHILDREN, of, child)
                done = take_over_avoids(connection, CHILDREN, of, child_id, lambda _version: None, asked, add=add)
        reply = done.reply
        names = ", ".join(one["name"] for one in reply["items"])
        gone = [f"Not avoided any more: {', '.join(reply['removed'])}."] if reply["removed"] else []
        say(reply, as_json, f"Avoided now: {names}.", *gone, *(one["sentence"] for one in reply["left_out"]))


def _show(out: "Console", reply: Reply) -> None:
    shown = table("allergen", "GS1", "kept away from")
    for one in reply["items"]:
        level = "traces too" if one["threshold"] == "may_contain" else "what contains it"
        shown.add_row(one["name"], one["gs1_code"] or "-", level)
    out.print(shown)
