"""``packed-lunch standards``: list the standards, or show the rules of one on a day."""

from datetime import date
from typing import TYPE_CHECKING, Annotated

import typer

from service.cli.terminal.faults import report_faults
from service.cli.terminal.printing import AsJson, Reply, amount, cited, finish, table
from service.domain.errors import BadInput
from service.domain.messages import message

if TYPE_CHECKING:
    from rich.console import Console


def standards(
    standard: Annotated[str | None, typer.Argument(help="A standard's id, to show its rules on a day.")] = None,
    on: Annotated[str | None, typer.Option(metavar="YYYY-MM-DD", help="The day; today if left out.")] = None,
    as_json: AsJson = False,
) -> None:
    """List the standards, or show the rules of one on a day."""
    with report_faults(as_json):
        from service.jobs.lunch.standards import list_standards, show_standard

        if standard is None:
            finish(list_standards(), as_json, show_standard_list, 0)
        else:
            finish(show_standard(standard, _day(on)), as_json, show_one_standard, 0)


def _day(on: str | None) -> date:
    """The day asked for, or today."""
    from service.jobs.requests.fields import day_in

    if on is None:
        return date.today()  # noqa: DTZ011 - the kitchen's own calendar day
    day = day_in(on)
    if day is None:
        raise BadInput(pointer="--on", value=on, problem=message("fault.no-day"))
    return day


def show_standard_list(out: "Console", reply: Reply) -> None:
    """All standards."""
    listed = table("id", "title", "ages (months)", "from", "to")
    for one in reply["items"]:
        low = min(group["from_age_months"] for group in one["age_groups"])
        high = max(group["below_age_months"] for group in one["age_groups"])
        listed.add_row(
            one["id"],
            f"{one['title']} ({one['citation']}){'; a yardstick' if one['yardstick'] else ''}",
            f"{low} to {high - 1}",
            one["first_day"],
            one["last_day"] or "",
        )
    out.print(listed)


def show_one_standard(out: "Console", reply: Reply) -> None:
    """One standard's rules on a day."""
    out.print(f"{reply['title']} ({reply['citation']}), rules in force on {reply['on']}", style="bold")
    out.print(reply["about"])
    titles = {group["id"]: group["title"] for group in reply["age_groups"]}
    for group in reply["in_force"]:
        out.print()
        listed = table("target", "wanted", "source", title=f"{group['id']}: {titles[group['id']]}")
        for target in [*group["targets"], *group["week_targets"]]:
            listed.add_row(target["label"], target["wanted"], cited(target))
        for rule in group["product_rules"]:
            unit = rule["measure"].rsplit("_", 1)[1]
            limit = f"at most {amount(rule['at_most'])} {unit} in {amount(rule['per_grams'])} g"
            listed.add_row(rule["label"], f"{limit}, each product", cited(rule))
        for rule in group["milk_rules"]:
            kinds = ", ".join(kind.replace("_", " ") for kind in rule["allowed"])
            listed.add_row(rule["label"], kinds, cited(rule))
        for rule in group["frequencies"]:
            listed.add_row(rule["label"], rule["wanted"], cited(rule))
        out.print(listed)
