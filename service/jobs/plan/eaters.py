"""The children of an offer as eaters: what each may take from a group, how much of it, and on which mornings."""

from collections.abc import Sequence

from service.domain.lunch.check import PreparedItem
from service.domain.offers.branches import Key
from service.domain.offers.offer import ChoiceGroup
from service.domain.plan.portions.enough import Eater
from service.jobs.offers.layout import ChildOffer


def left_for(child: ChildOffer) -> set[Key]:
    """The items that a child may take."""
    return {(group.id, key) for group in child.offer.groups for key in group.items}


def largest_of(children: Sequence[ChildOffer]) -> dict[Key, PreparedItem]:
    """Each item in the largest amount that a child gets which may take it: so many portions of that are enough for all."""
    return {
        key: max(
            (one.items[key] for one in children if key in left_for(one)), key=lambda one: one.amount_mg, default=item
        )
        for key, item in children[0].items.items()
    }


def eater_of(child: ChildOffer, name: str, group: ChoiceGroup, mornings: frozenset[int]) -> Eater:
    """A child as it takes from a group: with rules, the fewest that any rule asks for and the most that any allows."""
    mine = child.offer.group(group.id) if any(one.id == group.id for one in child.offer.groups) else None
    may_take = frozenset(() if mine is None else mine.items)
    takes = [group_of.take for group_of in child.whole.groups if group_of.id == group.id]
    takes += [rule.take for rule in child.whole.rules if rule.then_group == group.id]
    return Eater(
        name,
        may_take,
        mornings,
        max(one.at_least for one in takes),
        max(one.at_most for one in takes),
        any(one.repeats for one in takes),
    )
