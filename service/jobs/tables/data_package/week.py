"""A week's summary as tables: its days with their sums, their items, and the findings with the source of each rule."""

from typing import Any

from service.domain.measures import MEASURES
from service.domain.messages import message
from service.jobs.tables.data_package.tables import Column, DataPackage, DataTable

Reply = dict[str, Any]

DATE = Column("date", "date", message("data-column.date"))
DAY_COLUMNS = (
    DATE,
    Column("weekday", "string", message("data-column.weekday")),
    Column("kind", "string", message("data-column.day-kind")),
    Column("counted", "boolean", message("data-column.counted")),
    Column("why", "string", message("data-column.why")),
    Column("menu", "string", message("data-column.menu")),
)
ITEM_COLUMNS = (
    DATE,
    Column("item", "integer", message("data-column.item")),
    Column("food", "string", message("data-column.food")),
    Column("name", "string", message("data-column.name")),
    Column("quantity", "number", message("data-column.quantity")),
    Column("unit", "string", message("data-column.unit")),
    Column("grams", "number", message("data-column.grams"), "g"),
    Column("eaten_grams", "number", message("data-column.eaten-grams"), "g"),
)
FINDING_COLUMNS = (
    Column("finding", "integer", message("data-column.finding")),
    Column("kind", "string", message("data-column.finding-kind")),
    Column("id", "string", message("data-column.rule")),
    Column("label", "string", message("data-column.label")),
    Column("status", "string", message("data-column.status")),
    Column("amount", "number", message("data-column.amount")),
    Column("amount_low", "number", message("data-column.amount-low")),
    Column("amount_high", "number", message("data-column.amount-high")),
    Column("at_least", "number", message("data-column.at-least")),
    Column("at_most", "number", message("data-column.at-most")),
    Column("unit", "string", message("data-column.finding-unit")),
    Column("over_days", "integer", message("data-column.over-days")),
    Column("school_days", "integer", message("data-column.school-days")),
    Column("sentence", "string", message("data-column.sentence")),
    Column("source", "string", message("data-column.source")),
    Column("source_status", "string", message("data-column.source-status")),
)
FINDINGS = ("findings", "micronutrients", "product_rules", "frequencies")
ALLERGEN_COLUMNS = (
    Column("finding", "integer", message("data-column.finding")),
    Column("food", "string", message("data-column.food")),
    Column("name", "string", message("data-column.name")),
    Column("allergen", "string", message("data-column.allergen")),
    Column("outcome", "string", message("data-column.outcome")),
    Column("dates", "string", message("data-column.dates")),
    Column("evidence", "string", message("data-column.evidence")),
)


def week_package(reply: Reply) -> DataPackage:
    """The tables of a week's summary, the days first."""
    about = message("data-package.week", week=reply["week"], standard=reply["standard"]["citation"])
    return DataPackage(
        f"week-{reply['week'].lower()}", about, (_days(reply), _items(reply), _findings(reply), _allergens(reply))
    )


def _days(reply: Reply) -> DataTable:
    columns = list(DAY_COLUMNS)
    for one in MEASURES:
        columns += [
            Column(one.id, "number", message("data-column.measure", label=one.label), one.unit),
            Column(f"{one.id}_low", "number", message("data-column.measure-low", label=one.label), one.unit),
            Column(f"{one.id}_high", "number", message("data-column.measure-high", label=one.label), one.unit),
        ]
    rows = [{**day, **_sums(day["totals"] or {})} for day in reply["days"]]
    return DataTable("days", message("data-package.days"), columns, rows, ("date",))


def _sums(totals: Reply) -> Reply:
    found: Reply = {}
    for measure, total in totals.items():
        ends = (("", "amount"), ("_low", "low"), ("_high", "high"))
        found |= {f"{measure}{ending}": total[name] for ending, name in ends}
    return found


def _items(reply: Reply) -> DataTable:
    rows = [
        {**item, "date": day["date"], "item": place} for day in reply["days"] for place, item in enumerate(day["items"])
    ]
    about = message("data-package.items")
    return DataTable("items", about, ITEM_COLUMNS, rows, ("date", "item"), (("date", "days", "date"),))


def _findings(reply: Reply) -> DataTable:
    found = [
        {
            **one,
            "amount_low": one.get("amount_low", one.get("least")),
            "amount_high": one.get("amount_high", one.get("most")),
        }
        for part in FINDINGS
        for one in reply[part]
    ]
    rows = [{**one, "finding": place} for place, one in enumerate(found)]
    return DataTable("findings", message("data-package.findings"), FINDING_COLUMNS, rows, ("finding",))


def _allergens(reply: Reply) -> DataTable:
    rows = [{**one, "finding": place, "dates": " ".join(one["dates"])} for place, one in enumerate(reply["allergens"])]
    return DataTable("allergens", message("data-package.allergens"), ALLERGEN_COLUMNS, rows, ("finding",))
