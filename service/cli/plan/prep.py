"""``packed-lunch prep``: what to make on a prep day."""

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from service.cli.terminal.faults import report_faults
from service.cli.terminal.printing import AsJson, Reply, finish, show_cautions, table
from service.cli.terminal.request_files import RequestFile, read_asked

if TYPE_CHECKING:
    from rich.console import Console

PdfFile = Annotated[
    str | None, typer.Option("--pdf", metavar="FILE", help="Also write the sheet to this file, to print.")
]
Paper = Annotated[Literal["a4", "letter"], typer.Option("--paper", help="Paper of the PDF: a4 or letter.")]


def prep(file: RequestFile, pdf: PdfFile = None, paper: Paper = "a4", as_json: AsJson = False) -> None:
    """Make a prep sheet: the body of POST /v1/prep-sheets as a file."""
    with report_faults(as_json):
        from service.jobs.files import write_whole
        from service.jobs.plan.prep.prep_sheet import prep_sheet
        from service.jobs.plan.prep.requests import PrepSheetRequest

        reply = prep_sheet(read_asked(file, PrepSheetRequest))
        if pdf is not None:
            from service.jobs.plan.prep.pdf import prep_pdf

            write_whole(pdf, prep_pdf(reply, paper), "--pdf")
        finish(reply, as_json, show_prep, 1 if any(batch["notes"] for batch in reply["batches"]) else 0)


def show_prep(out: "Console", reply: Reply) -> None:
    """Each step with its cleaning, its ingredients, and where it goes; then what keeps fruit from browning."""
    from service.reference.sources import in_words

    out.print(reply["title"], style="bold")
    for step in reply["steps"]:
        batch = reply["batches"][step["batch"]]
        out.print()
        if step["clean"]:
            out.print(f"[ ] {step['clean']}")
        out.print(f"{step['number']}. {step['sentence']}", style="bold")
        listed = table("", "metric", "US", "count", "ingredient")
        for one in batch["ingredients"]:
            cut = f", {one['cut']}" if one["cut"] else ""
            listed.add_row("[ ]", one["metric_text"], one["us_text"], one["count_text"], one["name"] + cut)
        out.print(listed)
        for one in batch["goes"]:
            out.print(f"[ ] {one['sentence']}")
        for note in batch["notes"]:
            out.print(note)
        for figure in (*batch["cooling"], *batch["reheating"], *batch["keeping"]):
            out.print(f"{figure['sentence']} ({in_words(figure['source'])})")
    if reply["dips"] or reply["notes"]:
        out.print()
    for one in reply["dips"]:
        out.print(f"[ ] {one['sentence']} ({in_words(one['source'])})")
    for note in (*reply["notes"], reply["order_basis"]):
        out.print(note)
    show_cautions(out, reply["cautions"])
