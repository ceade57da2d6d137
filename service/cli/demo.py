"""The demo: one school morning of an invented family, checked on the real tables."""

from pathlib import Path
from typing import Any

import orjson
import typer
from rich.text import Text

from service.cli.show import VERDICT_WORDS, console, finish, show_cautions, show_check, show_screening
from service.jobs.allergens.screen_family import screen_family
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests import LunchCheckRequest, ScreenedChild, ScreenedItem, ScreeningRequest

FAMILY = Path(__file__).with_name("demo_family.json")


def demo_requests() -> list[LunchCheckRequest]:
    """The family's lunches, as requests."""
    return [LunchCheckRequest.model_validate(one) for one in orjson.loads(FAMILY.read_bytes())["checks"]]


def demo_screening(checks: list[LunchCheckRequest]) -> ScreeningRequest:
    """All three children against all three lunches: what if two boxes are mixed up?"""
    return ScreeningRequest(
        children=[ScreenedChild(nickname=one.child.nickname or "", avoids=one.child.avoids) for one in checks],
        items=[ScreenedItem(name=f"{one.child.nickname}'s lunch", lunch=one.lunch.items) for one in checks],
    )


def run_demo(as_json: bool) -> None:
    """Check each child's lunch, then screen all lunches for all children."""
    checks = demo_requests()
    replies = [check_lunch(one) for one in checks]
    screening = screen_family(demo_screening(checks))
    if as_json:
        finish({"checks": replies, "screening": screening}, True, lambda *_: None, 0)
    out = console()
    out.print(Text("One school morning of an invented family, checked on the real tables", style="bold"))
    for reply in replies:
        line = f"  {reply['nickname']}: {VERDICT_WORDS[reply['verdict']]}. {reply['summary']}"
        out.print(line)
    for reply in replies:
        out.rule(f"{reply['nickname']}", align="left", characters="-")
        show_check(out, _without_cautions(reply))
    out.rule("Allergens: every child against every lunch, in case two boxes are mixed up", align="left", characters="-")
    show_screening(out, _without_cautions(screening))
    show_cautions(out, list(dict.fromkeys(line for reply in replies for line in reply["cautions"])))
    raise typer.Exit(0)


def _without_cautions(reply: dict[str, Any]) -> dict[str, Any]:
    """The demo says the cautions once, at its end."""
    return {**reply, "cautions": []}


def keep_demo(as_json: bool) -> None:
    """Keep four weeks of the demo family in the store, and say how to look at them."""
    from service.cli.care import opened_store, say
    from service.jobs.household.demo import WEEKS, keep_demo_household
    from service.jobs.household.households import today
    from service.settings import settings

    with opened_store() as store:
        kept = keep_demo_household(store, today())
    week = "{}-W{:02}".format(*kept.first_monday.isocalendar()[:2])
    nickname, child = next(iter(kept.children.items()))
    service = f"http://{settings().host}:{settings().port}"
    reply = {
        "household": str(kept.household),
        "key": kept.key,
        "weeks": WEEKS,
        "first_week": week,
        "children": {name: str(one) for name, one in kept.children.items()},
        "lunches": len(kept.lunches),
    }
    lines = (
        f"{len(kept.lunches)} lunches of {len(kept.children)} invented children are kept, {WEEKS} weeks from {week} on.",
        f"Access key of this family, shown this once: {kept.key}",
        "To look at them, start 'packed-lunch serve' and ask, for example:",
        f"  curl -H 'Authorization: Bearer {kept.key}' {service}/v1/lunches",
        f"  curl -H 'Authorization: Bearer {kept.key}' {service}/v1/children/{child}/weeks/{week}   # {nickname}'s week",
        f"To take them out again: packed-lunch household remove {kept.household} --yes",
    )
    say(reply, as_json, *lines)
