"""``packed-lunch stock``: what a household has at home, what happens to it, and what to move tonight."""

import json
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any

import typer

from service.cli.household.care import WhichHousehold, opened_store
from service.cli.terminal.faults import report_faults
from service.cli.terminal.numbers import TakesNumber
from service.cli.terminal.printing import AsJson, Reply, finish, in_words, say, table
from service.domain.errors import BadInput
from service.domain.messages import message

if TYPE_CHECKING:
    from rich.console import Console

stock = typer.Typer(
    help="What is at home: list, add, move, take, throw, count, tonight.",
    no_args_is_help=True,
)

Entry = Annotated[str, typer.Argument(metavar="ENTRY", help="Its number in 'packed-lunch stock list', or its id.")]
Portions = Annotated[float | None, typer.Argument(metavar="[PORTIONS]", help="In quarters; left out: all of it.")]
OneDay = Annotated[str | None, typer.Option(metavar="DAY", help="A day, YYYY-MM-DD; left out: today.")]


@stock.command("list")
def list_all(household: WhichHousehold = None, as_json: AsJson = False) -> None:
    """List what is at home and until when each keeps."""
    from service.jobs.household.stock.shelves import entries_shown
    from service.jobs.household.transfer.export_household import the_household

    with report_faults(as_json), opened_store() as store:
        of = the_household(store, household)
        with store.reading() as connection:
            reply = {"items": entries_shown(connection, of)}
        finish(reply, as_json, _show_list, 0)


@stock.command(cls=TakesNumber)
def add(
    food: Annotated[str, typer.Argument(metavar="FOOD", help="Food id, or id of an own food or recipe.")],
    place: Annotated[str, typer.Argument(metavar="PLACE", help="freezer, fridge or cupboard.")],
    portions: Annotated[float, typer.Argument(metavar="PORTIONS", help="How many, in quarters.")],
    made: OneDay = None,
    bought: Annotated[
        str | None, typer.Option(metavar="DAY", help="The day it was bought, instead of the day it was made.")
    ] = None,
    printed: Annotated[str | None, typer.Option(metavar="DAY", help="The date printed on the packet.")] = None,
    grams: Annotated[float | None, typer.Option(help="Weight of a portion in grams; left out: the usual one.")] = None,
    household: WhichHousehold = None,
    as_json: AsJson = False,
) -> None:
    """Add what was made or bought."""
    from service.jobs.household.kinds import STOCK
    from service.jobs.household.records import keep_record, read_asked
    from service.jobs.household.transfer.export_household import the_household
    from service.reference.sources import in_words as with_titles

    body: dict[str, Any] = {"food": food, "place": place, "portions": portions, "portion_grams": grams}
    body |= {"bought_on": bought, "printed_date": printed}
    if bought is None or made is not None:
        body["made_on"] = _today() if made is None else made
    with report_faults(as_json), opened_store() as store:
        of = the_household(store, household)
        asked = read_asked(STOCK, json.dumps(body).encode())
        with store.writing() as connection:
            entry = keep_record(connection, STOCK, of, asked, None).shown
        say(entry, as_json, _line(entry), with_titles(entry["use_by_rule"]))


@stock.command(cls=TakesNumber)
def move(
    entry: Entry,
    place: Annotated[str, typer.Argument(metavar="PLACE", help="freezer, fridge or cupboard.")],
    portions: Portions = None,
    household: WhichHousehold = None,
    as_json: AsJson = False,
) -> None:
    """Move an entry, or part of it, to another place."""
    _happen(entry, {"event": "moved", "to": place, "portions": portions}, household, as_json)


@stock.command(cls=TakesNumber)
def take(entry: Entry, portions: Portions = None, household: WhichHousehold = None, as_json: AsJson = False) -> None:
    """Take what was eaten or used from an entry. Lunches that are logged do this by themselves."""
    _happen(entry, {"event": "taken", "portions": portions}, household, as_json)


@stock.command(cls=TakesNumber)
def throw(entry: Entry, portions: Portions = None, household: WhichHousehold = None, as_json: AsJson = False) -> None:
    """Throw away an entry, or part of it."""
    _happen(entry, {"event": "thrown", "portions": portions}, household, as_json)


