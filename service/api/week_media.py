"""The forms in which a week is answered: JSON, a page to print, or CSV, whichever is accepted."""

from typing import Any

import orjson

from service.api.access import HEADERS, PAGE_HEADERS
from service.api.json_route import JSON

HTML, CSV = "text/html", "text/csv"
OFFERED = (JSON, HTML, CSV)


def accepted(header: str) -> str:
    """The media type to answer with: the one most wanted of those there are; JSON where none is named (RFC 9110)."""
    wanted: dict[str, float] = {}
    for part in header.lower().split(","):
        media, *parameters = (one.strip() for one in part.split(";"))
        quality = 1.0
        for parameter in parameters:
            name, _, value = parameter.partition("=")
            if name.strip() == "q":
                try:
                    quality = float(value)
                except ValueError:
                    quality = 0.0
        wanted[media] = quality

    def quality_of(media: str) -> float:
        return next(
            (wanted[name] for name in (media, media.split("/", maxsplit=1)[0] + "/*", "*/*") if name in wanted), 0.0
        )

    return max(OFFERED, key=quality_of)


def written(reply: dict[str, Any], media: str) -> tuple[bytes, dict[str, str]]:
    """A week's summary in a media type: its bytes, and the headers that go with it."""
    if media == HTML:
        from service.jobs.weeks.page import week_page

        policy = {name.decode(): value.decode() for name, value in PAGE_HEADERS if (name, value) not in HEADERS}
        return week_page(reply).encode(), {"Content-Type": f"{HTML}; charset=utf-8", "Vary": "Accept", **policy}
    if media == CSV:
        from service.jobs.weeks.csv import week_csv

        return week_csv(reply).encode(), {
            "Content-Type": f"{CSV}; charset=utf-8; header=present",
            "Content-Disposition": f'attachment; filename="week-{reply["week"]}.csv"',
            "Vary": "Accept",
        }
    return orjson.dumps(reply), {"Content-Type": JSON, "Vary": "Accept"}
