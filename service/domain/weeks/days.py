"""The days of a school week as the judging sees them: what was eaten, what it counts as, and what is to be priced."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Generic, TypeVar

from service.domain.foods.amounts import ItemVector
from service.domain.weeks.cost import PricedDay, PricedItem
from service.domain.weeks.frequency import CountedItem, FrequencyDay
from service.domain.weeks.week import CountedDay


@dataclass(frozen=True, slots=True, eq=False)
class WeekDay:
    """One day. ``eaten``: the measures of what was eaten, item by item (a menu's come last); ``vector``: their sum,
    None where there are no figures. ``core``: their sum without sweets and snacks, None where there are none of these. ``counted``: what each item counts as, None where nobody said what was eaten.
    ``packed``: the items as packed, eaten or not, for their price.
    """

    on: date
    kind: str
    eaten: tuple[ItemVector, ...]
    vector: ItemVector | None
    core: ItemVector | None
    counted: tuple[CountedItem, ...] | None
    packed: tuple[PricedItem, ...]


Day_co = TypeVar("Day_co", bound=WeekDay, covariant=True)


@dataclass(frozen=True, eq=False)
class WeekOfDays(Generic[Day_co]):
    """One ISO week: its school days in order, the days logged on them, and those without figures."""

    week: str
    monday: date
    school_days: tuple[date, ...]
    days: tuple[Day_co, ...]

    def counted(self) -> list[CountedDay]:
        """The school days with figures."""
        return [CountedDay(day.on, day.vector, day.eaten, day.core) for day in self.days if day.vector is not None]

    def absent(self) -> list[date]:
        """The school days without figures: not logged, or bought without a menu."""
        known = {day.on for day in self.days if day.vector is not None}
        return [on for on in self.school_days if on not in known]

    def missing(self) -> list[date]:
        """The school days nobody logged."""
        logged = {day.on for day in self.days}
        return [on for on in self.school_days if on not in logged]

    def unsaid(self) -> list[date]:
        """The school days of which nobody said what was eaten."""
        said = {day.on for day in self.days if day.counted is not None}
        return [on for on in self.school_days if on not in said]

    def shown_apart(self) -> list[date]:
        """The days with a bought lunch of which no figures are given."""
        return [day.on for day in self.days if day.kind == "bought" and day.vector is None]

    def to_price(self) -> list[PricedDay]:
        """The days with a lunch, for their cost."""
        return [PricedDay(day.on, day.kind, day.packed) for day in self.days if day.kind != "none"]


def school_days_of(week: WeekOfDays[WeekDay]) -> list[FrequencyDay]:
    """The school days of a week with what was eaten on each, None where nobody said."""
    logged = {day.on: day.counted for day in week.days}
    return [FrequencyDay(on, logged.get(on)) for on in week.school_days]


def days_before(weeks: Sequence[WeekOfDays[WeekDay]], monday: date) -> list[FrequencyDay]:
    """The school days of the weeks that began before a Monday."""
    return [day for one in weeks if one.monday < monday for day in school_days_of(one)]
