"""``packed-lunch recipe read``: a recipe from pasted lines, a saved page or a .json file, line by line."""

from typing import TYPE_CHECKING, Annotated

import typer

from service.cli.terminal.faults import report_faults
from service.cli.terminal.printing import AsJson, Reply, amount, finish, table
from service.cli.terminal.request_files import read_request

if TYPE_CHECKING:
    from rich.console import Console

recipe = typer.Typer(no_args_is_help=True, help="Bring in recipes that others have written.")

STATE_WORDS = {"read": "read", "ask": "TO ANSWER", "left_out": "left out"}


@recipe.command("read")
def read(
    file: Annotated[
        str,
        typer.Argument(
            metavar="FILE|-",
            help="Lines of ingredients, a saved page (.html) or a schema.org Recipe (.json); - for standard input.",
        ),
    ],
    country: Annotated[
        str | None,
        typer.Option(
            help="Which country's cups, pints and fluid ounces are meant, as a code such as US or GB; if not given, you are asked."
        ),
    ] = None,
    portions: Annotated[
        float | None, typer.Option(help="How many portions it makes; if not given, as the recipe says.")
    ] = None,
    answers: Annotated[
        str | None,
        typer.Option(
            metavar="FILE|-",
            help="Answers to what is asked, as a JSON list in the form of the API's answers; - for standard input.",
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Read a recipe and show what each line means, what it weighs, and what is still to be answered. If anything is, the exit code is 1."""
    with report_faults(as_json):
        from service.cli.recipe_answers import answers_in, pointing_at_answers
        from service.jobs.recipes.from_file import reading_request
        from service.jobs.recipes.read_recipe import read_recipe

        given = answers_in(answers, file)
        with pointing_at_answers():
            asked = reading_request(read_request(file), country=country, portions=portions, answers=given)
            reply = read_recipe(asked)
        finish(reply, as_json, show_reading, 1 if reply["to_answer"] else 0)


def show_reading(out: "Console", reply: Reply) -> None:
    """The lines as a table, then what is to be answered."""
    out.print(reply["name"], style="bold")
    if reply["address"]:
        out.print(f"From {reply['address']}")
    if reply["portions"] is not None:
        out.print(f"Makes {amount(reply['portions'])} portions")
    lines = table("line", "text", "", "food", "grams", "how")
    for one in reply["lines"]:
        grams = "" if one["grams"] is None else amount(one["grams"])
        lines.add_row(
            str(one["line"]), one["text"], STATE_WORDS[one["state"]], one["food_name"] or "", grams, one["weighed"]
        )
    out.print(lines)
    for one in reply["lines"]:
        for doubt in one["doubts"] if one["state"] == "ask" else ():
            out.print(f"Line {one['line']}, {one['text']}: {doubt['sentence']}")
        if one["state"] == "ask" and one["food"] is None and one["candidates"]:
            out.print("  Perhaps: " + "; ".join(map(_named, one["candidates"])))
    for note in reply["notes"]:
        out.print(note["sentence"])


def _named(near: Reply) -> str:
    apart = f", {near['apart']}" if near["apart"] else ""
    return f"{near['name']} ({near['id']}{apart})"
