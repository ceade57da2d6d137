"""Makes a week's request ready: its days, the rules of each week, prices, and what the child must avoid.

Every fault is reported with its place, all of them together.
"""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from datetime import date
from typing import NamedTuple

from service.domain.allergens.screening import Avoidance
from service.domain.errors import Faults, OutsideAgeGroups, OutsideDates, Place, at
from service.domain.foods.food import Food
from service.domain.foods.packets import Packets
from service.domain.lunch.age_groups import AgeGroup
from service.domain.lunch.standards import TargetTable
from service.domain.lunch.yardsticks import Yardstick
from service.domain.weeks.cost import PriceBook
from service.domain.weeks.judging import FrequencyRules, Rules, TargetRules
from service.domain.weeks.packed_days import PackedDay, PackedWeek
from service.jobs.allergens.avoidances import avoidances_of
from service.jobs.foods.resolve import food_of
from service.jobs.foods.wishes import Wishes
from service.jobs.lunch.resolve import holding_of
from service.jobs.lunch.targets import age_group_of, age_in_months, target_table
from service.jobs.lunch.yardsticks import yardsticks_for
from service.jobs.requests.foods import LabelFood, Recipe
from service.jobs.requests.people import Child
from service.jobs.weeks.days import SchoolWeek, school_weeks
from service.jobs.weeks.prices import price_book
from service.jobs.weeks.requests import WeekRequest
from service.reference.allergens.vocabulary import vocabulary
from service.reference.lunch.handling import handling_rules
from service.reference.weeks.frequencies import (
    FrequencyStandard,
    check_week_standard,
    frequency_paths,
    frequency_standard,
)
from service.reference.weeks.lengths import DayReference, day_references, week_lengths


class FrequencyGroup(NamedTuple):
    """An age group of a standard of frequencies, and the day whose rows are used."""

    standard: FrequencyStandard
    group: AgeGroup
    on: date


class WeekRules(NamedTuple):
    """By which rules a week is judged: a standard, the child as it was, and whether those for vegetarians are used."""

    standard: str
    child: Child
    vegetarian: bool


class SinceLogged(NamedTuple):
    """What is known of stored lunches beside the request.

    ``by_week``: the rules by which each week is judged; weeks that are not named go by the request's. ``edited``: own
    foods and recipes as they are now, those that were edited after they were packed. ``vegetarian``: the child's wish as it is now.
    """

    by_week: Mapping[str, WeekRules]
    edited: tuple[LabelFood | Recipe, ...]
    vegetarian: bool = False


NOTHING_SINCE = SinceLogged({}, ())


class ResolvedWeek(NamedTuple):
    """A request made ready.

    ``weeks``: oldest first, the one asked for last; ``rules``: those in force in each. ``last_table``: by a standard of
    targets the rows of the last school day; ``frequencies``: by a standard of frequencies which one. ``avoidances``: what
    must be kept away next week; ``avoided_on``: on each day. ``edited``: each own food that was edited after it was
    packed, as it is now.
    """

    weeks: list[SchoolWeek]
    rules: list[Rules | None]
    last_table: TargetTable | None
    frequencies: FrequencyGroup | None
    references: Sequence[DayReference]
    prices: PriceBook | None
    avoidances: list[Avoidance]
    avoided_on: Mapping[date, Sequence[Avoidance]]
    age_months: int
    with_credits: bool
    edited: Sequence[LabelFood | Recipe]
    wishes: Wishes
    yardsticks: Sequence[Yardstick]

    @property
    def week(self) -> SchoolWeek:
        """The week asked for."""
        return self.weeks[-1]

    def edited_with(self, packets: Packets) -> dict[str, Food]:
        """By its id each own food that was edited since, as it is now; ``packets``: that speak of it."""
        foods = [food_of(one, packets) for one in self.edited]
        return {food.id: food for food in foods}


def resolve_week(asked: WeekRequest, since: SinceLogged = NOTHING_SINCE) -> ResolvedWeek:
    """Look up everything the request names; ``LunchError`` (``ManyFaults`` for several) for what does not fit."""
    monday = asked.first_day()  # refuses a week 53 that the year does not have
    on = min(asked.school_days or [monday])
    rules: TargetTable | FrequencyGroup | None = None
    weeks: list[SchoolWeek] = []
    prices: PriceBook | None = None
    avoidances: list[Avoidance] = []
    avoided_on: Mapping[date, Sequence[Avoidance]] = {}
    faults = Faults()
    with faults.at():
        check_week_standard(asked.standard)
        rules = _frequency_group(asked, on) if asked.standard in frequency_paths() else _table(asked, on)
    with faults.at():
        weeks = _weeks(asked, rules)
    with faults.at():
        prices = price_book(asked.prices, asked.school_meal)
    with faults.at():
        avoidances = avoidances_of(asked.child, asked.setting)
    with faults.at():
        avoided_on = _avoided_on(asked, avoidances)
    yardsticks: Sequence[Yardstick] = ()
    if asked.yardsticks and rules is not None:
        group = rules.age_group if isinstance(rules, TargetTable) else rules.group
        with faults.at("yardsticks"):
            yardsticks = yardsticks_for(asked.yardsticks, age_in_months(asked.child, group), on)
    faults.raise_all()
    assert rules is not None  # noqa: S101 - otherwise there was a fault
    if isinstance(rules, TargetTable):
        group, jurisdiction, named = rules.age_group, rules.standard.jurisdiction, None
        in_force, credited = _target_rules(asked, rules, weeks, since), bool(rules.standard.crediting)
        school_days = weeks[-1].school_days
        last_table = _table(asked, school_days[-1] if school_days else weeks[-1].monday)
    else:
        group, jurisdiction, named = rules.group, rules.standard.jurisdiction, rules
        in_force, credited, last_table = _frequency_rules(asked, rules, weeks, since), False, None
    age_months = age_in_months(asked.child, group)
    references = day_references(jurisdiction, age_months, asked.child.sex)
    wishes = Wishes(tuple(asked.dislikes), asked.vegetarian or since.vegetarian, asked.dislikes_in_dishes)
    return ResolvedWeek(
        weeks,
        in_force,
        last_table,
        named,
        references,
        prices,
        avoidances,
        avoided_on,
        age_months,
        credited,
        since.edited,
        wishes,
        yardsticks,
    )


