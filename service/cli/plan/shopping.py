"""``packed-lunch shopping``: what to buy for the days ahead."""

from typing import TYPE_CHECKING, Annotated

import typer

from service.cli.terminal.faults import report_faults
from service.cli.terminal.printing import AsJson, Reply, amount, finish, in_words, show_notes, table
from service.cli.terminal.request_files import RequestFile, read_asked

if TYPE_CHECKING:
    from rich.console import Console

CsvFile = Annotated[str | None, typer.Option("--csv", metavar="FILE", help="Also write the list to this file, as CSV.")]


def shopping(file: RequestFile, csv: CsvFile = None, as_json: AsJson = False) -> None:
    """Make a shopping list: the body of POST /v1/shopping-lists as a file."""
    with report_faults(as_json):
        from service.jobs.files import write_whole
        from service.jobs.plan.shopping.csv import shopping_csv
        from service.jobs.plan.shopping.requests import ShoppingListRequest
        from service.jobs.plan.shopping.shopping_list import shopping_list

        reply = shopping_list(read_asked(file, ShoppingListRequest))
        if csv is not None:
            write_whole(csv, shopping_csv(reply), "--csv")
        finish(reply, as_json, show_list, 1 if reply["must_not"] or reply["packets_to_read"] else 0)


def show_list(out: "Console", reply: Reply) -> None:
    """Each day of shopping by kind of food; then what to read, what it costs, and what to know of it."""
    digits = reply["cost"]["digits"] if reply["cost"] else 0
    currency = reply["cost"]["currency"] if reply["cost"] else ""
    for one in reply["must_not"]:
        out.print(one["sentence"], style="bold")
    for day in reply["days"]:
        out.print(f"Shopping on {day['on']}", style="bold")
        listed = table("", "food", "to buy", "packs", "price", "eaten on")
        for kind in day["kinds"]:
            listed.add_row("", kind["title"], style="bold")
            for line in kind["lines"]:
                packs = ", ".join(f"{one['number']} x {amount(one['pack_grams'])} g" for one in line["packs"])
                price = "-" if line["cost_minor"] is None else f"{line['cost_minor'] / 10**digits:,.{digits}f}"
                listed.add_row("[ ]", line["name"], _to_buy(line), packs, price, ", ".join(line["needed_on"]))
        out.print(listed)
        for line in (line for kind in day["kinds"] for line in kind["lines"]):
            for note, said in zip(line["notes"], line["note_messages"], strict=True):
                if said["code"] != "shopping.read-packet":  # each is said once, at the end
                    out.print(f"{line['name']}: {note}")
        out.print()
    if reply["taken"]:
        out.print("At home already: " + ", ".join(f"{one['grams']:,.0f} g of {one['name']}" for one in reply["taken"]))
    if reply["cost"]:
        cost = reply["cost"]
        out.print(f"To pay: {cost['to_pay_minor'] / 10**digits:,.{digits}f} {currency}, for what has a price.")
        if not cost["single_packs"]:
            eaten = f"{cost['eaten_minor'] / 10**digits:,.{digits}f} {currency}"
            home = ", what is at home already included" if reply["taken"] else ""
            out.print(f"What is eaten costs {eaten}{home}.")
        for one in cost["children"]:
            each = f"{one['each_minor'] / 10**digits:,.{digits}f}"
            out.print(
                f"{one['nickname']}: {one['lunches']} {'lunch' if one['lunches'] == 1 else 'lunches'}, {each} {currency} each."
            )
        for sentence in (cost["single_packs"], (cost["school"] or {}).get("sentence", "")):
            if sentence:
                out.print(sentence)
    for one in reply["packets_to_read"]:
        out.print(one["sentence"])
    show_notes(out, reply)


def _to_buy(line: Reply) -> str:
    grams = f"{line['grams']:,.0f} g"
    return grams if line["pieces"] is None else f"{grams} ({in_words(line['pieces'], line['piece'])})"
