"""``packed-lunch offer``: audit an offer for each child; write the children's cards."""

from typing import TYPE_CHECKING, Annotated

import typer

from service.cli.terminal.faults import report_faults
from service.cli.terminal.printing import (
    BASIS_WORDS,
    AsJson,
    Reply,
    bounds,
    chance_words,
    explain_units,
    finish,
    show_cautions,
    table,
)
from service.cli.terminal.request_files import RequestFile, read_asked
from service.domain.shares import percent

if TYPE_CHECKING:
    from rich.console import Console


SHOWN_ITEMS = 12
"""Items shown a child: those that change the share of right lunches most; all stand in the JSON."""


def offer(
    file: RequestFile,
    as_json: AsJson = False,
    cards: Annotated[
        str | None, typer.Option(metavar="FILE.html", help="Write the children's cards as a page to print.")
    ] = None,
) -> None:
    """Audit an offer: the body of POST /v1/offer-audits as a file."""
    with report_faults(as_json):
        from service.jobs.files import write_whole
        from service.jobs.offers.audit_offer import audit_offer
        from service.jobs.offers.cards import cards_page
        from service.jobs.offers.requests import OfferAuditRequest

        reply = audit_offer(read_asked(file, OfferAuditRequest))
        if cards is not None:
            write_whole(cards, cards_page([child["card"] for child in reply["children"]]), "--cards")
        fine = all(child["right"] == child["total"] > 0 for child in reply["children"])
        finish(reply, as_json, show_audit, 0 if fine else 1)


def show_audit(out: "Console", reply: Reply) -> None:
    """One audit: for each child the sentence, what was left out, targets, items, changes, and its card."""
    for child in reply["children"]:
        who = child["nickname"] or "This child"
        out.rule(who, align="left", characters="-")
        out.print(child["sentence"], style="bold")
        standard = child["standard"]
        out.print(
            f"By {standard['title']} ({standard['citation']}), {standard['age_group_title']}; lunches of {reply['on']}."
        )
        for row in child["left_out"]:
            out.print(f"Left out for {who}: {row['name']} ({row['group']}): {'; '.join(row['reasons'])}")
        for row in [*child["cut_for"], *child["rules_not_kept"], *child["handling"], *child["products"]]:
            out.print(row["sentence"])
        for group in child["nothing_left_in"]:
            out.print(f"Too little is left to take from {group}.")
        if child["estimate"]:
            out.print(child["estimate"]["note"])
        if child["targets"] and child["total"]:
            out.print()
            _targets(out, child)
            _items(out, child)
            _measures(out, child)
        _examples(out, child)
        if child["total"] and (child["changes"] or child["changes_note"]):
            out.print()
            out.print("Smallest changes to the offer", style="bold")
            for place, change in enumerate(child["changes"], 1):
                out.print(f"{place}. {change_words(change)}")
            if child["changes_note"]:
                out.print(child["changes_note"])
        for one in child["yardsticks"]:
            out.print()
            out.print(one["sentence"], style="bold")
            out.print(one["about"])
            if one["targets"] and child["total"]:
                _targets(out, one)
        if child["card"]:
            out.print()
            out.print("Card", style="bold")
            out.print(child["card"]["text"])
        out.print()
    for head, rows in (("Packets to read first", reply["to_read"]), ("Packets to read once", reply["to_read_once"])):
        if rows:
            out.rule(head, align="left", characters="-")
        for row in rows:
            out.print(row["sentence"])
    if reply["to_label_or_move"]:
        out.rule("To label or move", align="left", characters="-")
        for row in reply["to_label_or_move"]:
            out.print(f"{row['name']} ({row['group']}): {row['advice']}")
    show_cautions(out, reply["cautions"])


def change_words(change: Reply) -> str:
    """A change to the offer, and how many of its lunches are right then."""
    right, read = change["right_after"], change["right_once_read_after"]
    share = f"{percent(change['right_share_after'])}%"
    once_read = f"; {read:,} once the packets are read" if read > right else ""
    return f"{change['sentence']} Then {right:,} of {change['total_after']:,} are right ({share}){once_read}."


def _targets(out: "Console", child: Reply) -> None:
    listed = table("target", "wanted", "judged on", "keep it", "break it", "cannot tell", "weeks that keep it")
    for one in child["targets"]:
        chance = one["week_mean_chance"]
        listed.add_row(
            one["label"],
            bounds(one),
            BASIS_WORDS[one["basis"]],
            f"{one['kept']:,}",
            f"{one['broken']:,}",
            f"{one['unknown']:,}",
            "" if chance is None else _chance(chance),
        )
    out.print(listed)
    explain_units(out, child["targets"])


def _chance(chance: Reply) -> str:
    least, most = chance_words(chance["least"]), chance_words(chance["most"])
    return least if least == most else f"{least} to {most}"


def _items(out: "Console", child: Reply) -> None:
    rows = [one for one in child["items"] if one["right_share_with"] is not None]
    rows.sort(
        key=lambda one: abs(one["right_share_with"] - (one["right_share_without"] or 0.0)),
        reverse=True,
    )
    out.print()
    if not child["right"]:
        out.print("No lunch is right, with or without any one item.")
        return
    listed = table("item", "group", "lunches with it", "right with it", "right without it")
    for one in rows[:SHOWN_ITEMS]:
        without = one["right_share_without"]
        listed.add_row(
            one["name"],
            one["group"],
            f"{one['lunches_with']:,}",
            f"{percent(one['right_share_with'])}%",
            "-" if without is None else f"{percent(without)}%",
        )
    out.print(listed)
    if len(rows) > SHOWN_ITEMS:
        out.print(f"{len(rows) - SHOWN_ITEMS} more items make less of a difference.")


def _measures(out: "Console", child: Reply) -> None:
    from service.domain.lunch.findings import number
    from service.domain.measures import MEASURES

    out.print()
    listed = table("amount in a lunch", "smallest", "median", "largest", "lunches with a figure missing")
    for measure in MEASURES:
        if one := child["measures"].get(measure.id):
            shown = [f"{number(one[size], one['unit'])} {one['unit']}" for size in ("smallest", "median", "largest")]
            listed.add_row(measure.label, *shown, f"{one['incomplete']:,}")
    out.print(listed)


def _examples(out: "Console", child: Reply) -> None:
    for head, rows in (("Best lunches", child["best"]), ("Worst lunches", child["worst"])):
        if rows:
            out.print()
            out.print(head, style="bold")
            for one in rows:
                if one["check"] is None:
                    out.print("nothing taken at all")
                    continue
                items = " + ".join(item["name"] for item in one["check"]["items"])
                score = one["check"]["score"]
                out.print(f"{'-' if score is None else f'{score:g}'}: {items}")
