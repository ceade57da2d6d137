"""A lunch as it is being taken, item by item: what may still be taken, what is still missing, and whether it is whole."""

from collections import Counter
from collections.abc import Sequence
from functools import lru_cache
from typing import Literal, NamedTuple

from service.domain.offers.branches import Branch, Option
from service.domain.offers.offer import Offer

Key = tuple[str, str]
"""An item: the id of its group and its key there."""

WhyNot = Literal["enough", "other_group", "rule"]
"""Why an item cannot be taken now: as many of its group are taken as may be; another group stands in for its own; or
what is taken from another group calls for another number here."""


class StillToTake(NamedTuple):
    """What is missing from groups that stand in for each other, or from one alone: so many at the least, and at the most."""

    groups: tuple[str, ...]
    at_least: int
    at_most: int


class Standing(NamedTuple):
    """How far a lunch is.

    ``taken``: what is taken, in the order it was taken. ``next``: items that may be taken besides. ``why_not``: of the
    others, why not. ``still``: what is missing, in the order of the groups; groups of which nothing more is needed or
    possible are left out. ``whole``: what is taken is a lunch that the offer allows.
    """

    taken: tuple[Key, ...]
    next: frozenset[Key]
    why_not: dict[Key, WhyNot]
    still: tuple[StillToTake, ...]
    whole: bool


def standing(offer: Offer, laid_out: Sequence[Branch], taken: Sequence[Key]) -> Standing:
    """How far a lunch is of which some items are taken. ``laid_out``: the offer's branches.

    Items that no lunch of the offer holds together with those taken before them are dropped, so what is taken is
    always part of a lunch that can be finished.

    >>> from service.domain.offers.branches import branches
    >>> from service.domain.offers.offer import ChoiceGroup, Take
    >>> offer = Offer((ChoiceGroup("fruit", ("apple", "pear"), Take(1, 1)), ChoiceGroup("drink", ("milk",), Take(1, 1))))
    >>> found = standing(offer, branches(offer), [("fruit", "apple")])
    >>> sorted(found.next), found.still, found.whole
    ([('drink', 'milk')], (StillToTake(groups=('drink',), at_least=1, at_most=1),), False)
    """
    slots = offer.slots()
    slot_of = _slot_of(offer)
    kept = _together(taken, slot_of, laid_out)
    ways = _ways(kept, slot_of, laid_out)
    following = _following(ways, kept, slot_of)
    every = [(group.id, item) for group in offer.groups for item in group.items]
    why_not = {key: _why_not(key, kept, slot_of, laid_out) for key in every if key not in following}
    return Standing(tuple(kept), following, why_not, _still(slots, ways, kept, slot_of), _is_whole(ways, kept, slot_of))


def after_tap(offer: Offer, laid_out: Sequence[Branch], taken: Sequence[Key], tapped: Key) -> list[Key]:
    """What is taken after a tap on an item; what cannot be taken together is dropped first, as in `standing`.

    What may be taken again is; what may not is put back. Where one of a group is taken, the tapped one takes its place.

    >>> from service.domain.offers.branches import branches
    >>> from service.domain.offers.offer import ChoiceGroup, Take
    >>> offer = Offer((ChoiceGroup("fruit", ("apple", "pear"), Take(1, 1)),))
    >>> after_tap(offer, branches(offer), [("fruit", "apple")], ("fruit", "pear"))
    [('fruit', 'pear')]
    """
    slot_of = _slot_of(offer)
    kept = _together(taken, slot_of, laid_out)
    if tapped in kept and tapped not in _following(_ways(kept, slot_of, laid_out), kept, slot_of):
        return [key for key in kept if key != tapped]
    group = next((one for one in offer.groups if one.id == tapped[0]), None)
    if group is not None and group.take.at_most == 1:
        return [*(key for key in kept if key[0] != tapped[0]), tapped]
    return [*kept, tapped]


def without_one(taken: Sequence[Key], key: Key) -> list[Key]:
    """What is taken, with one item of a key put back: the one taken last."""
    left = list(taken)
    for place in reversed(range(len(left))):
        if left[place] == key:
            del left[place]
            break
    return left


def _slot_of(offer: Offer) -> dict[str, int]:
    return {group: place for place, slot in enumerate(offer.slots()) for group in slot}


def _together(taken: Sequence[Key], slot_of: dict[str, int], laid_out: Sequence[Branch]) -> list[Key]:
    """What is taken, without the items that no lunch holds together with those before them."""
    kept: list[Key] = []
    for key in taken:
        if key[0] in slot_of and _ways([*kept, key], slot_of, laid_out):
            kept.append(key)
    return kept


Ways = list[list[Sequence[Option]]]
"""Of each branch that what is taken is part of: for each slot the options that hold what is taken from it."""


def _ways(taken: Sequence[Key], slot_of: dict[str, int], laid_out: Sequence[Branch]) -> Ways:
    wanted = _by_slot(taken, slot_of)
    found: Ways = []
    for branch in laid_out:
        lists: list[Sequence[Option]] = [
            [one for one in options if wanted[place] <= _keys(one)] if place in wanted else options
            for place, options in enumerate(branch.lists)
        ]
        if all(lists):
            found.append(lists)
    return found


def _following(ways: Ways, taken: Sequence[Key], slot_of: dict[str, int]) -> frozenset[Key]:
    """What the options hold besides what is taken."""
    have = _by_slot(taken, slot_of)
    found: set[Key] = set()
    for lists in ways:
        for place, options in enumerate(lists):
            for option in options:
                found.update(_keys(option) - have.get(place, Counter()))
    return frozenset(found)


@lru_cache(maxsize=4096)
def _keys(option: Option) -> Counter[Key]:
    return Counter((option.group, item) for item in option.items)


def _by_slot(taken: Sequence[Key], slot_of: dict[str, int]) -> dict[int, Counter[Key]]:
    wanted: dict[int, Counter[Key]] = {}
    for key in taken:
        wanted.setdefault(slot_of[key[0]], Counter())[key] += 1
    return wanted


def _still(
    slots: Sequence[tuple[str, ...]], ways: Ways, taken: Sequence[Key], slot_of: dict[str, int]
) -> tuple[StillToTake, ...]:
    """What is missing in the branch that is finished with the fewest items."""
    if not ways:
        return ()
    have = Counter(slot_of[group] for group, _item in taken)
    needs = [
        [[len(option.items) - have[place] for option in options] for place, options in enumerate(lists)]
        for lists in ways
    ]
    shortest = min(needs, key=lambda lists: sum(min(numbers) for numbers in lists))
    found = []
    for place, slot in enumerate(slots):
        at_most = max(max(lists[place]) for lists in needs)
        if at_most:
            found.append(StillToTake(slot, min(shortest[place]), at_most))
    return tuple(found)


def _is_whole(ways: Ways, taken: Sequence[Key], slot_of: dict[str, int]) -> bool:
    have = Counter(slot_of[group] for group, _item in taken)
    return any(
        all(any(len(option.items) == have[place] for option in options) for place, options in enumerate(lists))
        for lists in ways
    )


def _why_not(key: Key, taken: Sequence[Key], slot_of: dict[str, int], laid_out: Sequence[Branch]) -> WhyNot:
    """Seen from its own slot alone, unless another group's item stands in the way."""
    place = slot_of[key[0]]
    own = [one for one in taken if slot_of[one[0]] == place]
    if any(group != key[0] for group, _item in own):
        return "other_group"
    wanted = Counter([*own, key])
    in_some_lunch = any(wanted <= _keys(option) for branch in laid_out for option in branch.lists[place])
    return "rule" if in_some_lunch else "enough"
