"""A week's summary as a page to print: one sheet, no script, charts as inline SVG with a table next to each.

Needs the ``reports`` extra (jinja2, matplotlib); both are loaded with the first page.
"""

from datetime import date
from functools import lru_cache
from pathlib import Path
from threading import Lock
from typing import Any

from service.domain.errors import BadInput
from service.domain.messages import message
from service.domain.weeks.words import money_message, of_days, weekday
from service.jobs.weeks.cost_rows import decimals_of
from service.reference.messages import say

TEMPLATES = Path(__file__).parent / "templates"
STATUS_WORDS = {
    "met": "● kept",
    "short": "▽ too little",
    "over": "△ too much",
    "unknown": "? cannot tell",
    "not_applicable": "– not judged",
}
BASIS_WORDS = {
    "week_mean": "mean",
    "week_total": "week",
    "school_day": "day",
    "lunch": "day",
}
DRAWING = Lock()
"""The drawing library keeps its settings for the whole process: one page at a time."""
MOST_ITEMS_SHOWN = 6
"""Items of a day named on the page; all stand in the JSON."""
SHOWN_TREND = 5
"""Weeks of the trend's table on the page: the last ones; all stand in the JSON."""


class Drawn(str):
    """A chart of ours, to be put into the page as it is; any other text is escaped."""

    __slots__ = ()

    def __html__(self) -> str:
        """What jinja2 asks for."""
        return self


def week_page(reply: dict[str, Any]) -> str:
    """The summary as HTML; ``BadInput`` where the extra is not installed."""
    try:
        from service.jobs.weeks.charts import days_chart, targets_chart, trend_chart

        template = _template()
        with DRAWING:
            drawn = {"days": days_chart(reply), "targets": targets_chart(reply), "trend": trend_chart(reply)}
    except ModuleNotFoundError as fault:
        raise BadInput(
            pointer="",
            value="text/html",
            problem=message("fault.reports-not-installed", library=fault.name),
        ) from fault
    charts = {name: None if chart is None else Drawn(chart) for name, chart in drawn.items()}
    page: str = template.render(
        reply=reply,
        charts=charts,
        trend=reply["trend"][-SHOWN_TREND:] if len(reply["trend"]) > 1 else [],
        rows=_rows(reply),
        allergens=_allergens(reply),
        handling=_handling(reply),
        most_items=MOST_ITEMS_SHOWN,
    )
    return page


def _allergens(reply: dict[str, Any]) -> list[dict[str, Any]]:
    """What is to be kept away or read on a label, by allergen and outcome, with the foods."""
    found: dict[tuple[str, str, bool], dict[str, None]] = {}
    for row in reply["allergens"]:
        if row["outcome"] != "not_declared":
            found.setdefault((row["allergen"], row["outcome"], row["do_not_pack"]), {})[row["name"]] = None
    return [
        {
            "allergen": allergen.replace("_", " "),
            "outcome": outcome.replace("_", " "),
            "do_not_pack": away,
            "names": list(names),
        }
        for (allergen, outcome, away), names in found.items()
    ]


def _handling(reply: dict[str, Any]) -> list[dict[str, Any]]:
    """What must be fixed in the handling, by finding, with the foods."""
    found: dict[tuple[str, str, str], dict[str, None]] = {}
    for row in reply["handling"]:
        found.setdefault((row["id"], row["brief"], row["status"]), {}).update(dict.fromkeys(row["items"]))
    return [
        {"brief": brief, "items": list(names), "do_not_pack": status == "do_not_pack"}
        for (_id, brief, status), names in found.items()
    ]


def _rows(reply: dict[str, Any]) -> list[dict[str, Any]]:
    """Findings and rules of frequencies in one table."""
    rows = []
    for one in reply["findings"]:
        got = f"{_got(one)} {one['unit']}"
        if one["share_percent"] is not None:
            got = f"{_figure(one['share_percent'])} %"
        if one["basis"] in ("school_day", "lunch"):
            kept = sum(day["status"] in ("met", "not_applicable") for day in one["days"])
            got = of_days(kept, len(one["days"]))
        elif one["status"] == "unknown" and not (one["at_least"] or one["at_most"]):
            got = ""
        rows.append(
            {
                **one,
                "label": one["label"].replace(" in the week", ""),
                "whole_day": False,
                "got": got if one["over_days"] else "no figures",
                "asked": _asked(one),
            }
        )
    for one in reply["frequencies"]:
        if one["unit"] == "kitchen":
            continue
        off = len(one["off_days"]) + len(one["unsure_days"])
        got = of_days(one["over_days"] - off, one["over_days"]) if one["period"] == "day" else _count(one)
        rows.append({**one, "got": "" if one["status"] == "not_applicable" else got, "asked": one["wanted"]})
    return rows


def _got(one: dict[str, Any]) -> str:
    """What it came to; where that leaves the answer open, from the least to the most it can be."""
    low, high = one["amount_low"], one["amount_high"]
    if one["status"] != "unknown" or low == high:
        return _figure(one["amount"])
    return f"≥ {_figure(low)}" if high is None else f"{_figure(low)} to {_figure(high)}"


def _count(one: dict[str, Any]) -> str:
    least = _figure(one["least"])
    if one["most"] == one["least"]:
        return least
    return f"{least} at least" if one["most"] is None else f"{least} to {_figure(one['most'])}"


def _asked(one: dict[str, Any]) -> str:
    low, high, unit = one["at_least"], one["at_most"], one["unit"]
    basis = BASIS_WORDS[one["basis"]]
    if not low and not high:
        return f"as named, {basis}"
    if low is not None and high is not None:
        return f"{_figure(low)}–{_figure(high)} {unit}, {basis}"
    if low is not None and one["guide_at_most"] is not None:
        return f"≥ {_figure(low)} (guide: {_figure(one['guide_at_most'])}) {unit}, {basis}"
    if low is not None:
        return f"{'>' if one['exclusive'] else '≥'} {_figure(low)} {unit}, {basis}"
    return f"{'<' if one['exclusive'] else '≤'} {_figure(high)} {unit}, {basis}"


def _figure(value: float | None) -> str:
    if value is None:
        return "–"
    places = 0 if abs(value) >= 100 else 1 if abs(value) >= 10 else 2
    text = f"{value:,.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


@lru_cache(maxsize=1)
def _template() -> Any:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    made = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["figure"] = _figure
    made.filters["weekday"] = lambda day: weekday(date.fromisoformat(day))
    made.filters["status"] = STATUS_WORDS.__getitem__
    made.filters["reached"] = {"met": "reached", "short": "not reached", "unknown": "cannot tell"}.__getitem__
    made.filters["money"] = lambda minor, currency: say(money_message(minor, currency, decimals_of(currency)))
    return made.get_template("week.html")
