"""``packed-lunch packets``: what a household read on packets, and which to read first."""

from datetime import date
from typing import TYPE_CHECKING

import typer

from service.cli.household.care import WhichHousehold, opened_store
from service.cli.terminal.faults import report_faults
from service.cli.terminal.printing import AsJson, Reply, finish, say, show_cautions, table
from service.cli.terminal.request_files import RequestFile, read_asked

if TYPE_CHECKING:
    from rich.console import Console

packets = typer.Typer(help="Packets that a household has read: add, list, to-read.", no_args_is_help=True)


@packets.command()
def add(file: RequestFile, household: WhichHousehold = None, as_json: AsJson = False) -> None:
    """Store what was read on a packet: the body of POST /v1/packets as a file."""
    from service.jobs.household.kinds import PACKETS
    from service.jobs.household.records import keep_record
    from service.jobs.household.requests import KeptPacket
    from service.jobs.household.transfer.export_household import the_household

    with report_faults(as_json):
        asked = read_asked(file, KeptPacket)
        with opened_store() as store:
            of = the_household(store, household)
            with store.writing() as connection:
                packet = keep_record(connection, PACKETS, of, asked, None).shown
        say(
            packet,
            as_json,
            f"Stored: the packet of {packet['food']}, read on {packet['read_on']}.",
            *packet["cautions"],
        )


@packets.command("list")
def list_all(household: WhichHousehold = None, as_json: AsJson = False) -> None:
    """List the first 200 packets that a household stores."""
    from service.jobs.household.kinds import PACKETS
    from service.jobs.household.records import MOST_PER_PAGE, list_records
    from service.jobs.household.transfer.export_household import the_household

    with report_faults(as_json), opened_store() as store:
        of = the_household(store, household)
        with store.reading() as connection:
            reply = list_records(connection, PACKETS, of, MOST_PER_PAGE, None)
        finish(reply, as_json, _show_list, 0)


@packets.command()
def to_read(household: WhichHousehold = None, as_json: AsJson = False) -> None:
    """List the packets to read first: those on which most lunches depend, for whom, and what to look for."""
    from service.jobs.household.packets.packets_to_read import Asked, packets_to_read
    from service.jobs.household.transfer.export_household import the_household

    with report_faults(as_json), opened_store() as store:
        of = the_household(store, household)
        with store.reading() as connection:
            reply = packets_to_read(connection, of, Asked(), date.today())  # noqa: DTZ011 - the kitchen's own day
        finish(reply, as_json, _show_to_read, 0)


def _show_list(out: "Console", reply: Reply) -> None:
    shown = table("food", "read on", "holds for days")
    for one in reply["items"]:
        shown.add_row(one["food"], one["read_on"], str(one["holds_for_days"]))
    out.print(shown)
    cautions = [said for one in reply["items"] for said in one["cautions"]]
    if cautions:
        show_cautions(out, cautions)


def _show_to_read(out: "Console", reply: Reply) -> None:
    shown = table("food", "lunches", "for whom, and what to look for")
    for one in reply["to_read"]:
        whom = "; ".join(f"{child['nickname']}: {', '.join(child['allergens'])}" for child in one["children"])
        shown.add_row(f"{one['name']} ({one['food']})", str(one["lunches"]), whom)
    out.print(shown)
    if reply["cautions"]:
        show_cautions(out, reply["cautions"])
