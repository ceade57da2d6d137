"""Until when something keeps: the strictest of what is known of it and of what is in it, with the rule that says so.

The figures are those of the storage classes (``reference_data/handling/storage.toml``) and of
``reference_data/stock/keeping.toml``. Guidance, not a promise: no day says that a food does no harm.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, timedelta
from typing import Literal, NamedTuple

from service.domain.foods.food import Food
from service.domain.messages import Message, Value, message

Place = Literal["freezer", "fridge", "cupboard"]
FREEZER: Place = "freezer"
FRIDGE: Place = "fridge"
CUPBOARD: Place = "cupboard"
THAWED = "thawed"
"""What the figures for thawed food have in the place of a place."""


class StorageTime(NamedTuple):
    """How many days something keeps in a place, and who says so.

    ``days``: the lower end where the source prints a range. ``day_one``: the source counts the day of making as day 1,
    so the last day is one earlier; otherwise that day is day 0.
    """

    region: str
    place: str
    days: int
    source: str
    status: str
    day_one: bool = False

    def last_day(self, start: date) -> date:
        """The last day, counted from a first one."""
        return start + timedelta(days=self.days - self.day_one)


class StorageClass(NamedTuple):
    """A class of foods that keep alike."""

    id: str
    title: str
    times: tuple[StorageTime, ...]


class KeepingRules(NamedTuple):
    """All that is known of keeping, for the regions asked for.

    ``classes``: by id; a class that has no figure in a place for any of these regions holds those of the others.
    ``made``: for food that was prepared at home and needs cold. ``thawed``: for food that needs cold, from the day it is
    thawed. ``cut``: class -> the class that its foods keep like once they are cut, as they are in a dish.
    """

    classes: Mapping[str, StorageClass]
    made: tuple[StorageTime, ...]
    thawed: tuple[StorageTime, ...]
    cut: Mapping[str, str]

    def of(self, food: Food, *, prepared: bool = False) -> StorageClass | None:
        """The class of a food; ``prepared``: as it keeps once it is cut."""
        name = food.handling.storage
        return self.classes.get(self.cut.get(name, name) if prepared else name)


class UseBy(NamedTuple):
    """The last day, None where no figure is known, and the rule it follows from.

    ``quality``: the day is about quality only, as all figures for the freezer are.
    """

    day: date | None
    rule: Message
    quality: bool = False


class _Figure(NamedTuple):
    """One figure that speaks of a food, and what it is about."""

    what: Message
    time: StorageTime


def use_by(
    food: Food,
    place: str,
    made_on: date,
    rules: KeepingRules,
    *,
    frozen_on: date | None = None,
    thawed_on: date | None = None,
    thawed_through: date | None = None,
    opened_on: date | None = None,
    printed: date | None = None,
    prepared: bool = False,
) -> UseBy:
    """Until when a food keeps where it is.

    Parameters
    ----------
    made_on: the day it was made or bought.
    frozen_on, thawed_on: the last time; ``thawed_on``, when it was moved to the fridge, is left out while it is frozen.
    thawed_through: the day from which figures for thawed food count; left out: ``thawed_on``.
    opened_on: of a packet. printed: the date on the packet; it holds until the packet is opened or frozen.
    prepared: it was cut or cooked at home, so that whole fruit counts as cut; a dish always is.

    Source: the figure's own, in its rule. A range counts by its lower end; of two rules the earlier day holds. Time in the
    freezer does not count for what is thawed (US Food Code 3-501.18(A)(1), memory).

    >>> from service.reference.foods.catalogue import find_food
    >>> from service.reference.stock.keeping import keeping_rules
    >>> chicken = find_food("chicken-breast-roasted")
    >>> use_by(chicken, "fridge", date(2026, 11, 29), keeping_rules(("US",))).day  # 3 to 4 days
    datetime.date(2026, 12, 2)
    >>> use_by(chicken, "fridge", date(2026, 11, 29), keeping_rules(("US", "GB"))).day  # 2 days
    datetime.date(2026, 12, 1)
    """
    if place == FREEZER:
        return _frozen(food, frozen_on or made_on, rules)
    if printed is not None and frozen_on is not None and frozen_on > printed:
        return UseBy(printed, message("keeping.printed-before-freezing"))
    if printed is not None and opened_on is None and thawed_on is None:
        return UseBy(printed, message("keeping.printed"))
    prepared = prepared or bool(food.made_of)
    cold = _needs_cold(food, rules, prepared=prepared)
    if place == CUPBOARD and cold and (prepared or opened_on or thawed_on):
        return UseBy(None, message("keeping.needs-cold", name=food.name))
    counted = list(_of_classes(food, place, rules, prepared=prepared))
    unknown = prepared and any(without_figure((food, *food.made_of), place, rules))
    if place == FRIDGE and prepared and (cold or unknown):
        counted += [_Figure(message("keeping.of-prepared"), one) for one in rules.made]
    if place == FRIDGE and cold and thawed_on is not None:
        counted += [_Figure(message("keeping.of-thawed"), one) for one in rules.thawed]
    start, used = opened_on or made_on, 0
    if thawed_on is not None:
        start = thawed_on
        used = 0 if frozen_on is None else max(0, (frozen_on - (opened_on or made_on)).days)
    through = thawed_through or start
    candidates = [
        (
            one.time.last_day(through) if one.time.place == THAWED else one.time.last_day(start) - timedelta(days=used),
            one,
        )
        for one in counted
    ]
    if not candidates:
        if printed is not None and thawed_on is None:
            return UseBy(printed, message("keeping.printed"))
        return UseBy(None, _no_figure(food, place))
    day, figure = min(candidates, key=lambda one: (one[0], one[1].time.region, one[1].time.source))
    if printed is not None and thawed_on is None and printed < day:
        return UseBy(printed, message("keeping.printed"))
    since = through if figure.time.place == THAWED else start
    return UseBy(day, _with_unknown(_said(figure, place, since, used, thawed_on), food, place, rules))


def _frozen(food: Food, start: date, rules: KeepingRules) -> UseBy:
    figures = list(_of_classes(food, FREEZER, rules, prepared=False))
    if not figures:
        return UseBy(None, message("keeping.no-figure-freezer", name=food.name), quality=True)
    day, figure = min(
        ((one.time.last_day(start), one) for one in figures), key=lambda one: (one[0], one[1].time.source)
    )
    rule = message(
        "keeping.quality",
        what=figure.what,
        days=figure.time.days,
        start=start.isoformat(),
        region=figure.time.region,
        source=figure.time.source,
    )
    return UseBy(day, _with_unknown(rule, food, FREEZER, rules), quality=True)


def _of_classes(food: Food, place: str, rules: KeepingRules, *, prepared: bool) -> Iterator[_Figure]:
    """Figures of its own class and of the classes of what is in it."""
    own = rules.of(food, prepared=prepared)
    if own is not None:
        what = message("keeping.of-class", title=own.title)
        yield from (_Figure(what, one) for one in _times(own, place))
    for part in food.made_of:
        kept = rules.of(part, prepared=True)
        if kept is not None:
            what = message("keeping.of-part", part=part.name, title=kept.title)
            yield from (_Figure(what, one) for one in _times(kept, place))


def _times(kept: StorageClass, place: str) -> list[StorageTime]:
    """The figures of a class for a place; where there is none for the fridge, what is known of the cupboard holds there too."""
    there = [one for one in kept.times if one.place == place]
    if there or place != FRIDGE:
        return there
    return [one for one in kept.times if one.place == CUPBOARD]


def _needs_cold(food: Food, rules: KeepingRules, *, prepared: bool) -> bool:
    """Whether it needs cold: it is perishable, or nobody knows, or there is cut fruit or vegetable in it."""
    if food.handling.perishable is not False:
        return True
    return prepared and any(one.handling.storage in rules.cut for one in (food, *food.made_of))


def _said(figure: _Figure, place: str, start: date, used: int, thawed_on: date | None) -> Message:
    time = figure.time
    said: dict[str, Value] = {
        "what": figure.what,
        "days": time.days,
        "place": place,
        "start": start.isoformat(),
        "region": time.region,
        "source": time.source,
    }
    if thawed_on is None and time.day_one:
        return message("keeping.days-from-one", **said)
    if thawed_on is None:
        return message("keeping.days", **said)
    if used and time.place != THAWED:
        return message("keeping.thawed-less", **said, used=used)
    return message("keeping.thawed", **said)


def _no_figure(food: Food, place: str) -> Message:
    if food.made_of:
        return message("keeping.no-figure-dish", name=food.name, place=place)
    return message("keeping.no-figure", name=food.name, place=place)


def _with_unknown(rule: Message, food: Food, place: str, rules: KeepingRules) -> Message:
    """The rule, and the names of what is in a dish without a figure of its own."""
    names = sorted(set(without_figure(food.made_of, place, rules)))
    return message("keeping.rest-unknown", rule=rule, names=names) if names else rule


def without_figure(foods: Iterable[Food], place: str, rules: KeepingRules) -> Iterator[str]:
    """The names of the foods of which no figure is known for a place."""
    for food in foods:
        kept = rules.of(food, prepared=True)
        if not food.made_of and (kept is None or not _times(kept, place)):
            yield food.name