@stock.command(cls=TakesNumber)
def count(
    entry: Entry,
    portions: Annotated[float, typer.Argument(metavar="PORTIONS", help="How many there are, in quarters.")],
    household: WhichHousehold = None,
    as_json: AsJson = False,
) -> None:
    """Count an entry again: this many portions are there, whatever was noted before."""
    _happen(entry, {"event": "counted", "portions": portions}, household, as_json)


@stock.command()
def tonight(on: OneDay = None, household: WhichHousehold = None, as_json: AsJson = False) -> None:
    """Say what to move from the freezer this evening, what to use up, and what to throw away. Exit code 1: there is something."""
    from service.jobs.household.stock.summary import stock_summary
    from service.jobs.household.transfer.export_household import the_household

    with report_faults(as_json), opened_store() as store:
        of, day = the_household(store, household), _day(on)
        with store.reading() as connection:
            reply = stock_summary(connection, of, day)
        something = any(reply[name] for name in ("tonight", "use_up", "over"))
        finish(reply, as_json, _show_tonight, 1 if something else 0)


def _happen(entry: str, body: dict[str, Any], household: str | None, as_json: bool) -> None:
    from service.jobs.household.stock.happened import stock_event
    from service.jobs.household.stock.requests import StockEventAsked
    from service.jobs.household.stock.shelves import entries_shown
    from service.jobs.household.transfer.export_household import the_household

    with report_faults(as_json), opened_store() as store:
        of = the_household(store, household)
        # Not orjson, which writes what is no finite number as null: that means all of it.
        asked = StockEventAsked.model_validate_json(json.dumps(body))
        with store.writing() as connection:
            entry_id = _id(entry, [one["id"] for one in entries_shown(connection, of)])
            reply, _version = stock_event(connection, of, entry_id, lambda _version: None, asked)
        lines = [_line(one) for one in (reply["stock"], reply["moved_to"]) if one is not None]
        say(reply, as_json, *lines)


def _id(entry: str, ids: list[str]) -> str:
    """The id of an entry by its number in the list, or the id as it was given."""
    if not entry.isdecimal():
        return entry
    if not 1 <= int(entry) <= len(ids):
        raise BadInput(pointer="ENTRY", value=entry, problem=message("fault.no-number-of-list", most=len(ids)))
    return ids[int(entry) - 1]


def _day(text: str | None) -> date:
    from service.jobs.requests.fields import day_in

    asked = _today() if text is None else text
    day = day_in(asked)
    if day is None:
        raise BadInput(pointer="--on", value=asked, problem=message("fault.no-day"))
    return day


def _today() -> str:
    from service.jobs.household.access.households import today

    return today().isoformat()


def _line(entry: Reply) -> str:
    until = (
        "no day known"
        if entry["use_by"] is None
        else f"{'best' if entry['quality_only'] else 'use'} by {entry['use_by']}"
    )
    portions = in_words(entry["portions"], "portion")
    return f"{entry['name']}: {portions} in the {entry['place']}, {until}."


def _show_list(out: "Console", reply: Reply) -> None:
    if not reply["items"]:
        out.print("Nothing is in stock. Add what you made or bought with 'packed-lunch stock add'.")
        return
    shown = table("", "food", "place", "portions", "until", "days left")
    for number, one in enumerate(reply["items"], 1):
        left = "" if one["days_left"] is None else "past its date" if one["days_left"] < 0 else str(one["days_left"])
        until = (
            "not known" if one["use_by"] is None else f"{one['use_by']}{' (quality)' if one['quality_only'] else ''}"
        )
        shown.add_row(str(number), one["name"], one["place"], f"{one['portions']:g}", until, left)
    out.print(shown)


def _show_tonight(out: "Console", reply: Reply) -> None:
    lines = [said for one in reply["tonight"] for said in one["sentences"]]
    lines += [one["sentence"] for one in (*reply["use_up"], *reply["over"])]
    for line in lines or ["Nothing to move, use up or throw away."]:
        out.print(line, soft_wrap=True)
