"""How readily each child takes what it may take of a group: as the request says, as its lunches show, or all foods equally."""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from service.domain.messages import Message, message
from service.domain.offers.offer import ChoiceGroup
from service.domain.plan.enough import Eater
from service.domain.plan.learned import learned
from service.domain.plan.usual import Shares
from service.jobs.offers.requests import item_key
from service.jobs.plan.requests import PortionNeedsRequest
from service.jobs.plan.weeks.resolve import food_key_of
from service.jobs.word_lists import KnownTaste
from service.reference.messages import worded


class HowReadily(NamedTuple):
    """One child at one group. ``weights``: by item, against each other; ``lunches``: from how many they were learned."""

    name: str
    how: KnownTaste
    lunches: int
    weights: Mapping[str, float]

    def row(self) -> dict[str, Any]:
        """As the reply shows it: the shares of all items together are 1; none is shown where all are the same."""
        whole = sum(self.weights.values())
        shown = {} if self.how == "equal" else self.weights
        return {
            "name": self.name,
            "how": self.how,
            "lunches": self.lunches,
            "shares": [
                {"item": item, "share": round(weight / whole, 4) if whole else 0.0} for item, weight in shown.items()
            ],
            **worded(self._sentence()),
        }

    def _sentence(self) -> Message:
        if self.how == "learned":
            return message("enough.learned", name=self.name, lunches=self.lunches)
        if self.how == "given":
            return message("enough.as-given", name=self.name)
        return message("enough.all-alike", name=self.name)


def how_readily(asked: PortionNeedsRequest, group: ChoiceGroup, eaters: Sequence[Eater]) -> list[HowReadily]:
    """Each child that has a choice in a group. ``eaters``: the children in their order."""
    food_of = {
        item_key(item.key, item.food): food_key_of(item.food)
        for one in asked.offer.groups
        if one.id == group.id
        for item in one.items
    }
    return [
        _of_child(asked, group, place, eater, {key: food_of[key] for key in group.items if key in eater.may_take})
        for place, eater in enumerate(eaters)
        if len(eater.may_take) > 1
    ]


def _of_child(
    asked: PortionNeedsRequest, group: ChoiceGroup, place: int, eater: Eater, food_of: Mapping[str, str]
) -> HowReadily:
    given = {one.item: one.times for one in asked.liked if one.child == place and one.group == group.id}
    if given:
        return HowReadily(eater.name, "given", 0, {key: given.get(key, 1.0) for key in food_of})
    if asked.taken_before:
        found = learned(frozenset(food_of.values()), asked.taken_before[place])
        if found.lunches:
            weights = {key: found.shares[food] for key, food in food_of.items()}
            return HowReadily(eater.name, "learned", found.lunches, weights)
    return HowReadily(eater.name, "equal", 0, dict.fromkeys(food_of, 1.0))


def shares_of(found: Sequence[HowReadily]) -> Shares:
    """What is known of them, for the count of how often portions are enough; every food of the others is as likely."""
    return {one.name: one.weights for one in found if one.how != "equal"}
