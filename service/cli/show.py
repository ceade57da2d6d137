"""Replies as tables and plain sentences for people, or as JSON for programs."""

import sys
from collections.abc import Callable
from typing import Any

import orjson
import typer
from rich.console import Console
from rich.table import Table
from rich.text import Text

Reply = dict[str, Any]

VERDICT_WORDS = {
    "do_not_pack": "DO NOT PACK",
    "check_label": "READ THE LABEL FIRST",
    "adjust": "CHANGE SOMETHING",
    "pack": "KEEPS THE RULES CHECKED",
}
STATUS_WORDS = {
    "met": "met",
    "short": "too little",
    "over": "too much",
    "unknown": "cannot tell",
    "not_applicable": "-",
}
OUTCOME_WORDS = {
    "avoid": "avoid",
    "may_contain": "may contain",
    "check_label": "read label",
    "not_declared": "not declared",
}
HANDLING_WORDS = {"in_order": "in order", "fix": "to mend", "do_not_pack": "do not pack", "unknown": "not said"}
BASIS_WORDS = {
    "lunch": "this lunch",
    "school_day": "each day",
    "week_mean": "mean of the week",
    "week_total": "the week",
    "product": "this product",
}


def console() -> Console:
    """The terminal, or plain text of a fixed width in a pipe; names and sentences are printed as they are."""
    width = None if sys.stdout.isatty() else 110
    return Console(width=width, highlight=False, markup=False, emoji=False, soft_wrap=False)


def finish(reply: Reply, as_json: bool, show: Callable[[Console, Reply], None], code: int) -> None:
    """Print a reply and end with its exit code."""
    if as_json:
        sys.stdout.write(orjson.dumps(reply, option=orjson.OPT_INDENT_2).decode() + "\n")
    else:
        show(console(), reply)
    raise typer.Exit(code)


