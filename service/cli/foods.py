"""``packed-lunch foods``: find foods by words, or show everything known of one."""

from typing import TYPE_CHECKING, Annotated

import typer

from service.cli.terminal.faults import report_faults
from service.cli.terminal.printing import AsJson, Reply, amount, finish, table
from service.domain.errors import BadInput
from service.domain.messages import message

if TYPE_CHECKING:
    from rich.console import Console


def foods(
    words: Annotated[list[str], typer.Argument(help="Words or beginnings of words, or one food's id.")],
    limit: Annotated[int, typer.Option(help="How many foods to list.", min=1, max=200)] = 20,
    by_id: Annotated[
        bool, typer.Option("--id", help="Show everything known of the food with this id, not all that match the word.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """List the foods that match, or show everything known of one: give its id."""
    with report_faults(as_json):
        from service.jobs.foods.search import search_foods, show_food

        query = " ".join(words)
        if by_id or _can_only_be_an_id(query):
            finish(show_food(query), as_json, show_one_food, 0)
        page = search_foods(query, limit, None)
        if not page["items"] and not as_json:
            raise BadInput(
                pointer="WORDS",
                value=query,
                problem=message("fault.finds-no-food"),
            )
        finish(page, as_json, show_food_page, 0)


def _can_only_be_an_id(query: str) -> bool:
    """Whether a food has this id, and it is not a word as well: ``hummus`` and ``apple`` are words, ``sandwich-ham`` is not."""
    from service.reference.foods.catalogue import find_food

    return "-" in query and find_food(query) is not None


def show_food_page(out: "Console", reply: Reply) -> None:
    """Foods found."""
    listed = table("id", "name", "kind", "usual portion")
    for one in reply["items"]:
        listed.add_row(
            one["id"],
            one["name"],
            one["kind"].replace("_", " "),
            f"{one['usual_unit']} = {amount(one['usual_grams'])} g",
        )
    out.print(listed)
    if reply["next"]:
        out.print("More match: use --limit or another word.")


def show_one_food(out: "Console", reply: Reply) -> None:
    """Everything known of one food."""
    out.print(f"{reply['name']} ({reply['id']})", style="bold")
    out.print(reply["source"])
    out.print("Portions: " + "; ".join(f"{one['unit']} = {amount(one['grams'])} g" for one in reply["portions"]))
    values = table("per 100 g", "amount", "unit", "how")
    for measure, value in reply["per_100g"].items():
        values.add_row(
            measure, "unknown" if value["amount"] is None else amount(value["amount"]), value["unit"], value["how"]
        )
    out.print(values)
    known = table("allergen", "level", "basis", "why")
    for allergen, seen in reply["allergens"].items():
        known.add_row(allergen, seen["level"].replace("_", " "), seen["basis"].replace("_", " "), seen["evidence"])
    other = reply["other_allergens"]
    known.add_row("any other", other["level"].replace("_", " "), other["basis"].replace("_", " "), other["evidence"])
    out.print(known)
