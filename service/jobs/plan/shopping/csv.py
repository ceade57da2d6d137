"""A shopping list as CSV: one row a food and day of shopping."""

import csv
import io
from typing import Any

from service.jobs.formula_marks import marked

COLUMNS = (
    "shop_on", "kind", "id", "food", "name", "grams", "pieces", "piece", "packs", "cost_minor", "currency", "needed_on",
    "eaten_as", "not_for", "notes",
)  # fmt: skip


def shopping_csv(reply: dict[str, Any]) -> str:
    """The list as CSV (RFC 4180), for a spreadsheet: text that would be a formula is marked as text."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    currency = reply["cost"]["currency"] if reply["cost"] else ""
    for day in reply["days"]:
        for kind in day["kinds"]:
            for line in kind["lines"]:
                row = {
                    **line,
                    "kind": kind["title"],
                    "currency": currency if line["cost_minor"] is not None else "",
                    "packs": "; ".join(f"{one['number']} x {one['pack_grams']:g} g" for one in line["packs"]),
                    "notes": " ".join(line["notes"]),
                }
                writer.writerow([_cell(row[column]) for column in COLUMNS])
    return out.getvalue()


def _cell(value: Any) -> Any:
    if isinstance(value, list):
        value = "; ".join(value)
    if isinstance(value, str):
        return marked(value)
    return "" if value is None else value
