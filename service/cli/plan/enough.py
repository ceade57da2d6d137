"""``packed-lunch enough``: how many portions of an offer are enough for some days."""

from typing import TYPE_CHECKING

from service.cli.terminal.faults import report_faults
from service.cli.terminal.printing import AsJson, Reply, finish, show_notes, table
from service.cli.terminal.request_files import RequestFile, read_asked

if TYPE_CHECKING:
    from rich.console import Console


def enough(file: RequestFile, as_json: AsJson = False) -> None:
    """Work out how many portions of an offer are enough: the body of POST /v1/portion-needs as a file."""
    with report_faults(as_json):
        from service.jobs.plan.portion_needs import portion_needs
        from service.jobs.plan.requests import PortionNeedsRequest

        reply = portion_needs(read_asked(file, PortionNeedsRequest))
        finish(reply, as_json, show_needs, 1 if any(group["nothing_for"] for group in reply["groups"]) else 0)


def show_needs(out: "Console", reply: Reply) -> None:
    """Each group with its sentence and its items, then what to know of it."""
    days = len(reply["days"])
    out.print(
        f"Portions for {days} school {'day' if days == 1 else 'days'}, {reply['days'][0]} to {reply['days'][-1]}",
        style="bold",
    )
    for group in reply["groups"]:
        out.print()
        out.print(group["sentence"], style="bold")
        if not group["exact"]:
            out.print("A rule or another group can take its place, so fewer may be enough.")
        if group["items"] and group["usual"] is not None:
            listed = table("item", "a portion", "always enough", "usually enough", "for")
            for one in group["items"]:
                grams = f"{one['grams']:,.0f} g"
                listed.add_row(one["name"], grams, str(one["always"]), str(one["usual"]), ", ".join(one["may_take"]))
            out.print(listed)
        if group["costs"]:
            out.print(group["costs"])
    show_notes(out, reply)
