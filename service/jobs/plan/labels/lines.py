"""What stands on a label: dish, whom it is not for, what it contains, dates, and how it is thawed and heated."""

from collections.abc import Iterator
from typing import NamedTuple

from service.domain.foods.food import UNREAD, AllergenProfile, Food
from service.domain.messages import message
from service.domain.plan.label_text import Line
from service.jobs.foods.resolve import amount_of
from service.jobs.plan.kitchen.resolve import Kitchen, spoken_of
from service.jobs.plan.labels.requests import LabelAsked
from service.jobs.plan.pdf_fonts import plain
from service.reference.allergens.vocabulary import vocabulary
from service.reference.messages import say
from service.reference.plan.cooling import reheating

NAME, LARGE, SMALL = 13.0, 11.0, 9.0
"""Points; our choice."""


class Contained(NamedTuple):
    """Names of allergens that a food contains, may contain, and whether something about it is still to be read."""

    contains: tuple[str, ...]
    may_contain: tuple[str, ...]
    unread: bool


def contained(food: Food) -> Contained:
    """What is known to be in a food, in a dish from all of its parts."""
    levels: dict[str, set[str]] = {}
    others: set[str] = set()

    def look(profile: AllergenProfile) -> None:
        others.add(profile.others.level)
        for allergen, one in profile.named.items():
            levels.setdefault(allergen, set()).add("may_contain" if one.warned else one.level)
            levels[allergen].add(one.level)
        for part in profile.parts:
            look(part)

    look(food.allergens)
    known = vocabulary().allergens
    contains = sorted(known[one].name for one, seen in levels.items() if "contains" in seen)
    may = sorted(known[one].name for one, seen in levels.items() if "may_contain" in seen and "contains" not in seen)
    unread = bool((others | {one for seen in levels.values() for one in seen}) & UNREAD)
    return Contained(tuple(contains), tuple(may), unread)


def label_lines(asked: LabelAsked, food: Food, kitchen: Kitchen, regions: list[str]) -> list[Line]:
    """The lines of a label from top to bottom. Only the name and the portion may be shortened; raises as ``amount_of``."""
    return [one._replace(text=plain(one.text)) for one in _lines(asked, food, kitchen, regions)]


def _lines(asked: LabelAsked, food: Food, kitchen: Kitchen, regions: list[str]) -> Iterator[Line]:
    yield Line(asked.name or food.name, NAME, bold=True, whole=False)
    spoken = list(spoken_of(food, kitchen.eaters))
    forbidden = [one.eater.name for one in spoken if one.forbidden]
    unread = [one.eater.name for one in spoken if not one.forbidden]
    if forbidden:
        yield Line(say(message("label.not-for", names=forbidden)), LARGE, bold=True)
    if unread:
        yield Line(say(message("label.read-first", names=unread)), LARGE, bold=True)
    found = contained(food)
    if found.contains:
        yield Line(say(message("label.contains", allergens=list(found.contains))), SMALL)
    if found.may_contain:
        yield Line(say(message("label.may-contain", allergens=list(found.may_contain))), SMALL)
    if found.unread:
        yield Line(say(message("label.unread")), SMALL)
    if asked.use_by is not None:
        yield Line(say(message("label.use-by", on=asked.use_by.isoformat())), LARGE, bold=True)
    yield Line(say(message("label.made", on=asked.made.isoformat())), SMALL)
    amount_mg, unit = amount_of(food, asked.quantity, asked.unit)
    grams = round(amount_mg / 1000)
    if unit == "g":
        yield Line(say(message("label.portion-grams", grams=grams)), SMALL, whole=False)
    else:
        yield Line(say(message("label.portion", number=asked.quantity, unit=unit, grams=grams)), SMALL, whole=False)
    if asked.thaw_hours is not None:
        yield Line(say(message("label.thaw", hours=asked.thaw_hours)), SMALL)
    if asked.reheat:
        for one in reheating([part.handling.storage for part in (food, *food.made_of)], regions):
            yield Line(say(message("prep.figure", said=one.sentence)), SMALL)
