"""The forms in which a week is answered, whichever is accepted: JSON, a page to print, CSV, a data package, Parquet."""

from importlib.util import find_spec
from typing import Annotated, Any

import orjson
from fastapi import Depends, Request, Response

from service.api.answers import Responses
from service.api.bodies import JSON
from service.api.gate.access import HEADERS, PAGE_HEADERS
from service.api.media import accepted_of
from service.api.problems import ApiProblem
from service.domain.messages import message
from service.jobs.tables.data_package.tables import DataPackage

HTML, CSV = "text/html", "text/csv"
ZIP, PARQUET = "application/zip", "application/vnd.apache.parquet"
BINARY = {"type": "string", "contentEncoding": "binary"}
OF_PAGES = ("jinja2", "matplotlib")
OFFERED = (JSON, HTML, CSV, ZIP, PARQUET)
AS_TEXT: Responses = {
    200: {
        "content": {
            HTML: {"schema": {"type": "string", "description": "A page to print."}},
            CSV: {"schema": {"type": "string", "description": "One row a day, target and change."}},
            ZIP: {
                "schema": {
                    **BINARY,
                    "description": "Its tables as CSV and Parquet, with a data dictionary (Data Package).",
                }
            },
            PARQUET: {"schema": {**BINARY, "description": "One row a day, with its sums; each column says its unit."}},
        }
    }
}
"""For the documentation: what else than JSON a week is answered as."""


async def accepted_form(request: Request) -> str:
    """The media type to answer with; ``ApiProblem`` (406) where none is accepted."""
    return accepted_of(request, *OFFERED)


AcceptedForm = Annotated[str, Depends(accepted_form)]


def week_reply(reply: dict[str, Any], media: str) -> Response:
    """A week's summary in a media type; ``ApiProblem`` (501) where what makes pages is not installed."""
    if media == HTML:
        missing = [name for name in OF_PAGES if find_spec(name) is None]
        if missing:
            raise ApiProblem("not-installed", message("fault.pages-not-installed", names=missing))
        from service.jobs.weeks.page import week_page

        policy = {name.decode(): value.decode() for name, value in PAGE_HEADERS if (name, value) not in HEADERS}
        return Response(week_page(reply), headers={"Vary": "Accept", **policy}, media_type=HTML)
    if media == CSV:
        from service.jobs.weeks.csv import week_csv

        headers = {
            "Content-Type": f"{CSV}; charset=utf-8; header=present",
            "Content-Disposition": f'attachment; filename="week-{reply["week"]}.csv"',
            "Vary": "Accept",
        }
        return Response(week_csv(reply), headers=headers)
    if media in (ZIP, PARQUET):
        from service.jobs.tables.data_package.week import week_package

        return package_reply(week_package(reply), media)
    return Response(orjson.dumps(reply), headers={"Vary": "Accept"}, media_type=JSON)


def package_reply(package: DataPackage, media: str) -> Response:
    """Tables as a data package (``ZIP``), or the main one of them as Parquet."""
    from service.jobs.tables.data_package.written import package_zip, table_parquet

    main = package.tables[0]
    content = package_zip(package) if media == ZIP else table_parquet(main)
    name = f"{package.name}.zip" if media == ZIP else f"{package.name}-{main.name}.parquet"
    headers = {"Content-Disposition": f'attachment; filename="{name}"', "Vary": "Accept"}
    return Response(content, headers=headers, media_type=media)
