"""Lunches as rows of a table and as single requests, drawn by hypothesis: what the bulk check is tried on."""

from datetime import timedelta
from typing import Any, NamedTuple

from hypothesis import strategies as st
from pydantic import ValidationError

from service.domain.errors import LunchError
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.lunches import LunchCheckRequest
from service.reference.foods.catalogue import find_food
from service.reference.foods.generic_foods import generic_foods
from service.reference.foods.lunch_foods import lunch_foods
from service.reference.foods.recipes import recipes
from service.reference.lunch.standards import standard, standard_ids, yardstick_ids
from tests.strategies import first_days

Row = dict[str, Any]
Reply = dict[str, Any]

NOT_WHOLLY_KNOWN = [food.id for food in lunch_foods() if None in food.nutrients]
FOOD_IDS = [*lunch_foods().rows(), *recipes()]
GENERIC_IDS = generic_foods().ids()[:: len(generic_foods()) // 60]
AVOIDED = ["peanut", "milk", "tree_nut", "almond", "wheat", "egg", "sesame", "kiwi", "shellfish", "gluten_cereal"]
HOLDING = {
    "insulated": st.booleans(),
    "cold_sources": st.integers(0, 3),
    "minutes_until_eaten": st.integers(0, 400),
    "ambient_c": st.sampled_from([20, 32.3, 35]),
    "flask_preheated": st.booleans(),
    "flask_filled_at_c": st.sampled_from([60, 95]),
}
WRONG: dict[str, list[Any]] = {
    "standard": ["us-school-lunches", ""],
    "on": ["2026-13-01", "1999-01-01", "tomorrow", ""],
    "age_months": [300, 7, -3, 98.5],
    "age_group": ["ages-of-man"],
    "food": ["appel", "", "x" * 200, "app\tle"],
    "quantity": [0, -1, 20_000, 0.0000001, 9_999],
    "unit": ["furlong", "slice of the moon"],
    "form": ["exploded"],
    "credit_as": ["chocolate"],
    "held": ["lukewarm"],
    "avoids": ["penut", "milk:sometimes", "milk;;dairyish"],
    "bans": ["nutss"],
    "ban_threshold": ["maybe"],
    "yardsticks": ["who-free-sugar", "us-school-lunch"],
    "insulated": ["perhaps"],
    "cold_sources": [99, 1.5],
    "ambient_c": [1000],
}
ITEM_FIELDS = ("food", "quantity", "unit", "form", "credit_as", "held")


class Case(NamedTuple):
    """One lunch: its fields but for the items, and its items."""

    fields: Row
    items: list[Row]

    def rows(self, name: str) -> list[Row]:
        """The rows of the table."""
        return [{"lunch": name, **self.fields, **item} for item in self.items]

    def request(self) -> dict[str, Any]:
        """The body of a single check."""
        given = self.fields
        child: dict[str, Any] = {
            name: given[name] for name in ("age_months", "age_years", "age_group") if name in given
        }
        child["avoids"] = [
            dict(zip(("allergen", "threshold"), one.split(":"), strict=False))
            for one in given.get("avoids", "").split(";")
            if one
        ]
        setting: dict[str, Any] = {"bans": [one for one in given.get("bans", "").split(";") if one]}
        if given.get("ban_threshold"):
            setting["ban_threshold"] = given["ban_threshold"]
        return {
            "standard": given["standard"],
            "on": given["on"],
            "child": child,
            "setting": setting,
            "lunch": {"items": self.items, "holding": {name: given[name] for name in HOLDING if name in given}},
            "max_changes": 0,
            "yardsticks": [one for one in given.get("yardsticks", "").split(";") if one],
        }

    def reply(self) -> Reply | None:
        """What the single check answers; None where it refuses."""
        try:
            return check_lunch(LunchCheckRequest.model_validate(self.request()))
        except (LunchError, ValidationError):
            return None


@st.composite
def items(draw: st.DrawFn) -> Row:
    """A food of the tables in an amount."""
    food_id = draw(
        st.one_of(st.sampled_from(FOOD_IDS), st.sampled_from(NOT_WHOLLY_KNOWN), st.sampled_from(GENERIC_IDS))
    )
    food = find_food(food_id)
    assert food is not None
    item: Row = {"food": food_id}
    unit = draw(st.sampled_from([None, "g", *(one.name for one in food.units)]))
    if unit is not None:
        item["unit"] = unit
    if unit == "g":
        item["quantity"] = draw(st.sampled_from([1, 28.35, 30, 113, 250.5]) | st.floats(0.01, 400))
    elif draw(st.booleans()):
        item["quantity"] = draw(st.sampled_from([0.25, 0.5, 1, 1.5, 2]))
    if food.handling.forms and draw(st.booleans()):
        item["form"] = draw(st.sampled_from([*food.handling.forms, "whole", "chopped"]))
    if food.credit_options and draw(st.booleans()):
        item["credit_as"] = draw(st.sampled_from([one.name for one in food.credit_options]))
    if draw(st.integers(0, 3)) == 0:
        item["held"] = draw(st.sampled_from(["cold", "hot", "ambient"]))
    return item


@st.composite
def cases(draw: st.DrawFn) -> Case:
    """A lunch that the single check answers, unless no rows hold for its age group on its day."""
    known = standard(draw(st.sampled_from(standard_ids())))
    group = draw(st.sampled_from(known.age_groups))
    start = draw(st.sampled_from(first_days(known)))
    on = start + timedelta(days=draw(st.sampled_from([0, 0, 1, 100, 400, -1])))
    fields: Row = {"standard": known.id, "on": on.isoformat()}
    months = draw(st.integers(group.from_age_months, group.below_age_months - 1))
    how = draw(st.sampled_from(["months", "years", "group", "both"]))
    if how in ("months", "both"):
        fields["age_months"] = months
    if how == "years":
        fields["age_years"] = months / 12
    if how in ("group", "both"):
        fields["age_group"] = group.id
    avoids = draw(st.lists(st.sampled_from(AVOIDED), max_size=3))
    if avoids:
        fields["avoids"] = ";".join(one + draw(st.sampled_from(["", ":contains", ":may_contain"])) for one in avoids)
    if draw(st.integers(0, 3)) == 0:
        fields["bans"] = ";".join(draw(st.lists(st.sampled_from(AVOIDED), min_size=1, max_size=2)))
        if draw(st.booleans()):
            fields["ban_threshold"] = draw(st.sampled_from(["contains", "may_contain"]))
    if draw(st.booleans()):
        fields["yardsticks"] = ";".join(draw(st.lists(st.sampled_from(yardstick_ids()), unique=True)))
    for name, values in HOLDING.items():
        if draw(st.booleans()):
            fields[name] = draw(values)
    return Case(fields, draw(st.lists(items(), min_size=1, max_size=7)))


@st.composite
def spoilt_cases(draw: st.DrawFn) -> Case:
    """A lunch in which one cell (or none) is wrong."""
    case = draw(cases())
    name = draw(st.sampled_from([*WRONG, None]))
    if name is None:
        return case
    value = draw(st.sampled_from(WRONG[name]))
    if name not in ITEM_FIELDS:
        return Case({**case.fields, name: value}, case.items)
    place = draw(st.integers(0, len(case.items) - 1))
    spoilt = [{**item, name: value} if number == place else item for number, item in enumerate(case.items)]
    return Case(case.fields, spoilt)
