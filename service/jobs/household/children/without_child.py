"""What is stored of plans without a child that is removed: deleted is deleted.

A plan stays for the other children, whose places move up. One that was for this child alone goes.
"""

from collections.abc import Sequence
from typing import TypeVar
from uuid import UUID

from service.jobs.household.requests import KeptPlan
from service.jobs.offers.requests import ChildPortion, OfferedItem
from service.jobs.plan.requests import NotThere
from service.jobs.plan.weeks.requests import Buying, DecidedDay, LunchOf, PlanDecisions, PlanOffer
from service.jobs.weeks.requests import MealPriceAsked
from service.store.household import kinds
from service.store.household.plans import hold_plans
from service.store.household.records import Connection, remove, replace
from service.store.kept_replies import forget_replies_naming

OfChild = TypeVar("OfChild", NotThere, Buying, LunchOf)


def forget_in_plans(connection: Connection, household: UUID, child: UUID, nickname: str) -> None:
    """No plan holds the child any more, nor the reply with which one was made: that names it by its nickname alone."""
    for record in hold_plans(connection, household):
        forget_replies_naming(connection, household, [record.id])
        plan = KeptPlan.model_validate(record.body, strict=False)
        left = plan_without(plan, {str(child), nickname})
        if left is None:
            remove(connection, kinds.PLAN, household, record.id)
        elif left is not plan:
            body = left.model_dump(mode="json", by_alias=True)
            replace(connection, kinds.PLAN, household, record.id, record.version, body, {"name": left.name})


def plan_without(plan: KeptPlan, gone: set[str]) -> KeptPlan | None:
    """A plan without a child; the same where it does not name it, None where it is for nobody else.

    ``gone``: what the child goes by: its id, and its nickname where it was sent in full.
    """
    asked = plan.asked
    names = [one if isinstance(one, str) else one.nickname or "" for one in asked.children]
    stay = [place for place, name in enumerate(names) if name not in gone]
    if not stay:
        return None
    if len(stay) == len(names):
        return plan
    places = {old: new for new, old in enumerate(stay)}
    by_place = {f"child {old + 1}": f"child {new + 1}" for old, new in places.items() if not names[old]}
    still_asked = asked.model_copy(
        update={
            "children": [asked.children[place] for place in stay],
            "not_there": _of(places, asked.not_there),
            "buying": _of(places, asked.buying),
            "school_meal": [_at_place(places, one) for one in asked.school_meal if one.child in (None, *places)],
            "offers": [_offer_without(one, gone, by_place) for one in asked.offers],
            "before": None if asked.before is None else _decided(places, asked.before),
        }
    )
    return plan.model_copy(update={"asked": still_asked, "decisions": _decided(places, plan.decisions)})


def _of(places: dict[int, int], rows: Sequence[OfChild]) -> list[OfChild]:
    """The rows of the children that stay, at their new places."""
    return [one.model_copy(update={"child": places[one.child]}) for one in rows if one.child in places]


def _at_place(places: dict[int, int], one: MealPriceAsked) -> MealPriceAsked:
    return one if one.child is None else one.model_copy(update={"child": places[one.child]})


def _decided(places: dict[int, int], decisions: PlanDecisions) -> PlanDecisions:
    def without(day: DecidedDay) -> DecidedDay:
        buyers = [places[one] for one in day.buyers if one in places]
        return day.model_copy(update={"lunches": _of(places, day.lunches), "buyers": buyers})

    return decisions.model_copy(update={"days": [without(day) for day in decisions.days]})


def _offer_without(one: PlanOffer, gone: set[str], by_place: dict[str, str]) -> PlanOffer:
    """An offer without the child's own amounts; ``by_place``: the new names of children that go by their place."""
    if isinstance(one.offer, str):
        return one  # a stored offer: it forgets the child itself

    def without(item: OfferedItem) -> OfferedItem:
        stay = [portion for portion in item.portions if portion.child not in gone]
        portions = [ChildPortion(child=by_place.get(it.child, it.child), quantity=it.quantity) for it in stay]
        return item.model_copy(update={"portions": portions})

    groups = [group.model_copy(update={"items": [without(item) for item in group.items]}) for group in one.offer.groups]
    return one.model_copy(update={"offer": one.offer.model_copy(update={"groups": groups})})
