"""``packed-lunch demo``: one school morning of an invented family, checked on the real tables.

Without options it prints what a parent needs on one screen; ``--all`` prints every figure.
"""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from service.cli.check import show_check
from service.cli.screen import show_screening
from service.cli.terminal.faults import report_faults
from service.cli.terminal.printing import VERDICT_WORDS, AsJson, Reply, finish, say, score_words, show_cautions

if TYPE_CHECKING:
    from rich.console import Console

    from service.jobs.requests.lunches import LunchCheckRequest
    from service.jobs.requests.screenings import ScreeningRequest

FAMILY = Path(__file__).with_name("demo_family.json")
TITLE = "One school morning of an invented family, checked on real food data"
NEXT = """See every figure and every other change: packed-lunch demo --all
Check your own lunch, in a file (see README): packed-lunch check lunch.json
Find foods for it: packed-lunch foods WORDS
Open the pages, with four weeks of this family: packed-lunch serve --demo
"""


def demo(
    everything: Annotated[bool, typer.Option("--all", help="Print every figure, item and change.")] = False,
    keep: Annotated[
        bool, typer.Option("--keep", help="Keep four weeks of the demo family in the store instead.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Check the lunches of an invented family, and screen each lunch for all three children."""
    with report_faults(as_json):
        if keep:
            keep_demo(as_json)
        finish(demo_reply(), as_json, show_all if everything else show_short, 0)


def demo_reply() -> Reply:
    """A check of each child's lunch, and a screening of all lunches for all children: what if two boxes are mixed up?"""
    from service.jobs.allergens.screen_family import screen_family
    from service.jobs.lunch.check_lunch import check_lunch

    checks = demo_requests()
    return {"checks": [check_lunch(one) for one in checks], "screening": screen_family(demo_screening(checks))}


def demo_requests() -> "list[LunchCheckRequest]":
    """The family's lunches, as requests."""
    import orjson

    from service.jobs.requests.lunches import LunchCheckRequest

    return [LunchCheckRequest.model_validate(one) for one in orjson.loads(FAMILY.read_bytes())["checks"]]


def demo_screening(checks: "list[LunchCheckRequest]") -> "ScreeningRequest":
    """All three children against all three lunches."""
    from service.jobs.requests.screenings import ScreenedChild, ScreenedItem, ScreeningRequest

    return ScreeningRequest(
        children=[ScreenedChild(nickname=one.child.nickname or "", avoids=one.child.avoids) for one in checks],
        items=[ScreenedItem(name=f"{one.child.nickname}'s lunch", lunch=one.lunch.items) for one in checks],
    )


def show_short(out: "Console", reply: Reply) -> None:
    """For each child the verdict, why, and what to change; what to read; what to do next."""
    out.print(TITLE, style="bold")
    for one in reply["checks"]:
        out.print()
        out.print(f"{one['nickname']}: {VERDICT_WORDS[one['verdict']]}{score_words(one)}", style="bold")
        out.print(one["summary"])
        for change in _enough(one["changes"]):
            out.print(f"Change: {change['sentence']}")
    to_read: dict[tuple[str, str], list[str]] = {}
    for row in reply["screening"]["rows"]:
        for found in row["findings"]:
            if found["outcome"] in ("check_label", "label_not_seen"):
                to_read.setdefault((row["nickname"], found["allergen"]), []).append(found["name"])
    if to_read:
        out.print()
        for (who, allergen), names in to_read.items():
            foods = "; ".join(dict.fromkeys(names))
            out.print(f"For {who}, who avoids {allergen}, in case boxes are mixed up, read the labels of: {foods}")
    _show_all_cautions(out, reply)
    out.print()
    out.print("Next", style="bold")
    out.print(NEXT.rstrip())


def _enough(changes: list[Reply]) -> list[Reply]:
    """The first change for each thing that a change can fix; the others are other ways to the same."""
    fixed: set[str] = set()
    chosen = []
    for change in changes:
        if not fixed.issuperset(change["mends"]):
            chosen.append(change)
            fixed.update(change["mends"])
    return chosen


def show_all(out: "Console", reply: Reply) -> None:
    """Each check and the screening as their own commands print them; the cautions once, at the end."""
    out.print(TITLE, style="bold")
    for one in reply["checks"]:
        out.print(f"  {one['nickname']}: {VERDICT_WORDS[one['verdict']]}. {one['summary']}")
    for one in reply["checks"]:
        out.rule(f"{one['nickname']}", align="left", characters="-")
        show_check(out, {**one, "cautions": []})
    out.rule("Allergens: every child against every lunch, in case two boxes are mixed up", align="left", characters="-")
    show_screening(out, {**reply["screening"], "cautions": []})
    _show_all_cautions(out, reply)


def _show_all_cautions(out: "Console", reply: Reply) -> None:
    show_cautions(out, list(dict.fromkeys(line for one in reply["checks"] for line in one["cautions"])))


def keep_demo(as_json: bool) -> None:
    """Keep four weeks of the demo family in the store, and say how to look at them."""
    from service.cli.household.care import opened_store
    from service.jobs.household.access.households import today
    from service.jobs.household.demo import WEEKS, keep_demo_household
    from service.settings import settings

    with opened_store() as store:
        kept = keep_demo_household(store, today())
    week = "{}-W{:02}".format(*kept.first_monday.isocalendar()[:2])
    nickname, child = next(iter(kept.children.items()))
    service = f"http://{settings().host}:{settings().port}"
    reply = {
        "household": str(kept.household),
        "key": kept.key,
        "reading_key": kept.reading_key,
        "weeks": WEEKS,
        "first_week": week,
        "children": {name: str(one) for name, one in kept.children.items()},
        "lunches": len(kept.lunches),
    }
    lines = (
        f"{len(kept.lunches)} lunches of {len(kept.children)} invented children are kept, {WEEKS} weeks from {week} on.",
        f"Access key of this family, shown this once: {kept.key}",
        f"Another that may only read: {kept.reading_key}",
        f"To try out every example of the API: start 'packed-lunch serve' and give the key at {service}/docs.",
        "To look at them, ask for example:",
        f"  curl -H 'Authorization: Bearer {kept.key}' {service}/v1/lunches",
        f"  curl -H 'Authorization: Bearer {kept.key}' {service}/v1/children/{child}/weeks/{week}   # {nickname}'s week",
        f"To remove them again: packed-lunch household remove {kept.household} --yes",
    )
    say(reply, as_json, *lines)
