"""``packed-lunch week``: sum up a child's week; write it as a table or a page."""

from typing import TYPE_CHECKING, Annotated

import typer

from service.cli.check import show_yardsticks
from service.cli.terminal.faults import report_faults
from service.cli.terminal.printing import (
    BASIS_WORDS,
    HANDLING_WORDS,
    OUTCOME_WORDS,
    STATUS_WORDS,
    AsJson,
    Exact,
    Reply,
    amount,
    bounds,
    came_to,
    cited,
    explain_units,
    finish,
    show_cautions,
    table,
)
from service.cli.terminal.request_files import RequestFile, read_asked

if TYPE_CHECKING:
    from rich.console import Console


PERIOD_WORDS = {"day": "each day", "week": "whole week", "three_weeks": "three weeks"}


def week(
    file: RequestFile,
    as_json: AsJson = False,
    exact: Exact = False,
    table_file: Annotated[
        str | None, typer.Option("--csv", metavar="FILE.csv", help="Write the week as a table for a spreadsheet.")
    ] = None,
    tables: Annotated[
        str | None,
        typer.Option(
            "--tables",
            metavar="FILE",
            help="Write tables for other programs: FILE.zip with a data dictionary, or FILE.parquet (its days).",
        ),
    ] = None,
    page: Annotated[
        str | None, typer.Option(metavar="FILE.html", help="Write the week as a page to print (extra: reports).")
    ] = None,
) -> None:
    """Sum up a child's week: the body of POST /v1/weekly-summaries as a file."""
    with report_faults(as_json):
        from service.jobs.files import write_whole
        from service.jobs.weeks.requests import WeekRequest
        from service.jobs.weeks.sum_up_week import sum_up_week, week_in_order

        reply = sum_up_week(read_asked(file, WeekRequest))
        if table_file is not None:
            from service.jobs.weeks.csv import week_csv

            write_whole(table_file, week_csv(reply), "--csv")
        if tables is not None:
            from service.jobs.tables.data_package.week import week_package
            from service.jobs.tables.data_package.written import package_file

            write_whole(tables, package_file(week_package(reply), tables, "--tables"), "--tables")
        if page is not None:
            from service.jobs.weeks.page import week_page

            write_whole(page, week_page(reply), "--page")
        finish(reply, as_json, show_week_exactly if exact else show_week, 0 if week_in_order(reply) else 1)


def show_week_exactly(out: "Console", reply: Reply) -> None:
    """One week with unrounded figures and the source of each rule."""
    show_week(out, reply, exact=True)


def show_week(out: "Console", reply: Reply, *, exact: bool = False) -> None:
    """One week: the sentence, its days, findings, variety, allergens, cost, changes, and the trend."""
    who = reply["nickname"] or "this child"
    standard = reply["standard"]
    out.print(reply["summary"], style="bold")
    out.print(
        f"For {who}, {reply['week']} ({reply['first_day']} to {reply['last_day']}), by {standard['title']} "
        f"({standard['citation']}): {standard['age_group_title']}."
    )
    for note in reply["notes"]:
        out.print(note)
    out.print()
    _days(out, reply)
    out.print()
    _findings(out, reply, exact=exact)
    _reasons(out, reply)
    if reply["micronutrients"]:
        out.print()
        out.print("Mean lunch against a third of the day's reference", style="bold")
        for row in reply["micronutrients"]:
            out.print(row["sentence"])
    out.print()
    _variety(out, reply["variety"])
    _allergens(out, reply)
    if reply["cost"]:
        out.print()
        out.print("Cost", style="bold")
        out.print(reply["cost"]["sentence"])
    show_yardsticks(out, reply["yardsticks"], exact=exact)
    if reply["changes"]:
        out.print()
        out.print("Next week: the smallest changes", style="bold")
        for place, change in enumerate(reply["changes"], 1):
            fixed = (
                "; ".join(change["mends_labels"])
                or f"what is wrong on {change['days_mended']} {'day' if change['days_mended'] == 1 else 'days'}"
            )
            less = f" Less of: {'; '.join(change['less_of'])}." if change["less_of"] else ""
            out.print(f"{place}. {change['sentence']} Fixes: {fixed}.{less}")
    if len(reply["trend"]) > 1:
        out.print()
        _trend(out, reply)
    show_cautions(out, reply["cautions"])


