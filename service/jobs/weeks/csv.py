"""A week's summary as CSV: one row a day and measure, then one row a finding, in one table with a column that says which."""

import csv
import io
from collections.abc import Iterator
from typing import Any

from service.jobs.formula_marks import marked

COLUMNS = (
    "row",
    "week",
    "child",
    "date",
    "kind",
    "id",
    "label",
    "status",
    "amount",
    "amount_low",
    "amount_high",
    "at_least",
    "at_most",
    "unit",
    "over_days",
    "school_days",
    "sentence",
    "source",
    "source_status",
)


def week_csv(reply: dict[str, Any]) -> str:
    """The summary as CSV (RFC 4180), for a spreadsheet: text that would be a formula is marked as text."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for row in _rows(reply):
        writer.writerow([_cell(row.get(column)) for column in COLUMNS])
    return out.getvalue()


def _cell(value: Any) -> Any:
    if isinstance(value, str):
        return marked(value)
    return "" if value is None else value


def _rows(reply: dict[str, Any]) -> Iterator[dict[str, Any]]:
    whole = {"week": reply["week"], "child": reply["nickname"]}
    for day in reply["days"]:
        names = "; ".join(item["name"] for item in day["items"]) or day["menu"] or ""
        of_day = {**whole, "date": day["date"], "kind": day["kind"]}
        yield {**of_day, "row": "day", "label": names, "sentence": day["why"]}
        for measure, total in (day["totals"] or {}).items():
            yield {
                **of_day,
                "row": "day_total",
                "id": measure,
                "amount": total["amount"],
                "amount_low": total["low"],
                "amount_high": total["high"],
                "unit": total["unit"],
            }
    for measure, mean in reply["means"].items():
        yield {
            **whole,
            "row": "week_mean",
            "id": measure,
            "label": mean["label"],
            "amount": mean["mean"],
            "amount_low": mean["mean_low"],
            "amount_high": mean["mean_high"],
            "unit": mean["unit"],
            "over_days": reply["counted_days"],
            "school_days": reply["school_days"],
        }
    for part in ("findings", "micronutrients", "product_rules"):
        for one in reply[part]:
            yield {**whole, **one, "row": one["kind"], "kind": None, "date": " ".join(one.get("dates", []))}
    for one in reply["frequencies"]:
        yield {
            **whole,
            **one,
            "row": one["kind"],
            "kind": None,
            "amount_low": one["least"],
            "amount_high": one["most"],
            "date": " ".join(one["off_days"]),
        }
    for one in reply["allergens"]:
        yield {
            **whole,
            "row": "allergen",
            "id": one["allergen"],
            "label": one["name"],
            "status": one["outcome"],
            "sentence": one["evidence"],
            "date": " ".join(one["dates"]),
        }
    yield from _money(reply, whole)
    for change in reply["changes"]:
        mended = "; ".join(change["mends_labels"])
        yield {**whole, "row": "change", "kind": change["kind"], "label": mended, "sentence": change["sentence"]}
    for week in reply["trend"]:
        for measure, mean in week["means"].items():
            yield {
                "row": "trend",
                "week": week["week"],
                "child": reply["nickname"],
                "id": measure,
                "amount": mean["mean"],
                "over_days": week["counted_days"],
                "school_days": week["school_days"],
            }
    for note in (*reply["notes"], *reply["cautions"]):
        yield {**whole, "row": "note", "sentence": note}


def _money(reply: dict[str, Any], whole: dict[str, Any]) -> Iterator[dict[str, Any]]:
    cost = reply["cost"]
    if cost is None:
        return
    unit = f"{cost['currency']} minor units"
    for day in cost["days"]:
        unpriced = f"No price for: {', '.join(day['unpriced'])}." if day["unpriced"] else ""
        yield {
            **whole,
            "row": "cost",
            "date": day["date"],
            "kind": day["kind"],
            "amount": day["amount_minor"],
            "unit": unit,
            "sentence": unpriced,
        }
    yield {
        **whole,
        "row": "cost",
        "label": "week",
        "amount": cost["amount_minor"],
        "unit": unit,
        "sentence": cost["sentence"],
    }
