"""The command line: ``packed-lunch``.

Exit codes: 0 fine; 1 something to change, to read on a label or to avoid; 2 bad input or settings.
"""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from service.cli.care import install_care
from service.cli.faults import telling_faults
from service.domain.errors import BadInput

if TYPE_CHECKING:
    from pydantic import BaseModel

Asked = TypeVar("Asked", bound="BaseModel")

app = typer.Typer(
    name="packed-lunch",
    help=(
        "Check packed school lunches: energy, nutrients and food groups by age, allergens per child, choking forms, "
        "cold holding. Exit codes: 0 fine, 1 something to change or avoid, 2 bad input."
    ),
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

AsJson = Annotated[bool, typer.Option("--json", help="Print JSON for programs instead of tables for people.")]
RequestFile = Annotated[str, typer.Argument(metavar="FILE|-", help="A JSON request, or - for standard input.")]


def read_request(file: str) -> bytes:
    """The bytes of a request file or of standard input; ``BadInput`` if there is no such file."""
    if file == "-":
        return sys.stdin.buffer.read()
    try:
        return Path(file).read_bytes()
    except OSError as fault:
        raise BadInput(
            pointer="FILE",
            value=file,
            problem=f"cannot be read ({fault.strerror})",
            remedy="Give the path of a JSON file, or - for standard input.",
        ) from fault


def read_asked(file: str, model: type[Asked]) -> Asked:
    """What a request file asks, validated as the API validates a body."""
    from service.jobs.request_faults import refuse_doubled_fields

    body = read_request(file)
    asked = model.model_validate_json(body)
    refuse_doubled_fields(body)
    return asked


def write_whole(file: str, text: str, option: str = "--cards") -> None:
    """Write a file whole or not at all; ``BadInput`` where it cannot be written."""
    path = Path(file)
    beside = path.with_name(path.name + ".part")
    try:
        beside.write_text(text, encoding="utf-8", newline="")
        beside.replace(path)
    except OSError as fault:
        raise BadInput(
            pointer=option,
            value=file,
            problem=f"cannot be written ({fault.strerror})",
            remedy="Give a file in a folder that exists and may be written to.",
        ) from fault


@app.command()
def check(file: RequestFile, as_json: AsJson = False) -> None:
    """Check one lunch: the body of POST /v1/lunch-checks as a file."""
    from service.cli.show import finish, show_check
    from service.jobs.lunch.check_lunch import check_lunch
    from service.jobs.requests import LunchCheckRequest

    with telling_faults(as_json):
        asked = read_asked(file, LunchCheckRequest)
        reply = check_lunch(asked)
        finish(reply, as_json, show_check, 0 if reply["verdict"] == "pack" else 1)


@app.command()
def screen(file: RequestFile, as_json: AsJson = False) -> None:
    """Screen children against items: the body of POST /v1/allergen-screenings as a file."""
    from service.cli.show import finish, show_screening
    from service.jobs.allergens.screen_family import screen_family
    from service.jobs.requests import ScreeningRequest

    with telling_faults(as_json):
        asked = read_asked(file, ScreeningRequest)
        reply = screen_family(asked)
        wrong = any(row["outcome"] != "not_declared" for row in reply["rows"])
        finish(reply, as_json, show_screening, 1 if wrong else 0)


@app.command()
def offer(
    file: RequestFile,
    as_json: AsJson = False,
    cards: Annotated[
        str | None, typer.Option(metavar="FILE.html", help="Write the children's cards as a page to print.")
    ] = None,
) -> None:
    """Audit an offer: the body of POST /v1/offer-audits as a file."""
    from service.cli.show import finish
    from service.cli.show_offer import show_audit
    from service.jobs.offers.audit_offer import audit_offer
    from service.jobs.offers.cards import cards_page
    from service.jobs.offers.requests import OfferAuditRequest

    with telling_faults(as_json):
        asked = read_asked(file, OfferAuditRequest)
        reply = audit_offer(asked)
        if cards is not None:
            write_whole(cards, cards_page([child["card"] for child in reply["children"]]))
        fine = all(child["right"] == child["total"] > 0 for child in reply["children"])
        finish(reply, as_json, show_audit, 0 if fine else 1)


@app.command()
def week(
    file: RequestFile,
    as_json: AsJson = False,
    table: Annotated[
        str | None, typer.Option("--csv", metavar="FILE.csv", help="Write the week as a table for a spreadsheet.")
    ] = None,
    page: Annotated[
        str | None, typer.Option(metavar="FILE.html", help="Write the week as a page to print (extra: reports).")
    ] = None,
) -> None:
    """Sum up a child's week: the body of POST /v1/weekly-summaries as a file."""
    from service.cli.show import finish
    from service.cli.show_week import show_week
    from service.jobs.weeks.csv import week_csv
    from service.jobs.weeks.requests import WeekRequest
    from service.jobs.weeks.sum_up_week import sum_up_week, week_in_order

    with telling_faults(as_json):
        asked = read_asked(file, WeekRequest)
        reply = sum_up_week(asked)
        if table is not None:
            write_whole(table, week_csv(reply), "--csv")
        if page is not None:
            from service.jobs.weeks.page import week_page

            write_whole(page, week_page(reply), "--page")
        finish(reply, as_json, show_week, 0 if week_in_order(reply) else 1)


@app.command()
def bulk(
    file: Annotated[str, typer.Argument(metavar="FILE", help="A table with one row an item: CSV, NDJSON or Parquet.")],
    out: Annotated[str, typer.Option(metavar="FILE", help="Where one row a lunch goes; the ending names the format.")],
    findings: Annotated[
        str | None, typer.Option(metavar="FILE", help="Where one row a finding goes, if wanted.")
    ] = None,
    rejects: Annotated[
        str | None, typer.Option(metavar="FILE", help="Where faults go; left out: beside OUT, named .rejects.")
    ] = None,
    dask: Annotated[
        str | None, typer.Option(metavar="ADDRESS", help="Check on the Dask cluster there (extra: dask).")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Check a table of lunches, however long: rows with faults are told apart, all other lunches are kept."""
    from service.cli.bulk import run_bulk

    with telling_faults(as_json):
        run_bulk(file, out, findings, rejects, dask, as_json)


@app.command()
def foods(
    words: Annotated[list[str], typer.Argument(help="Words or beginnings of words; a food id shows that food.")],
    limit: Annotated[int, typer.Option(help="How many foods to list.", min=1, max=200)] = 20,
    as_json: AsJson = False,
) -> None:
    """Find foods, or show everything known of one."""
    from service.cli.show import finish, show_food_page, show_one_food
    from service.jobs.foods.search import search_foods, show_food
    from service.reference.foods.catalogue import find_food

    with telling_faults(as_json):
        query = " ".join(words)
        if find_food(query) is not None:
            finish(show_food(query), as_json, show_one_food, 0)
        page = search_foods(query, limit, None)
        if not page["items"]:
            raise BadInput(
                pointer="WORDS",
                value=query,
                problem="finds no food",
                remedy="Try one plain word, or send the food from its label.",
            )
        finish(page, as_json, show_food_page, 0)


@app.command()
def standards(
    standard: Annotated[str | None, typer.Argument(help="A standard's id, to show its rules on a day.")] = None,
    on: Annotated[str | None, typer.Option(metavar="YYYY-MM-DD", help="The day; today if left out.")] = None,
    as_json: AsJson = False,
) -> None:
    """List the standards, or show the rules of one on a day."""
    from datetime import date

    from service.cli.show import finish, show_one_standard, show_standard_list
    from service.jobs.lunch.standards import list_standards, show_standard
    from service.jobs.requests import DAY

    with telling_faults(as_json):
        if standard is None:
            finish(list_standards(), as_json, show_standard_list, 0)
            return
        try:
            if on and not DAY.fullmatch(on):
                raise ValueError(on)
            day = date.fromisoformat(on) if on else date.today()  # noqa: DTZ011 - the kitchen's own calendar day
        except ValueError as fault:
            raise BadInput(
                pointer="--on", value=on, problem="is no day", remedy="Write it as YYYY-MM-DD, e.g. 2026-12-01."
            ) from fault
        finish(show_standard(standard, day), as_json, show_one_standard, 0)


@app.command()
def demo(
    as_json: AsJson = False,
    keep: Annotated[
        bool, typer.Option("--keep", help="Keep four weeks of the demo family in the store instead.")
    ] = False,
) -> None:
    """Check a lunch of the demo family on the real tables, and screen it for all three children."""
    from service.cli.demo import keep_demo, run_demo

    with telling_faults(as_json):
        if keep:
            keep_demo(as_json)
        run_demo(as_json)


install_care(app)


@app.command()
def serve(
    host: Annotated[
        str | None, typer.Option(help="Address to listen on; default PACKED_LUNCH_HOST or 127.0.0.1.")
    ] = None,
    port: Annotated[int | None, typer.Option(help="Port; default PACKED_LUNCH_PORT or 8087.", min=1, max=65535)] = None,
) -> None:
    """Serve the JSON API (documentation at /docs)."""
    from service.cli.serve import run_server

    with telling_faults(False):
        run_server(host, port)


def main() -> None:
    """Run the command line."""
    app()
