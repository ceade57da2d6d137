"""What a logged lunch is judged by in its week: the child's standard and age group, the own foods and packets of that day,
and what had to be kept away.

It is stored with the lunch, so that an own food or packet edited later, another standard, a corrected birth month or an
allergy entered later does not move a past week without a word: the week says what differs by now, and the next edit of
the lunch takes it over. The allergens of an own food are the exception: they are always looked for in it as it was and as
it is, both with the packet that held on the day.
"""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any, NamedTuple

from service.domain.messages import Message, message
from service.jobs.household.lunch.found_since import Correction, FoundSince
from service.jobs.household.requests import JudgedBy, KeptChild, KeptLunch, LoggedLunch, OwnFoodThen
from service.jobs.household.stored.child_standard import age_group_on, for_week, week_standard
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.requests.foods import LabelFood, Packet, Recipe
from service.jobs.requests.lunches import LunchItem
from service.jobs.weeks.requests import WeekDayAsked, WeekItem, monday_of, week_of
from service.jobs.weeks.resolve import WeekRules

NOTES_LEFTOVERS = frozenset({"uneaten", "acknowledged"})


def judged_by(
    child: KeptChild,
    asked: LoggedLunch,
    items: Sequence[LunchItem],
    packets: Sequence[Packet],
    salted: bool | None,
) -> JudgedBy:
    """What a lunch logged now is judged by.

    ``items``: its own, with the foods that their ids stand for; ``packets``: those of its foods that hold on its day;
    ``salted``: what the household says of its cooking water.
    """
    foods = {
        sent.food: item.food
        for sent, item in zip(asked.items, items, strict=True)
        if isinstance(sent.food, str) and not isinstance(item.food, str)
    }
    return JudgedBy(
        standard=child.standard,
        age_group=age_group_on(child, child.standard, asked.date),
        vegetarian=child.vegetarian,
        foods=[
            OwnFoodThen(id=kept_id, food=food, ingredient_ids=_ingredient_ids(food)) for kept_id, food in foods.items()
        ],
        salts_cooking_water=salted,
        packets=list(packets),
        avoids=child.avoids,
        setting=child.setting(),
    )


def only_notes_leftovers(asked: LoggedLunch, before: dict[str, Any]) -> bool:
    """Whether an edit says nothing new but what came back: no reason to take over what is stored now."""
    sent = asked.model_dump(mode="json", by_alias=True)
    same = all(before.get(name) == value for name, value in sent.items() if name not in NOTES_LEFTOVERS)
    return same and sent["uneaten"] != before.get("uneaten")


class LoggedDays:
    """The lunches of a child as they were logged, and what is stored otherwise by now.

    ``by_week``: the rules by which each week is judged. ``edited``: own foods and recipes as they
    are now, those that were edited since.
    """

    def __init__(self, kept: KeptThings, child: KeptChild, lunches: Sequence[KeptLunch]) -> None:
        self._kept = kept
        self._child = child
        self._lunches = sorted(lunches, key=lambda one: one.date)
        self.days = [day_as_logged(one) for one in self._lunches]
        self.edited = _edited(kept, self._lunches)
        weeks = dict.fromkeys(week_of(one.date) for one in self._lunches)
        self.by_week = {week: self._rules_of(week) for week in weeks}

    def corrections(self, week: str) -> list[Correction]:
        """What one week says of what is stored otherwise by now."""
        lunches = [one for one in self._lunches if week_of(one.date) == week]
        found = []
        for now in self.edited:
            packed = {one.date: food for one in lunches for food in _foods_then(one) if food.id == now.id}
            dates = tuple(on for on, food in packed.items() if not _same(food, now))
            if dates:
                name = packed[dates[0]].name
                said = message("correction.food", name=name, dates=[on.isoformat() for on in dates])
                found.append(Correction("food", now.id, dates, said, (name,)))
        other = [
            one for one in lunches if _rules_then(one, self._child) not in (None, _rules_now(self._child, one.date))
        ]
        if other:
            rules_then, rules_now = _rules_then(other[0], self._child), _rules_now(self._child, other[0].date)
            assert rules_then is not None  # noqa: S101 - it differs from those of now
            said = message(
                "correction.rules",
                dates=[one.date.isoformat() for one in other],
                standard=_title(rules_then.standard),
                group=_group_title(rules_then),
                standard_now=_title(rules_now.standard),
                group_now=_group_title(rules_now),
            )
            found.append(Correction("rules", None, tuple(one.date for one in other), said))
        since = FoundSince(self._kept, self._child, monday_of(week))
        for one in lunches:
            since.add(one, day_as_logged(one))
        return [*since.dangers(), *found, *since.others()]

    def birthday(self, week: str) -> Message | None:
        """The note for a week within which the child comes into another age group of its standard."""
        usual = self._usual_rules(week)
        if self.by_week.get(week, usual) != usual:
            return None
        first, last = monday_of(week), monday_of(week) + timedelta(days=4)
        before, after = (_rules_now(self._child, on) for on in (first, last))
        if before.age_group is None:
            return message("week-note.old-enough", group=_group_title(before._replace(age_group=usual.child.age_group)))
        if before == after:
            return None
        return message("week-note.birthday", before=_group_title(before), after=_group_title(after))

    def _rules_of(self, week: str) -> WeekRules:
        """The rules that the first lunch of a week was logged under, where they are not those of now."""
        usual = self._usual_rules(week)
        for one in self._lunches:
            then = _rules_then(one, self._child) if week_of(one.date) == week else None
            if then is not None:
                if then == _rules_now(self._child, one.date):
                    break
                child = usual.child.model_copy(update={"age_group": then.age_group})
                return WeekRules(then.standard, child, then.vegetarian)
        return usual

    def _usual_rules(self, week: str) -> WeekRules:
        """The rules of now for a week."""
        child = for_week(self._child, self._child.standard, monday_of(week))
        return WeekRules(self._child.standard, child, self._child.vegetarian)


