"""``packed-lunch labels``: labels to print on a sheet."""

from typing import Annotated

import typer

from service.cli.terminal.faults import report_faults
from service.cli.terminal.printing import AsJson, say
from service.cli.terminal.request_files import RequestFile, read_asked

OutFile = Annotated[str, typer.Option("--out", metavar="FILE", help="The PDF to write.")]


def labels(file: RequestFile, out: OutFile, as_json: AsJson = False) -> None:
    """Write labels as a PDF: the body of POST /v1/label-sheets as a file."""
    with report_faults(as_json):
        from service.jobs.files import write_whole
        from service.jobs.plan.labels.label_sheet import label_pdf, label_reply, label_sheet
        from service.jobs.plan.labels.requests import LabelSheetRequest

        made = label_sheet(read_asked(file, LabelSheetRequest))
        write_whole(out, label_pdf(made), "--out")
        reply = label_reply(made)
        number, pages = len(made.each()), reply["pages"]
        say(reply, as_json, f"Wrote {number} labels on {pages} {'page' if pages == 1 else 'pages'} to {out}.")