def table(*columns: str, title: str = "") -> Table:
    """A plain table; the columns that hold sentences wrap."""
    made = Table(title=title or None, title_justify="left", box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for column in columns:
        made.add_column(column, justify="left", overflow="fold")
    return made


def amount(value: float | None, places: int = 2) -> str:
    """A number with no more places than it needs."""
    return "-" if value is None else f"{value:,.{places}f}".rstrip("0").rstrip(".")


def bounds(finding: Reply) -> str:
    """The bounds of a finding in short."""
    low, high = finding["at_least"], finding["at_most"]
    if low is None and high is None:
        return ""
    if low is not None and high is not None:
        return f"{amount(low)} to {amount(high)}"
    if low is not None:
        return f"{'>' if finding['exclusive'] else 'at least'} {amount(low)}"
    return f"{'under' if finding['exclusive'] else 'at most'} {amount(high)}"


def show_check(out: Console, reply: Reply) -> None:
    """One lunch check."""
    who = reply.get("nickname") or "this child"
    standard = reply["standard"]
    score = "" if reply["score"] is None else f" (score {reply['score']:g} of 100)"
    out.print(Text(f"{VERDICT_WORDS[reply['verdict']]}{score}", style="bold"))
    out.print(reply["summary"])
    out.print(
        f"For {who}, {standard['on']}, by {standard['title']} ({standard['citation']}): {standard['age_group_title']}."
    )
    out.print()
    items = table("item", "amount", "grams", "kcal", "credits", "figures from")
    for item in reply["items"]:
        credits = ", ".join(f"{amount(v, 3)} {k}" for k, v in _short_credits(item["credits"]).items())
        items.add_row(
            item["name"],
            f"{amount(item['quantity'])} {item['unit']}",
            amount(item["grams"]),
            "-" if item["energy_kcal"] is None else f"{item['energy_kcal']:.0f}",
            credits,
            item["source"],
        )
    out.print(items)
    out.print()
    findings = table("target", "this lunch", "wanted", "unit", "counted over", "answer", "source")
    for one in reply["findings"]:
        findings.add_row(
            one["label"],
            amount(one["amount"]),
            bounds(one),
            one["unit"],
            BASIS_WORDS[one["basis"]],
            STATUS_WORDS[one["status"]] if one["kind"] == "target" or one["status"] != "over" else "not by the rule",
            one["source"] + ("" if one["source_status"] == "read" else f" [{one['source_status'].replace('_', ' ')}]"),
        )
    out.print(findings)
    show_rest(out, reply)


def _short_credits(credits: dict[str, float]) -> dict[str, float]:
    """Credits by their main components; subgroups stand in the JSON."""
    names = {
        "fluid_milk_cup": "c milk",
        "meat_alternate_oz_eq": "oz eq meat or alternate",
        "grain_oz_eq": "oz eq grain",
        "fruit_cup": "c fruit",
        "vegetable_cup": "c vegetable",
    }
    return {names[name]: value for name, value in credits.items() if name in names}


def show_rest(out: Console, reply: Reply, *, cautions: bool = True) -> None:
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
            out.print("Allergens to avoid: none declared in any item. Not declared is no promise; read the labels.")
    if reply["handling"]:
        out.print()
        for one in reply["handling"]:
            out.print(f"{HANDLING_WORDS[one['status']]}: {one['sentence']} [{one['source']}]")
    if reply["energy_need"]:
        out.print()
        out.print(reply["energy_need"]["sentence"])
    if reply["changes"]:
        out.print()
        out.print(Text("Smallest changes", style="bold"))
        for place, change in enumerate(reply["changes"], 1):
            mends = "; ".join([*(_other_mend(id_) for id_ in change["mends"] if ":" in id_), *change["mends_labels"]])
            tail = f" Mends: {mends}." if mends else " Comes nearer."
            out.print(f"{place}. {change['sentence']}{tail} Score then {change['score_after']:g}.")
    if cautions:
        show_cautions(out, reply["cautions"])


def _other_mend(id_: str) -> str:
    """What a change mends beside the targets, in words."""
    kind, _, name = id_.partition(":")
    return name.replace("_", " ") if kind == "allergen" else "the form for this age"


def show_cautions(out: Console, cautions: list[str]) -> None:
    """The cautions, one a line."""
    out.print()
    for caution in cautions:
        out.print(f"* {caution}")


def show_screening(out: Console, reply: Reply) -> None:
    """A matrix of children and items, then the evidence and the order of making."""
    children: dict[str, list[Reply]] = {}
    for row in reply["rows"]:
        children.setdefault(row["nickname"], []).append(row)
    matrix = table("item", *children)
    for cells in zip(*children.values(), strict=True):  # by place: two items may have the same name
        matrix.add_row(cells[0]["item"], *(_cell(row) for row in cells))
    out.print(matrix)
    reasons = [(row, finding) for row in reply["rows"] for finding in row["findings"]]
    if reasons:
        out.print()
        why = table("who", "item", "allergen", "answer", "why")
        for row, finding in reasons:
            why.add_row(
                row["nickname"],
                finding["name"],
                finding["allergen"] + (" (banned)" if finding["avoided_by"] == "setting" else ""),
                OUTCOME_WORDS[finding["outcome"]],
                finding["evidence"],
            )
        out.print(why)
    out.print()
    out.print(Text("Make them in this order", style="bold"))
    flagged = {finding["name"] for row in reply["rows"] for finding in row["findings"]}
    free = [step for step in reply["making_order"] if not step["clean_before"] and step["item"] not in flagged]
    rest = [step for step in reply["making_order"] if step not in free]
    if free:
        out.print(f"First, in any order: {'; '.join(step['item'] for step in free)}")
    for step in rest:
        clean = f"clean first ({', '.join(step['clean_before'])} handled before); " if step["clean_before"] else ""
        named = "a warning names an allergen" if step["item"] in flagged else "none declared"
        handles = f"holds or may hold {', '.join(step['handles'])}" if step["handles"] else named
        out.print(f"Then {step['item']}: {clean}{handles}")
    out.print(reply["making_order_basis"])
    show_cautions(out, reply["cautions"])


def _cell(row: Reply) -> str:
    """One child and one item."""
    return OUTCOME_WORDS[row["outcome"]] + (" (do not pack)" if row["do_not_pack"] else "")


def show_food_page(out: Console, reply: Reply) -> None:
    """Foods found."""
    listed = table("id", "name", "kind", "usual portion")
    for one in reply["items"]:
        listed.add_row(
            one["id"],
            one["name"],
            one["kind"].replace("_", " "),
            f"{one['usual_unit']} = {amount(one['usual_grams'])} g",
        )
    out.print(listed)
    if reply["next"]:
        out.print("More match: use --limit or another word.")


def show_one_food(out: Console, reply: Reply) -> None:
    """Everything known of one food."""
    out.print(Text(f"{reply['name']} ({reply['id']})", style="bold"))
    out.print(reply["source"])
    out.print("Portions: " + "; ".join(f"{one['unit']} = {amount(one['grams'])} g" for one in reply["portions"]))
    values = table("per 100 g", "amount", "unit", "how")
    for measure, value in reply["per_100g"].items():
        values.add_row(
            measure, "unknown" if value["amount"] is None else amount(value["amount"]), value["unit"], value["how"]
        )
    out.print(values)
    known = table("allergen", "level", "basis", "why")
    for allergen, seen in reply["allergens"].items():
        known.add_row(allergen, seen["level"].replace("_", " "), seen["basis"].replace("_", " "), seen["evidence"])
    other = reply["other_allergens"]
    known.add_row("any other", other["level"].replace("_", " "), other["basis"].replace("_", " "), other["evidence"])
    out.print(known)


def show_standard_list(out: Console, reply: Reply) -> None:
    """All standards."""
    listed = table("id", "title", "ages (months)", "from", "to")
    for one in reply["items"]:
        low = min(group["from_age_months"] for group in one["age_groups"])
        high = max(group["below_age_months"] for group in one["age_groups"])
        listed.add_row(
            one["id"],
            f"{one['title']} ({one['citation']})",
            f"{low} to {high - 1}",
            one["first_day"],
            one["last_day"] or "",
        )
    out.print(listed)


def show_one_standard(out: Console, reply: Reply) -> None:
    """One standard's rules on a day."""
    out.print(Text(f"{reply['title']} ({reply['citation']}), rules in force on {reply['on']}", style="bold"))
    out.print(reply["about"])
    titles = {group["id"]: group["title"] for group in reply["age_groups"]}
    for group in reply["in_force"]:
        out.print()
        listed = table("target", "wanted", "source", title=f"{group['id']}: {titles[group['id']]}")
        for target in [*group["targets"], *group["week_targets"]]:
            listed.add_row(target["label"], target["wanted"], _cited(target))
        for rule in group["product_rules"]:
            unit = rule["measure"].rsplit("_", 1)[1]
            limit = f"at most {amount(rule['at_most'])} {unit} in {amount(rule['per_grams'])} g"
            listed.add_row(rule["label"], f"{limit}, each product", _cited(rule))
        for rule in group["milk_rules"]:
            kinds = ", ".join(kind.replace("_", " ") for kind in rule["allowed"])
            listed.add_row(rule["label"], kinds, _cited(rule))
        for rule in group["frequencies"]:
            listed.add_row(rule["label"], rule["wanted"], _cited(rule))
        out.print(listed)


def _cited(row: Reply) -> str:
    """Source and status of a rule."""
    return f"{row['source']} [{row['source_status'].replace('_', ' ')}]"
