"""Makes the days of a week ready: what was packed, what of it was eaten, and what it counts as.

A bought lunch counts by its menu's figures or its items; without either it is shown apart.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from fractions import Fraction

from service.domain.errors import BadInput, Faults, LunchError, at
from service.domain.foods.amounts import NOTHING, beside_each, credit_option, item_vector, sum_of, with_credits_open
from service.domain.foods.food import Food
from service.domain.foods.packets import Packet, Packets, packets_on
from service.domain.measures import MILK_SATURATED
from service.domain.messages import message
from service.domain.weeks.days import WeekDay, WeekOfDays
from service.domain.weeks.frequency import CountedItem
from service.jobs.foods.from_label import food_of_label
from service.jobs.foods.packets import packets_at_hand, resolve_packets
from service.jobs.lunch.items import PreparedItem, prepare_as_asked
from service.jobs.requests.foods import LabelFood, Serving
from service.jobs.weeks.items import counted_items, counted_menu
from service.jobs.weeks.prices import priced_item
from service.jobs.weeks.requests import MOST_WEEKS, Menu, WeekDayAsked, WeekRequest, monday_of, week_of
from service.reference.lunch.standards import crediting_scheme

MENU_MG = 100_000
"""A menu's figures are those of the whole lunch; its weight is not known and plays no part."""


@dataclass(frozen=True, slots=True, eq=False)
class DayOfWeek(WeekDay):
    """A day with what the reply shows of it. ``eaten_mg``: of each item what was eaten; ``packets``: that held on the day."""

    asked: WeekDayAsked
    items: tuple[PreparedItem, ...]
    eaten_mg: tuple[int, ...]
    menu: Food | None
    packets: Packets

    @property
    def foods(self) -> list[Food]:
        """The foods of its items and its menu, in the order of ``eaten``."""
        return [item.food for item in self.items] + ([] if self.menu is None else [self.menu])

    @property
    def foods_eaten(self) -> list[Food]:
        """Those of its foods of which something was eaten."""
        some = [item.food for item, eaten in zip(self.items, self.eaten_mg, strict=True) if eaten]
        return some + ([] if self.menu is None else [self.menu])

    @property
    def eaten_less(self) -> bool:
        """Whether something came back."""
        return any(eaten < item.amount_mg for item, eaten in zip(self.items, self.eaten_mg, strict=True))


SchoolWeek = WeekOfDays[DayOfWeek]


def school_weeks(asked: WeekRequest, crediting: str, age_group: str) -> list[SchoolWeek]:
    """The weeks with a day in the request, oldest first; the week asked for is the last.

    Raises ``BadInput`` for a day that appears twice, lies after the week or too far before it, or is not a school day.
    """
    monday, sunday = asked.first_day(), asked.last_day()
    faults = Faults()
    seen: set[date] = set()
    earliest = monday - timedelta(weeks=MOST_WEEKS - 1)
    for place, day in enumerate(asked.days):
        where = ("days", place, "date")
        shown = day.date.isoformat()
        if day.date in seen:
            faults.add(BadInput(field=where, value=shown, problem=message("fault.day-twice")))
        seen.add(day.date)
        if not earliest <= day.date <= sunday:
            faults.add(
                BadInput(
                    field=where,
                    value=shown,
                    problem=message(
                        "fault.outside-weeks",
                        week=asked.week,
                        weeks=MOST_WEEKS - 1,
                        first=earliest.isoformat(),
                        last=sunday.isoformat(),
                    ),
                )
            )
    packets: list[Packet] = []
    with faults.at("packets"):
        packets = resolve_packets(asked.packets)
    for fault in _school_day_faults(asked, monday, sunday):
        faults.add(fault)
    faults.raise_all()
    made: dict[str, list[DayOfWeek]] = {}
    for place, day in enumerate(asked.days):
        with faults.at("days", place):
            known = _packets_of(day, packets, asked.salts_cooking_water)
            made.setdefault(week_of(day.date), []).append(_day(day, crediting, age_group, known))
    faults.raise_all()
    made.setdefault(asked.week, [])
    return [_week(week, days, asked.school_days if week == asked.week else None) for week, days in sorted(made.items())]


def day_alone(asked: WeekDayAsked, packets: Sequence[Packet], salted_water: bool | None) -> DayOfWeek:
    """One day for its nutrients, under no standard: nothing is credited.

    ``packets``, ``salted_water``: what is stored, for a day that does not say its own. Raises what its items raise.
    """
    return _day(asked, "", "", _packets_of(asked, packets, salted_water))


