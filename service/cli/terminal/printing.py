"""What all commands print with: words for codes, plain tables, cautions, and a reply as JSON for programs.

The library that draws tables is imported when something is drawn, so that ``--json`` and faults do without it.
"""

import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

Reply = dict[str, Any]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON for programs instead of tables for people.")]
Exact = Annotated[bool, typer.Option("--exact", help="Also show unrounded figures and the source of each.")]

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
    "label_not_seen": "read once",
    "not_declared": "not declared",
}
HANDLING_WORDS = {"in_order": "in order", "fix": "to fix", "do_not_pack": "do not pack", "unknown": "not said"}
BASIS_WORDS = {
    "lunch": "this lunch",
    "school_day": "each day",
    "week_mean": "week's average",
    "week_total": "whole week",
    "product": "this product",
}


def console() -> "Console":
    """The terminal, or plain text of a fixed width in a pipe; names and sentences are printed as they are."""
    from rich.console import Console

    width = None if sys.stdout.isatty() else 110
    return Console(width=width, highlight=False, markup=False, emoji=False, soft_wrap=False)


def finish(reply: Reply, as_json: bool, show: "Callable[[Console, Reply], None]", code: int) -> None:
    """Print a reply and end with its exit code."""
    if as_json:
        import orjson

        sys.stdout.write(orjson.dumps(reply, option=orjson.OPT_INDENT_2).decode() + "\n")
    else:
        show(console(), reply)
    raise typer.Exit(code)


def say(reply: Reply, as_json: bool, *lines: str, code: int = 0) -> None:
    """Print a reply as JSON, or the lines that say it, and end with the exit code."""

    def show(out: "Console", _reply: Reply) -> None:
        for line in lines:
            out.print(line, soft_wrap=True)

    finish(reply, as_json, show, code)


def table(*columns: str, title: str = "") -> "Table":
    """A plain table; the columns that hold sentences wrap."""
    from rich.table import Table

    made = Table(title=title or None, title_justify="left", box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for column in columns:
        made.add_column(column, justify="left", overflow="fold")
    return made


def score_words(reply: Reply) -> str:
    """The score of a check in brackets, or nothing where it has none."""
    if reply["score"] is None:
        return ""
    low, high = reply.get("score_low"), reply.get("score_high")
    between = "" if low is None or low == high else f", {low:g} to {high:g} by what is not known"
    return f" (score {reply['score']:g} of 100{between})"


def amount(value: float | None, places: int = 2) -> str:
    """A number with no more places than it needs."""
    return "-" if value is None else f"{value:,.{places}f}".rstrip("0").rstrip(".")


def chance_words(chance: float) -> str:
    """A chance in whole percent; all and none are said only where it is just that.

    >>> chance_words(0.996), chance_words(0.004), chance_words(0.5)
    ('over 99%', 'under 1%', '50%')
    """
    if 0.0 < chance < 0.01:
        return "under 1%"
    return "over 99%" if 0.99 < chance < 1.0 else f"{chance:.0%}"


def minute(moment: str | None, missing: str = "-") -> str:
    """A moment of a reply to the minute, in UTC as there; ``missing`` where there is none.

    >>> minute("2026-12-01T07:30:12Z")
    '2026-12-01 07:30'
    """
    return missing if moment is None else moment[:16].replace("T", " ")


def counted(number: int, one: str, many: str) -> str:
    """``1 lunch``, ``2,000 lunches``."""
    return f"{number:,} {one if number == 1 else many}"


def in_words(quantity: float, unit: str) -> str:
    """So much of a household measure as a person says it.

    >>> in_words(3, "apple"), in_words(0.5, "cup"), in_words(120, "g")
    ('3 apples', 'half a cup', '120 g')
    """
    from service.domain.messages import message
    from service.reference.messages import say

    return say(message("food-amount.itself", quantity=quantity, unit=unit))


def bounds(finding: Reply) -> str:
    """The bounds of a finding in short, with their unit."""
    low, high, unit = finding["at_least"], finding["at_most"], finding["unit"]
    if low is None and high is None:
        return ""
    if low is not None and high is not None:
        return f"{amount(low)} to {amount(high)} {unit}"
    if low is not None:
        return f"{'more than' if finding['exclusive'] else 'at least'} {amount(low)} {unit}"
    return f"{'under' if finding['exclusive'] else 'at most'} {amount(high)} {unit}"


def measured(finding: Reply, value: float | None) -> str:
    """An amount that a finding judges, with its unit, rounded as its sentence rounds it: never to a bound it misses.

    >>> measured({"at_least": 550.0, "at_most": 650.0, "unit": "kcal"}, 549.8)
    '549.8 kcal'
    """
    from service.domain.lunch.findings import number

    if value is None:
        return "-"
    low, high = finding["at_least"], finding["at_most"]
    against = low if low is not None and value < low else high
    return f"{number(value, finding['unit'], against)} {finding['unit']}"


def came_to(finding: Reply, *, exact: bool) -> str:
    """What it came to; where there is no upper end, or that leaves the answer open, from the least to the most it can be."""

    def shown(value: float | None) -> str:
        return amount(value, 6) if exact else measured(finding, value)

    low, high = finding["amount_low"], finding["amount_high"]
    if low == high or (finding["status"] != "unknown" and high is not None):
        return shown(finding["amount"])
    return f"at least {shown(low)}" if high is None else f"{shown(low)} to {shown(high)}"


def explain_units(out: "Console", findings: list[Reply]) -> None:
    """What "oz eq" is, where a table has it."""
    if any(one["unit"] == "oz eq" for one in findings):
        out.print("oz eq: ounce equivalents. One is a slice of bread, or an ounce (28 g) of meat or cheese.")


def show_notes(out: "Console", reply: Reply) -> None:
    """What else is to be known: the notes, then the cautions, one a line."""
    if reply["notes"]:
        out.print()
    for note in reply["notes"]:
        out.print(note)
    show_cautions(out, reply["cautions"])


def show_cautions(out: "Console", cautions: list[str]) -> None:
    """The cautions, one a line."""
    out.print()
    for caution in cautions:
        out.print(f"* {caution}")


def cited(row: Reply) -> str:
    """Source and status of a rule."""
    return f"{row['source']} [{row['source_status'].replace('_', ' ')}]"
