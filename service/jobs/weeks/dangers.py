"""What must not be packed next week: each such food is named before any change for the figures.

Where only its form is wrong, and guidance gives another, it is cut that way. Else it goes: it is left out on the days
that have something beside it; where it is the whole lunch, another food takes its place.
"""

from collections.abc import Mapping, Sequence
from itertools import islice
from typing import Any, NamedTuple

from service.domain.allergens.screening import screen_food
from service.domain.foods.amounts import Portion
from service.domain.foods.food import Food
from service.domain.lunch.changing.changes import LunchChange, Move, Moves, cutting, leaving_out
from service.domain.lunch.handling import choking_finding
from service.jobs.lunch.changes import swaps
from service.jobs.lunch.may_have import MayHave
from service.jobs.weeks.changes import NextWeek, Use, uses_of, week_change_row
from service.jobs.weeks.days import SchoolWeek
from service.reference.allergens.vocabulary import vocabulary
from service.reference.foods.suggesting import suggesting
from service.reference.lunch.handling import handling_rules


class Danger(NamedTuple):
    """A food that must not be packed as it was, on the days on which it has to go, and why: ``allergen:milk``, a choking rule."""

    use: Use
    moves: Moves
    cuts: tuple[tuple[Move, Portion], ...]
    """The other days, on which another form is enough, each with the food in that form."""
    why: tuple[str, ...]
    labels: tuple[str, ...]


def dangers_of(week: SchoolWeek, may_have: MayHave, edited: Mapping[str, Food]) -> list[Danger]:
    """The packed foods that this child must not have, as they were or as they are now: an allergen at its threshold, or
    a choking form.
    """
    found: list[Danger] = []
    for use in uses_of(week.days, edited):
        allergens = {
            f"allergen:{one.allergen}": one.allergen
            for one in may_have.avoidances
            if any(screen_food(vocabulary(), food, one).do_not_pack for food in use.known_as)
        }
        why, moves, cuts = dict(allergens), [], []
        for move, item in zip(use.moves, use.items, strict=True):
            choking = choking_finding(handling_rules(), use.food, item.form, may_have.age_months, may_have.regions)
            choked = choking is not None and choking.status == "do_not_pack"
            if choking is not None and choked:
                why[choking.id] = use.food.name
            into = None if allergens else may_have.cut_another_way(use.food, item)
            if into is not None:
                cuts.append((move, into))
            elif allergens or choked:
                moves.append(move)
        if moves or cuts:
            found.append(Danger(use, tuple(moves), tuple(cuts), tuple(why), tuple(why.values())))
    return found


def danger_changes(make: NextWeek) -> list[dict[str, Any]]:
    """One published row for each food that must not be packed (more where its days differ)."""
    week = make.week
    found = dangers_of(week, make.may_have, make.edited)
    dangerous = {(move.day, move.item) for one in found for move in one.moves}
    left = [
        sum((place, item) not in dangerous for item in range(len(day.items))) for place, day in enumerate(week.days)
    ]
    days = [day.on for day in week.days]
    return [
        week_change_row(change, days, make, change.fixes_beside, dict(zip(danger.why, danger.labels, strict=True)), 0)
        for danger in found
        for change in _ways_out(danger, left, make)
    ]


def _ways_out(danger: Danger, left: Sequence[int], make: NextWeek) -> list[LunchChange]:
    """Cut another way where that is enough; left out where something in order stays beside it, else another food: what
    stands in for it first.
    """
    food, why = danger.use.food, danger.why
    alike: dict[Portion, list[Move]] = {}
    for move, into in danger.cuts:
        alike.setdefault(into, []).append(move)
    beside = tuple(move for move in danger.moves if left[move.day])
    alone = tuple(move for move in danger.moves if not left[move.day])
    ways = [cutting(tuple(moves), into, why) for into, moves in alike.items()]
    if beside:
        ways.append(leaving_out(food, beside, 0, why))
    if alone:
        instead = suggesting().stand_ins(food, [make.at_hand, *make.once_read]) or make.at_hand
        ways += islice(swaps(food, alone, 0, instead, None, why, any_kind=True), 1)
    return ways
