"""Which items of an offer a child must not be given, or does not take, and why."""

from collections.abc import Collection, Mapping, Sequence
from typing import NamedTuple

from service.domain.allergens.screening import OUTCOME_RANK, Avoidance, Screened, screen_food
from service.domain.allergens.vocabulary import AllergenVocabulary
from service.domain.lunch.check import PreparedItem
from service.domain.lunch.handling import HandlingFinding
from service.domain.offers.branches import Key


class LeftOut(NamedTuple):
    """One item left out. ``screened``: allergens that speak against it, the most serious first; ``choking``: its form does.

    ``disliked``: the child does not take it.
    """

    key: Key
    screened: tuple[Screened, ...]
    choking: HandlingFinding | None
    disliked: bool

    @property
    def must_not(self) -> bool:
        """Whether it must not be given, whatever the child likes and whatever a label may say."""
        return any(one.do_not_pack for one in self.screened) or self.choking is not None

    @property
    def read_first(self) -> bool:
        """Whether reading its packet could bring it back."""
        return bool(self.screened) and not self.must_not and not self.disliked


def left_out(
    items: Mapping[Key, PreparedItem],
    avoidances: Sequence[Avoidance],
    disliked: Collection[Key],
    handling: Mapping[Key, Sequence[HandlingFinding]],
    words: AllergenVocabulary,
) -> list[LeftOut]:
    """The items left out, in the order of the offer; so is one whose label is to be read first.

    An item whose label was not seen, in which the allergen is not usual, stays (``label_not_seen``). ``handling``: what
    the rules on forms and holding say of each item.
    """
    found = []
    for key, item in items.items():
        results = [screen_food(words, item.food, avoidance) for avoidance in avoidances]
        against = [one for one in results if one.keeps_out]
        against.sort(key=lambda one: -OUTCOME_RANK[one.outcome])
        choking = next((one for one in handling[key] if one.status == "do_not_pack"), None)
        if against or choking is not None or key in disliked:
            found.append(LeftOut(key, tuple(against), choking, key in disliked))
    return found


def unread(
    items: Mapping[Key, PreparedItem], avoidances: Sequence[Avoidance], words: AllergenVocabulary
) -> dict[Key, tuple[Screened, ...]]:
    """The items whose packet is still to be read, each with what it is to be read for.

    ``items``: those that the child may take.
    """
    found = {}
    for key, item in items.items():
        results = [screen_food(words, item.food, avoidance) for avoidance in avoidances]
        if any(one.unread for one in results):
            found[key] = tuple(one for one in results if one.unread)
    return found
