"""``packed-lunch check``: one lunch."""

from typing import TYPE_CHECKING

from service.cli.terminal.faults import report_faults
from service.cli.terminal.printing import (
    BASIS_WORDS,
    HANDLING_WORDS,
    OUTCOME_WORDS,
    STATUS_WORDS,
    VERDICT_WORDS,
    AsJson,
    Exact,
    Reply,
    amount,
    bounds,
    came_to,
    cited,
    explain_units,
    finish,
    score_words,
    show_cautions,
    table,
)
from service.cli.terminal.request_files import RequestFile, read_asked
from service.reference.messages import catalogue

if TYPE_CHECKING:
    from rich.console import Console


def check(file: RequestFile, as_json: AsJson = False, exact: Exact = False) -> None:
    """Check one lunch: the body of POST /v1/lunch-checks as a file."""
    with report_faults(as_json):
        from service.jobs.lunch.check_lunch import check_lunch
        from service.jobs.requests.lunches import LunchCheckRequest

        reply = check_lunch(read_asked(file, LunchCheckRequest))
        finish(reply, as_json, show_check_exactly if exact else show_check, 0 if reply["verdict"] == "pack" else 1)


def show_check_exactly(out: "Console", reply: Reply) -> None:
    """One lunch check with unrounded figures and their sources."""
    show_check(out, reply, exact=True)


def show_check(out: "Console", reply: Reply, *, exact: bool = False) -> None:
    """One lunch check."""
    who = reply.get("nickname") or "this child"
    standard = reply["standard"]
    out.print(f"{VERDICT_WORDS[reply['verdict']]}{score_words(reply)}", style="bold")
    out.print(reply["summary"])
    out.print(
        f"For {who}, {standard['on']}, by {standard['title']} ({standard['citation']}): {standard['age_group_title']}."
    )
    out.print()
    items = table("item", "amount", "grams", "kcal", "counts as", *(("figures from",) if exact else ()))
    for item in reply["items"]:
        credits = ", ".join(f"{amount(v, 3)} {k}" for k, v in _short_credits(item["credits"]).items())
        items.add_row(
            item["name"],
            catalogue().measured(item["quantity"], item["unit"]),
            amount(item["grams"]),
            "-" if item["energy_kcal"] is None else f"{item['energy_kcal']:.0f}",
            credits,
            *((item["source"],) if exact else ()),
        )
    out.print(items)
    out.print()
    findings = table("target", "this lunch", "wanted", "judged on", "answer", *(("source",) if exact else ()))
    for one in reply["findings"]:
        findings.add_row(
            one["label"],
            came_to(one, exact=exact),
            bounds(one),
            BASIS_WORDS[one["basis"]],
            STATUS_WORDS[one["status"]] if one["kind"] == "target" or one["status"] != "over" else "not by the rule",
            *((cited(one),) if exact else ()),
        )
    out.print(findings)
    explain_units(out, reply["findings"])
    cannot_tell = [one for one in reply["findings"] if one["status"] == "unknown"]
    if cannot_tell:
        out.print()
    for one in cannot_tell:
        out.print(one["sentence"])
    show_rest(out, reply, exact=exact)


def _short_credits(credits: dict[str, float]) -> dict[str, float]:
    """Credits by their main components; subgroups stand in the JSON."""
    names = {
        "fluid_milk_cup": "cup milk",
        "meat_alternate_oz_eq": "oz eq meat or alternate",
        "grain_oz_eq": "oz eq grain",
        "fruit_cup": "cup fruit",
        "vegetable_cup": "cup vegetable",
    }
    return {names[name]: value for name, value in credits.items() if name in names}


def show_rest(out: "Console", reply: Reply, *, exact: bool = False) -> None:
    """What follows the figures: allergens, handling, energy need, changes, cautions."""
    flagged = [one for one in reply["allergens"] if one["outcome"] != "not_declared"]
    if reply["allergens"]:
        out.print()
        if flagged:
            listed = table("allergen", "item", "answer", "why")
            for one in flagged:
                by = " (banned)" if one["avoided_by"] == "setting" else ""
                listed.add_row(one["allergen"] + by, one["name"], OUTCOME_WORDS[one["outcome"]], one["evidence"])
            out.print(listed)
        else:
            out.print("Allergens to avoid: none declared in any item. Not declared is not a promise: read the labels.")
    if reply["handling"]:
        out.print()
        for one in reply["handling"]:
            source = f" [{one['source']}]" if exact else ""
            out.print(f"{HANDLING_WORDS[one['status']]}: {one['sentence']}{source}")
    if reply["energy_need"]:
        out.print()
        out.print(reply["energy_need"]["sentence"])
    show_yardsticks(out, reply["yardsticks"], exact=exact)
    if reply["changes"]:
        out.print()
        out.print("Smallest changes", style="bold")
        for place, change in enumerate(reply["changes"], 1):
            mends = "; ".join([*(_other_fix(id_) for id_ in change["mends"] if ":" in id_), *change["mends_labels"]])
            if change["kind"] == "read":
                out.print(f"{place}. {change['sentence']}")
                continue
            tail = f" Fixes: {mends}." if mends else " Comes nearer."
            if change["less_of"]:
                tail = f"{tail if mends else ''} Less of: {'; '.join(change['less_of'])}."
            after = change["score_after"]
            score = "Must still not be packed." if after is None else f"Score then {after:g}."
            out.print(f"{place}. {change['sentence']}{tail} {score}")
    show_cautions(out, reply["cautions"])


def show_yardsticks(out: "Console", yardsticks: list[Reply], *, exact: bool = False) -> None:
    """What a lunch or a week is shown beside, after the answer and apart from it."""
    for one in yardsticks:
        out.print()
        out.print(one["sentence"], style="bold")
        out.print(one["about"])
        for row in one["findings"]:
            out.print(f"{row['sentence']}{f' ({cited(row)})' if exact else ''}")


def _other_fix(id_: str) -> str:
    """What a change fixes apart from the targets, in words."""
    kind, _, name = id_.partition(":")
    return name.replace("_", " ") if kind == "allergen" else "the form for this age"
