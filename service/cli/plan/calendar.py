"""``packed-lunch calendar``: the days of a plan as a calendar file."""

from datetime import UTC, datetime
from typing import Annotated

import typer

from service.cli.terminal.faults import report_faults
from service.cli.terminal.printing import AsJson, say
from service.cli.terminal.request_files import RequestFile, read_asked

OutFile = Annotated[str, typer.Option("--out", metavar="FILE", help="The iCalendar file to write.")]


def calendar(file: RequestFile, out: OutFile, as_json: AsJson = False) -> None:
    """Write the days of a plan as an iCalendar file: the body of POST /v1/calendars as a file."""
    with report_faults(as_json):
        from service.jobs.files import write_whole
        from service.jobs.plan.calendar.calendar import calendar_file, calendar_reply
        from service.jobs.plan.calendar.requests import CalendarRequest

        asked = read_asked(file, CalendarRequest)
        reply = calendar_reply(asked)
        write_whole(out, calendar_file(asked, datetime.now(UTC)), "--out")
        number = len(reply["events"])
        say(reply, as_json, f"Wrote {number} {'event' if number == 1 else 'events'} to {out}.")
