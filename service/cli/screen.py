"""``packed-lunch screen``: every child against every item."""

from typing import TYPE_CHECKING

from service.cli.terminal.faults import report_faults
from service.cli.terminal.printing import OUTCOME_WORDS, AsJson, Reply, finish, show_cautions, table
from service.cli.terminal.request_files import RequestFile, read_asked

if TYPE_CHECKING:
    from rich.console import Console


def screen(file: RequestFile, as_json: AsJson = False) -> None:
    """Screen children against items: the body of POST /v1/allergen-screenings as a file."""
    with report_faults(as_json):
        from service.jobs.allergens.screen_family import screen_family
        from service.jobs.requests.screenings import ScreeningRequest

        reply = screen_family(read_asked(file, ScreeningRequest))
        wrong = any(row["outcome"] != "not_declared" for row in reply["rows"])
        finish(reply, as_json, show_screening, 1 if wrong else 0)


def show_screening(out: "Console", reply: Reply) -> None:
    """A matrix of children and items, then the evidence and the order of making."""
    children: dict[str, list[Reply]] = {}
    for row in reply["rows"]:
        children.setdefault(row["nickname"], []).append(row)
    matrix = table("item", *children)
    for cells in zip(*children.values(), strict=True):  # by place: two items may have the same name
        matrix.add_row(cells[0]["item"], *(_cell(row) for row in cells))
    out.print(matrix)
    reasons = [(row, finding) for row in reply["rows"] for finding in row["findings"]]
    if reasons:
        out.print()
        why = table("who", "item", "allergen", "answer", "why")
        for row, finding in reasons:
            why.add_row(
                row["nickname"],
                finding["name"],
                finding["allergen"] + (" (banned)" if finding["avoided_by"] == "setting" else ""),
                OUTCOME_WORDS[finding["outcome"]],
                finding["evidence"],
            )
        out.print(why)
    out.print()
    out.print("Make them in this order", style="bold")
    flagged = {finding["name"] for row in reply["rows"] for finding in row["findings"]}
    free = [step for step in reply["making_order"] if not step["clean_before"] and step["item"] not in flagged]
    rest = [step for step in reply["making_order"] if step not in free]
    if free:
        out.print(f"First, in any order: {'; '.join(step['item'] for step in free)}")
    for step in rest:
        clean = f"clean first ({', '.join(step['clean_before'])} handled before); " if step["clean_before"] else ""
        named = "a warning names an allergen" if step["item"] in flagged else "none declared"
        handles = f"holds or may hold {', '.join(step['handles'])}" if step["handles"] else named
        out.print(f"Then {step['item']}: {clean}{handles}")
    out.print(reply["making_order_basis"])
    show_cautions(out, reply["cautions"])


def _cell(row: Reply) -> str:
    """One child and one item."""
    return OUTCOME_WORDS[row["outcome"]] + (" (do not pack)" if row["do_not_pack"] else "")
