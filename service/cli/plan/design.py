"""``packed-lunch design``: an offer from which nobody can take a lunch that is not right."""

from typing import TYPE_CHECKING

from service.cli.terminal.faults import report_faults
from service.cli.terminal.printing import AsJson, Reply, chance_words, finish, in_words, show_notes, table
from service.cli.terminal.request_files import RequestFile, read_asked

if TYPE_CHECKING:
    from rich.console import Console


def design(file: RequestFile, as_json: AsJson = False) -> None:
    """Find an offer from which every lunch is right: the body of POST /v1/offer-designs as a file."""
    with report_faults(as_json):
        from service.jobs.plan.designs.design_offer import design_offer
        from service.jobs.plan.requests import OfferDesignRequest

        reply = design_offer(read_asked(file, OfferDesignRequest))
        fine = reply["found"] and all(child["right"] == child["total"] for child in reply["children"])
        finish(reply, as_json, show_design, 0 if fine else 1)


def show_design(out: "Console", reply: Reply) -> None:
    """The offer found, group by group, and the count for each child; or what stands in the way."""
    out.print(reply["sentence"], style="bold")
    for group in reply["groups"]:
        out.print()
        out.print(f"{group['id']}, {_take(group['take'])}", style="bold")
        listed = table("food", "amount", "other amounts", "not for")
        for one in group["items"]:
            others = ", ".join(
                f"{each['child']}: {in_words(each['quantity'], one['unit'])}" for each in one["portions"]
            )
            listed.add_row(one["name"], in_words(one["quantity"], one["unit"]), others, ", ".join(one["not_for"]))
        out.print(listed)
    for child in reply["children"]:
        out.print()
        right = child["right_once_read"]
        out.print(f"{child['nickname'] or 'This child'}: {right:,} of {child['total']:,} lunches are right.")
        for week in child["weeks"]:
            out.print(f"  {week['label']}: kept in {chance_words(week['least'])} of weeks.")
        for row in child["cut_for"]:
            out.print(f"  {row['sentence']}")
    for one in reply["in_the_way"]:
        out.print()
        out.print(one["sentence"])
        for food in one["would_help"]:
            much = in_words(food["quantity"], food["unit"])
            out.print(f"  Would help: {food['name']} ({much}) in {food['group']}.")
    show_notes(out, reply)


def _take(take: Reply) -> str:
    least, most = take["at_least"], take["at_most"]
    return f"take {least}" if least == most else f"take {least} to {most}"