def _days(out: "Console", reply: Reply) -> None:
    listed = table("day", "kind", "what", "kcal", "counted")
    for day in reply["days"]:
        names = ", ".join(item["name"] for item in day["items"]) or day["menu"] or ""
        energy = "-"
        if day["totals"]:
            total = day["totals"]["energy_kcal"]
            energy = f"{'' if total['complete'] else 'at least '}{total['low']:.0f}"
        listed.add_row(
            f"{day['weekday'][:3]} {day['date']}",
            day["kind"],
            " ".join(part for part in (names, day["why"]) if part),
            energy,
            "yes" if day["counted"] else "no",
        )
    out.print(listed)


def _findings(out: "Console", reply: Reply, *, exact: bool) -> None:
    sources = ("source",) if exact else ()
    from service.domain.weeks.words import of_days

    if reply["findings"]:
        listed = table("target", "this week", "wanted", "judged on", "answer", *sources)
        for one in reply["findings"]:
            got = f"{amount(one['share_percent'])} %" if one["share_percent"] is not None else came_to(one, exact=exact)
            if one["share_percent"] is None and not (one["at_least"] or one["at_most"]):
                got = "-"
            if one["basis"] in ("school_day", "lunch"):
                kept = sum(day["status"] in ("met", "not_applicable") for day in one["days"])
                got = of_days(kept, len(one["days"]))
            listed.add_row(
                one["label"],
                got if one["over_days"] else "-",
                bounds(one) if one["at_least"] or one["at_most"] else "as named",
                f"{BASIS_WORDS[one['basis']]}, {of_days(one['over_days'], one['school_days'])}",
                STATUS_WORDS[one["status"]],
                *((cited(one),) if exact else ()),
            )
        out.print(listed)
        explain_units(out, reply["findings"])
    if reply["frequencies"]:
        listed = table("rule", "this week", "wanted", "judged on", "answer", *sources)
        for one in reply["frequencies"]:
            least = amount(one["least"])
            count = least if one["least"] == one["most"] else f"at least {least}"
            listed.add_row(
                one["label"],
                "-" if one["status"] == "not_applicable" else count,
                one["wanted"],
                PERIOD_WORDS[one["period"]],
                STATUS_WORDS[one["status"]],
                *((cited(one),) if exact else ()),
            )
        out.print(listed)
    wrong = [one for one in reply["product_rules"] if one["status"] != "met"]
    for one in wrong:
        out.print(f"{one['sentence']} ({', '.join(one['dates'])})")


def _reasons(out: "Console", reply: Reply) -> None:
    off = [one for one in [*reply["findings"], *reply["frequencies"]] if one["status"] in ("short", "over", "unknown")]
    if off:
        out.print()
        for one in off:
            out.print(one["sentence"])


def _variety(out: "Console", variety: Reply) -> None:
    out.print("Variety", style="bold")
    out.print(variety["sentence"])
    for group in ("fruit", "vegetables", "mains"):
        out.print(f"{group}: {', '.join(variety[group]) or 'none'}")
    if variety["repeats"]:
        out.print("more than once: " + ", ".join(f"{one['kind']} ({one['days']} days)" for one in variety["repeats"]))
    if variety["new_foods"]:
        out.print("new: " + ", ".join(variety["new_foods"]))
    if variety["unsorted"]:
        out.print("nobody said what these count as: " + ", ".join(variety["unsorted"]))


def _allergens(out: "Console", reply: Reply) -> None:
    if reply["allergens"]:
        out.print()
        listed = table("food", "allergen", "answer", "days", "evidence")
        for row in reply["allergens"]:
            answer = "DO NOT PACK" if row["do_not_pack"] else OUTCOME_WORDS[row["outcome"]]
            listed.add_row(row["name"], row["allergen"], answer, ", ".join(row["dates"]), row["evidence"])
        out.print(listed)
    if reply["handling"]:
        out.print()
        for row in reply["handling"]:
            out.print(f"{HANDLING_WORDS[row['status']]}: {row['sentence']} ({', '.join(row['dates'])})")


def _trend(out: "Console", reply: Reply) -> None:
    listed = table("week", "days", "kept", "not kept", "cannot tell", "kcal")
    for week in reply["trend"]:
        energy = week["means"].get("energy_kcal")
        judged = week["judged"]
        listed.add_row(
            week["week"],
            f"{week['counted_days']} of {week['school_days']}",
            str(week["met"]) if judged else "-",
            str(week["not_met"]) if judged else "-",
            str(week["unknown"]) if judged else "-",
            "-" if energy is None else f"{'' if energy['complete'] else 'at least '}{energy['mean_low']:.0f}",
        )
    out.print(listed)
