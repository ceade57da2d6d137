"""What the school's meals of some weeks mean for the children who must not have something."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from service.jobs.allergens.avoidances import avoidances_of
from service.jobs.allergens.screen_family import screen_family
from service.jobs.household.days.school_days import school_days_between
from service.jobs.household.requests import KeptChild, KeptSchoolDay
from service.jobs.requests.people import Setting
from service.jobs.requests.screenings import ScreenedChild, ScreenedItem, ScreeningRequest
from service.jobs.weeks.days import menu_label
from service.jobs.weeks.requests import Menu
from service.store.household.kinds import CHILD
from service.store.household.records import Connection, page

MOST_CHILDREN = 100
Meal = tuple[date, Menu, Sequence[str]]
"""A meal, its day, and the ids of the children who are to buy it."""


def meals_for_children(connection: Connection, household: UUID, first: date, weeks: int = 2) -> list[dict[str, Any]]:
    """A row for each child that must not have something and each stored meal from a Monday on, by child and day.

    ``outcome``: the worst of what was found, as a screening grades it (``not_declared`` where nothing was), with the
    allergens it was found for in ``allergens``; ``not_for``: it must not have the meal; ``buys``: it is to buy it. What a
    school or class bans from packed lunches plays no part here: the kitchen that cooks is the school's own.
    """
    return meals_of_days(
        connection, household, school_days_between(connection, household, first, first + timedelta(days=7 * weeks - 1))
    )


def meals_of_days(connection: Connection, household: UUID, days: Sequence[KeptSchoolDay]) -> list[dict[str, Any]]:
    """The same rows for the meals of some school days."""
    records = {str(one.id): one.body for one in page(connection, CHILD, household, None, MOST_CHILDREN)}
    children = {kept_id: KeptChild.model_validate(body) for kept_id, body in records.items()}
    return meal_rows(children, [(one.date, one.menu, one.buys) for one in days if one.menu is not None])


def meal_rows(children: Mapping[str, KeptChild], meals: Sequence[Meal]) -> list[dict[str, Any]]:
    """A row for each child that must not have something and each meal; ``children`` by their ids. As ``meals_for_children``."""
    careful = {kept_id: child for kept_id, child in children.items() if child.avoids}
    if not meals or not careful:
        return []
    screened = screen_family(
        ScreeningRequest(
            children=[ScreenedChild(nickname=one.nickname, avoids=one.avoids) for one in careful.values()],
            items=[ScreenedItem(name=menu.name, food=menu_label(menu)) for _day, menu, _buys in meals],
        )
    )
    by_nickname = {child.nickname: kept_id for kept_id, child in careful.items()}
    rows = [_row(one, by_nickname[one["nickname"]], *meals[one["place"]]) for one in screened["rows"]]
    order = list(careful)
    return sorted(rows, key=lambda row: (order.index(row["child"]), row["date"]))


def avoided_by_children(connection: Connection, household: UUID) -> list[str]:
    """Ids of the allergens that some child of the household must not have."""
    children = page(connection, CHILD, household, None, MOST_CHILDREN)
    avoided = (avoidances_of(KeptChild.model_validate(one.body), Setting()) for one in children)
    return sorted({one.allergen for some in avoided for one in some})


def _row(screened: dict[str, Any], child: str, day: date, menu: Menu, buys: Sequence[str]) -> dict[str, Any]:
    away = [one for one in screened["findings"] if one["do_not_pack"]]
    worst = away or [one for one in screened["findings"] if one["outcome"] == screened["outcome"]]
    return {
        "child": child,
        "nickname": screened["nickname"],
        "date": day.isoformat(),
        "meal": menu.name,
        "outcome": worst[0]["outcome"] if worst else "not_declared",
        "allergens": list(dict.fromkeys(one["allergen"].replace("_", " ") for one in worst)),
        "not_for": bool(away),
        "buys": child in buys,
    }
