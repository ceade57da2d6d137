"""The demo: one school morning of an invented family, checked on the real tables."""

from pathlib import Path
from typing import Any

import orjson
import typer
from rich.text import Text

from service.cli.show import VERDICT_WORDS, console, finish, show_cautions, show_check, show_screening
from service.jobs.check_lunch import check_lunch
from service.jobs.requests import LunchCheckRequest, ScreenedChild, ScreenedItem, ScreeningRequest
from service.jobs.screen_family import screen_family

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