def _packets_of(day: WeekDayAsked, packets: Sequence[Packet], salted_water: bool | None) -> Packets:
    """The packets that hold on a day: its own where it has some, else those of the request or the household."""
    salted = salted_water if day.salts_cooking_water is None else day.salts_cooking_water
    if day.packets is None:
        return packets_on(packets, day.date, bool(salted))
    with at("packets"):
        return packets_at_hand(day.packets, day.date, salted)


def _school_day_faults(asked: WeekRequest, monday: date, sunday: date) -> list[LunchError]:
    if asked.school_days is None:
        return []
    named = set(asked.school_days)
    faults: list[LunchError] = [
        BadInput(
            field=("school_days", place),
            value=on.isoformat(),
            problem=message("fault.outside-week", week=asked.week, first=monday.isoformat(), last=sunday.isoformat()),
        )
        for place, on in enumerate(asked.school_days)
        if not monday <= on <= sunday
    ]
    faults += [
        BadInput(
            field=("days", place, "date"),
            value=day.date.isoformat(),
            problem=message("fault.no-school-day"),
        )
        for place, day in enumerate(asked.days)
        if monday <= day.date <= sunday and day.kind != "none" and day.date not in named
    ]
    return faults


def _week(week: str, days: Sequence[DayOfWeek], named: Sequence[date] | None) -> SchoolWeek:
    monday = monday_of(week)
    school = set(named) if named is not None else {monday + timedelta(days=place) for place in range(5)}
    school |= {day.on for day in days if day.kind != "none"}
    school -= {day.on for day in days if day.kind == "none"}
    ordered = tuple(sorted(days, key=lambda day: day.on))
    return SchoolWeek(week, monday, tuple(sorted(school)), ordered)


def _day(day: WeekDayAsked, crediting: str, age_group: str, packets: Packets) -> DayOfWeek:
    """One day; faults have their place within the day."""
    scheme = crediting_scheme(crediting)
    with at("items"):
        items = tuple(prepare_as_asked(day.items, crediting, packets))
    came_back = {one.item: Fraction(str(one.share)) for one in day.uneaten}
    eaten = tuple(
        round(item.amount_mg * (1 - came_back[place])) if place in came_back else item.amount_mg
        for place, item in enumerate(items)
    )
    beside = beside_each([(item.food, item.option, left) for item, left in zip(items, eaten, strict=True)])
    vectors = tuple(
        item_vector(item.food, left, scheme, item.option, before) if left else NOTHING
        for item, left, before in zip(items, eaten, beside, strict=True)
    )
    menu = None if day.menu is None else menu_food(day.menu)
    figures = day.menu is not None and _has_figures(day.menu)
    if menu is not None and figures:
        bought = item_vector(menu, MENU_MG, scheme, credit_option(menu, None))
        vectors += (bought if scheme is None or menu.credits_known else with_credits_open(bought),)
    counted: tuple[CountedItem, ...] | None = None
    if items or day.menu is not None:
        counted = counted_menu(day.menu) if day.menu is not None else counted_items(day.items, items, eaten, age_group)
    vector = sum_of(vectors) if items or figures else None  # a name alone gives no figures
    sweet = [item.food.discretionary and left > 0 for item, left in zip(items, eaten, strict=True)]
    others = [one for one, is_sweet in zip(vectors, sweet, strict=False) if not is_sweet] + [*vectors[len(items) :]]
    core = sum_of(others) if any(sweet) else None
    packed = tuple(priced_item(sent.food, one.food, one.amount_mg) for sent, one in zip(day.items, items, strict=True))
    return DayOfWeek(day.date, day.kind, vectors, vector, core, counted, packed, day, items, eaten, menu, packets)


def _has_figures(menu: Menu) -> bool:
    """Whether a menu gives any figure; a name alone, or figures sent as null, are none."""
    return any(figure is not None for _name, figure in menu.facts) or bool(menu.credits)


def menu_food(menu: Menu) -> Food:
    """A bought lunch as a food: its figures are exact, what is not given is unknown.

    Of the saturated fat any part may be that of milk, unless its credits say that no milk was in it.
    """
    label = menu_label(menu).model_copy(update={"facts": menu.facts, "credits": menu.credits})
    with at("menu"):
        food = food_of_label(label, weighed=False)
    if menu.credits is not None and all(one.component != "fluid_milk" for one in menu.credits):
        return food
    nutrients = list(food.nutrients)
    nutrients[MILK_SATURATED] = None
    return replace(food, nutrients=tuple(nutrients))


def menu_label(menu: Menu) -> LabelFood:
    """What a menu says of allergens, as the label of a food."""
    return LabelFood(
        name=menu.name,
        serving=Serving(grams=MENU_MG / 1000),
        facts_rounded=False,
        contains=menu.contains,
        may_contain=menu.may_contain,
        allergens=menu.allergens,
    )