def packed_week(made: ResolvedWeek, regions: Sequence[str]) -> PackedWeek:
    """The foods of the week asked for, with all that judging them needs. ``regions``: whose guidance on handling is used."""
    rules = made.rules[-1]
    days = [
        PackedDay(
            day.on,
            day.items,
            day.foods,
            made.avoided_on[day.on],
            holding_of(day.asked.holding) if day.kind == "packed" else None,
            made.edited_with(day.packets),
        )
        for day in made.week.days
    ]
    return PackedWeek(
        days,
        vocabulary(),
        rules.table if isinstance(rules, TargetRules) else None,
        handling_rules(),
        made.age_months,
        tuple(regions),
    )


def _avoided_on(asked: WeekRequest, avoidances: Sequence[Avoidance]) -> Mapping[date, Sequence[Avoidance]]:
    """What had to be kept away on each day. ``avoidances``: those of the request, for days that do not say otherwise."""
    found: dict[date, Sequence[Avoidance]] = {}
    child_at: Place
    setting_at: Place
    faults = Faults()
    for place, day in enumerate(asked.days):
        found[day.date] = avoidances
        if day.avoids is not None or day.setting is not None:
            child, child_at = asked.child, ("child",)
            if day.avoids is not None:
                child, child_at = child.model_copy(update={"avoids": day.avoids}), ("days", place)
            setting, setting_at = asked.setting, ("setting",)
            if day.setting is not None:
                setting, setting_at = day.setting, ("days", place, "setting")
            with faults.at():
                found[day.date] = avoidances_of(child, setting, child_at, setting_at)
    faults.raise_all()
    return found


def _weeks(asked: WeekRequest, rules: TargetTable | FrequencyGroup | None) -> list[SchoolWeek]:
    """The days made ready; where the standard is not known, credited by none."""
    if isinstance(rules, TargetTable):
        return school_weeks(asked, rules.standard.crediting, "primary")
    return school_weeks(asked, "", "primary" if rules is None else rules.group.id)


def _table(asked: WeekRequest, on: date) -> TargetTable:
    """The rows in force on a day; a day outside them is reported as a fault of the week."""
    return target_table(asked.standard, asked.child, on, on_at=("week",))


def _frequency_group(asked: WeekRequest, on: date) -> FrequencyGroup:
    known = frequency_standard(asked.standard)
    with at("child"):
        group = age_group_of(known, asked.child)
    with at("week"):
        known.in_force(group, on)
    return FrequencyGroup(known, group, on)


def _target_rules(
    asked: WeekRequest, table: TargetTable, weeks: Sequence[SchoolWeek], since: SinceLogged
) -> list[Rules | None]:
    """The rules of each week by its first school day; for the week asked for those of ``table``.

    None for a week whose own standard counts other things: its foods are not credited for it here.
    """
    usual = WeekRules(asked.standard, asked.child, asked.vegetarian)
    found: list[Rules | None] = []
    for week in weeks[:-1]:
        by, child, _vegetarian = since.by_week.get(week.week, usual)
        own: TargetTable | None = None
        if by not in frequency_paths():
            with suppress(OutsideDates, OutsideAgeGroups):
                own = target_table(by, child, week.school_days[0] if week.school_days else week.monday)
        if own is None or own.standard.crediting != table.standard.crediting:
            found.append(None)
        else:
            found.append(TargetRules(own, week_lengths(by)))
    return [*found, TargetRules(table, week_lengths(asked.standard))]


def _frequency_rules(
    asked: WeekRequest, named: FrequencyGroup, weeks: Sequence[SchoolWeek], since: SinceLogged
) -> list[Rules | None]:
    usual = WeekRules(asked.standard, asked.child, asked.vegetarian)
    found: list[Rules | None] = []
    for week in weeks:
        by, child, vegetarian = since.by_week.get(week.week, usual)
        rules: FrequencyRules | None = None
        if by == asked.standard:
            with suppress(OutsideDates, OutsideAgeGroups):
                group, on = age_group_of(named.standard, child), week.monday
                if week is weeks[-1]:
                    group, on = named.group, named.on
                rules = FrequencyRules(named.standard.in_force(group, on), vegetarian)
        found.append(rules)
    return found
