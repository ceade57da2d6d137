"""What is kept of a child, in words: what its allergens mean, by which rules it is looked at, what goes with it."""

from datetime import date
from typing import Any
from uuid import UUID

from service.domain.allergens.vocabulary import resolve
from service.domain.errors import LunchError, OutsideAgeGroups
from service.jobs.foods.wishes import Named, is_disliked
from service.jobs.household.foods.search import MOST_OWN
from service.jobs.household.requests import KeptChild
from service.jobs.household.stored.dislikes import item_names
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.lunch.targets import age_group_of
from service.reference.allergens.vocabulary import vocabulary
from service.reference.foods.catalogue import packable_foods
from service.reference.lunch.standards import standard, yardstick_ids
from service.reference.weeks.frequencies import frequency_paths, frequency_standard
from service.store.household.kinds import FOOD, LUNCH, RECIPE
from service.store.household.records import Connection, count_naming, page


def child_in_words(child: KeptChild, on: date) -> dict[str, Any]:
    """What is understood of a child on a day.

    ``avoids``: each with the words it was said in, the names of the allergens meant, their members, and whether traces are
    kept away too. ``age_group``: its title in the standard; None where the standard has none for that age.
    """
    over_week = child.standard in frequency_paths()
    known = frequency_standard(child.standard) if over_week else standard(child.standard)
    single = None
    if over_week:
        single = standard(child.lunch_standard or frequency_standard(child.standard).single_lunches).title
    try:
        group = age_group_of(known, child.child_on(on)).title
    except OutsideAgeGroups:
        group = None
    return {
        "avoids": [
            {"words": one.allergen, **meant_by(one.allergen), "traces": one.threshold == "may_contain"}
            for one in child.avoids
        ],
        "bans": [{"words": one, **meant_by(one), "traces": child.ban_threshold == "may_contain"} for one in child.bans],
        "standard": known.title,
        "single_lunches": single,
        "age_group": group,
        "yardsticks": [standard(one).title for one in child.yardsticks],
    }


def meant_by(words: str) -> dict[str, list[str]]:
    """The names of the allergens that words mean, and of what belongs to them; ``UnknownName`` with near names.

    >>> meant_by("lactose intolerance")
    {'means': ['lactose'], 'with': []}
    """
    known = vocabulary()
    ids = resolve(known, words)
    members = {one for allergen in ids for one in known.members_of(allergen)} - set(ids)
    return {"means": allergen_names(ids), "with": allergen_names([one for one in known.allergens if one in members])}


def dislikes_in_words(connection: Connection, household: UUID, child: KeptChild) -> list[dict[str, Any]]:
    """What each dislike leaves out of the child's offers: ``words`` as they are kept, ``foods``: names, own ones first."""
    if not child.dislikes:
        return []
    kept = KeptThings(connection, household)
    known: list[tuple[str, list[Named]]] = []
    for kind in (FOOD, RECIPE):
        records = page(connection, kind, household, None, MOST_OWN)
        kept.know(kind, records)
        known += [(one.body["name"], item_names(kept.food(str(one.id), "/dislikes"), child)) for one in records]
    known += [(food.name, item_names(food.id, child)) for food in packable_foods()]
    return [
        {"words": one, "foods": [name for name, names in known if any(is_disliked([one], each) for each in names)]}
        for one in child.dislikes
    ]


def allergen_names(ids: Any) -> list[str]:
    """The names of allergens by their ids."""
    return [vocabulary().allergens[one].name for one in ids]


def lunches_logged(connection: Connection, household: UUID, child: UUID) -> int:
    """How many lunches of a child are stored; they are removed with it."""
    return count_naming(connection, LUNCH, household, child)


def standards_to_choose(chosen: str = "") -> list[dict[str, Any]]:
    """The standards in force that are no yardsticks, and the one chosen before whatever it is: id, title, ages in years,
    and of one that counts portions over a week the title of the one for single lunches."""
    from service.jobs.lunch.standards import list_standards

    return [
        {
            "id": one["id"],
            "title": one["title"],
            "first_age": min(group["from_age_months"] for group in one["age_groups"]) // 12,
            "last_age": (max(group["below_age_months"] for group in one["age_groups"]) - 1) // 12,
            "single_lunches": standard(frequency_standard(one["id"]).single_lunches).title
            if one["kind"] == "frequencies"
            else None,
        }
        for one in list_standards()["items"]
        if not (one["historical"] or one["yardstick"]) or one["id"] == chosen
    ]


def yardsticks_to_choose() -> list[dict[str, str]]:
    """The yardsticks that a child's lunches can be shown beside: id and title."""
    return [{"id": one, "title": standard(one).title} for one in yardstick_ids()]


def near_allergens(fault: LunchError) -> list[str]:
    """The names of the allergens that a fault's word is near to."""
    known = vocabulary().allergens
    return [known[one].name for one in getattr(fault, "near", ()) if one in known]
