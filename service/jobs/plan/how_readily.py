"""How readily each child takes what it may take of a group: as the request says, as its lunches show, or all foods equally."""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from service.domain.messages import Message, message
from service.domain.plan.portions.enough import Eater
from service.domain.plan.portions.learned import TakenLunch, learned
from service.domain.plan.portions.usual import Shares
from service.jobs.word_lists import KnownTaste
from service.reference.messages import worded

NOTHING_SAID: Mapping[int, Mapping[str, float]] = {}


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


def how_readily(
    eaters: Sequence[Eater],
    food_of: Mapping[str, str],
    taken_before: Sequence[Sequence[TakenLunch]],
    liked: Mapping[int, Mapping[str, float]] = NOTHING_SAID,
) -> list[HowReadily]:
    """Each child that has a choice in a group.

    ``eaters``: the children in their order. ``food_of``: the food of each item of the group. ``taken_before``: for each child
    the lunches that it took from an offer; empty where nothing is to be learned from them. ``liked``: what the request says
    of some items, by place of the child.
    """
    return [
        _of_child(
            eater,
            {key: food for key, food in food_of.items() if key in eater.may_take},
            taken_before[place] if taken_before else (),
            liked.get(place, {}),
        )
        for place, eater in enumerate(eaters)
        if len(eater.may_take) > 1
    ]


def _of_child(
    eater: Eater, food_of: Mapping[str, str], taken_before: Sequence[TakenLunch], given: Mapping[str, float]
) -> HowReadily:
    if given:
        return HowReadily(eater.name, "given", 0, {key: given.get(key, 1.0) for key in food_of})
    found = learned(frozenset(food_of.values()), taken_before)
    if found.lunches:
        return HowReadily(
            eater.name, "learned", found.lunches, {key: found.shares[food] for key, food in food_of.items()}
        )
    return HowReadily(eater.name, "equal", 0, dict.fromkeys(food_of, 1.0))


def shares_of(found: Sequence[HowReadily]) -> Shares:
    """What is known of them, for the count of how often portions are enough; every food of the others is as likely."""
    return {one.name: one.weights for one in found if one.how != "equal"}
