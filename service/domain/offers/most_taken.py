"""How much of some items one lunch of an offer can hold at the most."""

from collections.abc import Mapping, Sequence

from service.domain.offers.branches import Key
from service.domain.offers.offer import ChoiceGroup, Offer, Take, WithRule, sets_of_rules, takes_of


def most_taken(offer: Offer, amounts: Mapping[Key, int]) -> int:
    """The largest sum of amounts that a lunch takes; an item that is taken again counts again. 0 where there is no lunch.

    ``amounts``: whole numbers from 0; items without one count nothing. Source: ours. It is what the lunches of ``branches`` show one by
    one, found without laying them out.

    >>> offer = Offer((ChoiceGroup("fruit", ("apple", "pear"), Take(1, 3, repeats=True)),))
    >>> most_taken(offer, {("fruit", "apple"): 80})
    240
    """
    most = 0
    for called in sets_of_rules(offer):
        takes = takes_of(called)
        of_slots = [
            [
                found
                for group_id in slot
                if (found := _most_of(offer, slot, offer.group(group_id), called, takes, amounts)) is not None
            ]
            for slot in offer.slots()
        ]
        if all(of_slots):
            most = max(most, sum(map(max, of_slots)))
    return most


def most_times(offer: Offer, group_id: str) -> int:
    """How often one item of a group may be in a lunch, by the group and every rule on it.

    >>> most_times(Offer((ChoiceGroup("fruit", ("apple",), Take(1, 3)),)), "fruit")
    1
    """
    takes = [offer.group(group_id).take, *(rule.take for rule in offer.rules if rule.then_group == group_id)]
    return max([1, *(take.at_most for take in takes if take.repeats)])


def _most_of(
    offer: Offer,
    slot: Sequence[str],
    group: ChoiceGroup,
    called: Sequence[WithRule],
    takes: Mapping[str, Take],
    amounts: Mapping[Key, int],
) -> int | None:
    """The largest sum that a group adds where just these rules are called up; None where it cannot be."""
    if any(rule.group in slot and rule.group != group.id for rule in called):
        return None
    take = takes.get(group.id, group.take)
    if take.at_least > take.at_most:  # rules that contradict each other
        return None
    calling = {rule.item for rule in called if rule.group == group.id}
    not_called = {rule.item for rule in offer.rules if rule.group == group.id and rule not in called}
    free = [item for item in group.items if item not in not_called | calling]
    if calling & not_called or len(calling) > take.at_most:
        return None
    fixed = sum(amounts.get((group.id, item), 0) for item in calling)
    again = [*free, *calling] if take.repeats else free
    others = sorted((amounts.get((group.id, item), 0) for item in again), reverse=True)
    room = take.at_most - len(calling)
    if take.repeats:
        can_fill = bool(others)
        others = others[:1] * room
    else:
        can_fill = len(calling) + len(others) >= take.at_least
    return fixed + sum(others[:room]) if can_fill or take.at_least <= len(calling) else None