class Rules(NamedTuple):
    """What a lunch is judged by: ids of a standard and an age group, and whether the rules for vegetarians are used."""

    standard: str
    age_group: str | None
    vegetarian: bool


def _rules_then(lunch: KeptLunch, child: KeptChild) -> Rules | None:
    """What a lunch was logged under; older records say less, and those of bought lunches nothing."""
    if lunch.judged_by is not None:
        return Rules(lunch.judged_by.standard, lunch.judged_by.age_group, lunch.judged_by.vegetarian)
    if lunch.found is None:
        return None
    return Rules(lunch.found.standard, lunch.found.age_group, child.vegetarian)


def _rules_now(child: KeptChild, on: date) -> Rules:
    return Rules(child.standard, age_group_on(child, child.standard, on), child.vegetarian)


def _title(standard_id: str) -> str:
    return str(week_standard(standard_id).title)


def _group_title(rules: Rules) -> Message | str:
    if rules.age_group is None:
        return message("correction.no-group")
    title = str(week_standard(rules.standard).group(rules.age_group).title)
    return message("correction.vegetarian", group=title) if rules.vegetarian else title


def _foods_then(lunch: KeptLunch) -> list[LabelFood | Recipe]:
    return [] if lunch.judged_by is None else [_with_id(one) for one in lunch.judged_by.foods]


def _ingredient_ids(food: LabelFood | Recipe) -> list[str | None]:
    if not isinstance(food, Recipe):
        return []
    return [None if isinstance(one.food, str) else one.food.id for one in food.ingredients]


def _with_id(one: OwnFoodThen) -> LabelFood | Recipe:
    """The food with the ids of the own foods in it, by which its packets are found."""
    food = one.food.model_copy(update={"id": one.id})
    if not isinstance(food, Recipe) or len(one.ingredient_ids) != len(food.ingredients):
        return food
    ingredients = [
        part if isinstance(part.food, str) else part.model_copy(update={"food": _named(part.food, kept_id)})
        for part, kept_id in zip(food.ingredients, one.ingredient_ids, strict=True)
    ]
    return food.model_copy(update={"ingredients": ingredients})


def _named(food: LabelFood, kept_id: str | None) -> LabelFood:
    return food.model_copy(update={"id": kept_id})


def day_as_logged(lunch: KeptLunch) -> WeekDayAsked:
    """A lunch as a day of a week, its own foods and packets as they were, and what had to be kept away then."""
    by = lunch.judged_by
    then = {food.id: food for food in _foods_then(lunch)}
    items: list[WeekItem] = [
        item.model_copy(update={"food": then[item.food]}) if isinstance(item.food, str) and item.food in then else item
        for item in lunch.items
    ]
    return WeekDayAsked(
        date=lunch.date,
        kind=lunch.kind,
        items=items,
        uneaten=lunch.uneaten or [],
        menu=lunch.menu,
        holding=lunch.holding,
        salts_cooking_water=None if by is None else by.salts_cooking_water,
        packets=None if by is None else by.packets,
        avoids=None if by is None else by.avoids,
        setting=None if by is None else by.setting,
    )


def _edited(kept: KeptThings, lunches: Sequence[KeptLunch]) -> list[LabelFood | Recipe]:
    """The own foods and recipes of some lunches that are stored otherwise by now, as they are now."""
    found: dict[str, LabelFood | Recipe] = {}
    for lunch in lunches:
        for then in _foods_then(lunch):
            now = kept.food(str(then.id), "/items")
            if not _same(then, now):
                found[str(then.id)] = now
    return list(found.values())


def _same(then: LabelFood | Recipe, now: LabelFood | Recipe) -> bool:
    return type(then) is type(now) and then.model_dump(mode="json") == now.model_dump(mode="json")
