"""What today's page shows."""

from dataclasses import dataclass
from typing import Any

from service.jobs.household.packets.packet_reading import name_of_allergen
from service.jobs.household.retention.purging import Held
from service.web.bought.view import meaning_of
from service.web.care.held import HeldView, held_view
from service.web.forms.form import sentences_of
from service.web.language.chosen import text, translated
from service.web.stock.view import said_of, tonight_of


@dataclass(frozen=True)
class ChildToday:
    """One child's row.

    ``state``: ``packed``, ``bought``, ``none``, ``buys`` or ``nothing_yet``; ``kind``: how it is marked; ``what``: what it
    took, or the school's meal. ``dangers``: foods of it that must not be packed by what is known now, each with allergens;
    ``unread``: foods whose labels are still to be read. ``meal``: what the meal that it buys means where it has something to
    avoid (``meaning_of`` of the page of bought lunches), and ``meal_of``: for which allergens.
    """

    id: str
    nickname: str
    state: str
    kind: str
    what: str
    dangers: list[tuple[list[str], list[str]]]
    unread: list[str]
    meal: str | None
    meal_of: list[str]


@dataclass(frozen=True)
class PacketToRead:
    """A packet to read: the food, its name, for whom."""

    food: str
    name: str
    who: list[str]


@dataclass(frozen=True)
class TodayView:
    """The context of ``today/today.html``. ``cut``: sentences; ``offer``: name of what is set out, or empty, ``offer_id``: its id.

    ``no_lunch``: for whom there is no lunch in it; ``cannot_tell``: for whom that cannot be told: id, nickname, sentences; ``reading_helps``: whether packets are still to be read for one of them.

    ``stock``: sentences on what there is too little of, what to use up, to throw away and to take out of the freezer.
    ``next_day``: on a day without school the next one with; ``cut``, ``to_read`` and ``offer`` are that day's, and no child is
    listed. ``plans``: what the plans have for today, each the id of the plan and a sentence. ``held``: what is not removed since the
    computer's date looks wrong.
    """

    date: str
    is_today: bool
    children: list[ChildToday]
    offer: str
    offer_id: str
    no_lunch: list[str]
    cannot_tell: list[tuple[str, str, list[str]]]
    reading_helps: bool
    cut: list[str]
    to_read: list[PacketToRead]
    stock: list[str]
    plans: list[tuple[str, str]]
    next_day: str | None = None
    held: HeldView | None = None


KINDS = {"packed": "fine", "bought": "fine", "buys": "fine", "none": "open", "nothing_yet": "open"}


def today_view(
    day: dict[str, Any],
    stock: dict[str, Any],
    few: list[dict[str, Any]],
    plans: dict[str, Any],
    language: str,
    *,
    is_today: bool,
    ahead: dict[str, Any] | None = None,
    held: Held | None = None,
) -> TodayView:
    """The page from the jobs' replies (``family_day``, ``stock`` and ``plan.of_day`` of ``jobs.household``).

    ``ahead``: the next day with school, where there is none on the day.
    """
    prepared = day if ahead is None else ahead
    return TodayView(
        date=day["date"],
        is_today=is_today,
        children=[_child(one, day["menu"], language) for one in day["children"]] if ahead is None else [],
        offer="" if prepared["offer"] is None else prepared["offer"]["name"],
        offer_id="" if prepared["offer"] is None else prepared["offer"]["id"],
        no_lunch=prepared["to_do"]["no_lunch"],
        cannot_tell=[
            (one["id"], one["nickname"], sentences_of(one["fault"])) for one in prepared["to_do"]["cannot_tell"]
        ],
        reading_helps=any(
            child["nickname"] in prepared["to_do"]["no_lunch"]
            for row in prepared["to_do"]["to_read"]
            for child in row["children"]
        ),
        cut=[row["sentence"] for row in prepared["to_do"]["cut_for"]],
        to_read=[
            PacketToRead(row["food"], row["name"], [child["nickname"] for child in row["children"]])
            for row in prepared["to_do"]["to_read"]
        ],
        stock=[
            *said_of(few, language),
            *said_of(stock["over"], language),
            *said_of(stock["use_up"], language),
            *tonight_of(stock, language),
        ],
        plans=_plans(plans, {one["food"] for one in stock["tonight"]}, language),
        next_day=None if ahead is None else ahead["date"],
        held=None if held is None else held_view(held),
    )


def _plans(plans: dict[str, Any], moved: set[str], language: str) -> list[tuple[str, str]]:
    """What is made today, and what is moved tonight beside what the stock says already."""
    made = [
        (one["id"], text("plans.today-prep", language, batches=one["batches"], dishes=one["dishes"]))
        for one in plans["prep"]
    ]
    return made + [(one["id"], one["sentence"]) for one in plans["tonight"] if one["food"] not in moved]


def _child(one: dict[str, Any], school_menu: dict[str, Any] | None, language: str) -> ChildToday:
    menu = one.get("menu") or (school_menu if one["state"] == "buys" else None)
    what = ", ".join(one["took"]) or ("" if menu is None else menu["name"])
    kind = "stop" if one.get("verdict") == "do_not_pack" else "mind" if one.get("verdict") == "check_label" else ""
    meal = None
    if one["state"] in ("buys", "bought") and one["careful"]:
        meal = meaning_of(one["meal"])
        kind = {"not_for": "stop", "clear_of_declared": "fine"}.get(meal, "mind")
    return ChildToday(
        one["id"],
        one["nickname"],
        one["state"],
        kind or KINDS[one["state"]],
        what,
        [
            (list(row["names"]), [translated(name_of_allergen(each), language) for each in row["allergens"]])
            for row in one.get("dangers", [])
        ],
        one.get("unread", []),
        meal,
        []
        if meal is None or one["meal"] is None
        else [translated(each, language) for each in one["meal"]["allergens"]],
    )
