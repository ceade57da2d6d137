"""An offer laid out as branches that never overlap, so that counts over an offer are sums over its branches.

A branch is a product of option lists: one option is taken from each list, an option being the items taken from one choice group
(or from one of several that stand in for each other).
"""

from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import combinations, combinations_with_replacement
from math import prod
from typing import NamedTuple

from service.domain.offers.offer import ChoiceGroup, Offer, Take, WithRule, sets_of_rules, takes_of

MOST_PARTS = 1_000
"""Parts into which foods that stand in several groups may divide an offer; a limit of ours."""
Key = tuple[str, str]
"""Group id and item key."""
Alike = Mapping[Key, int]
"""Which food an item is credited as, by a number, for each item whose food another group has too."""
NONE_ALIKE: Alike = {}


class Option(NamedTuple):
    """One way to take from a slot: the group used and the item keys taken (repeats allowed), sorted.

    ``beside``: what the earlier slots of its branch take of the same foods, which are credited together with it.
    """

    group: str
    items: tuple[str, ...]
    beside: tuple[Key, ...] = ()

    def keyed(self) -> list[Key]:
        """Its items by group and key."""
        return [(self.group, item) for item in self.items]


@dataclass(frozen=True, slots=True, eq=False)
class Branch:
    """A product of option lists; a combination takes one option of each."""

    lists: tuple[tuple[Option, ...], ...]

    @property
    def size(self) -> int:
        """How many combinations it holds."""
        return prod(len(options) for options in self.lists)


def options_of(group: ChoiceGroup, take: Take | None = None) -> tuple[Option, ...]:
    """All ways to take from a group, in a fixed order: fewer items first, then by the group's order.

    ``take``: left out: the group's own.
    """
    take = take or group.take
    choose = combinations_with_replacement if take.repeats else combinations
    return tuple(
        Option(group.id, tuple(sorted(taken)))
        for size in range(take.at_least, take.at_most + 1)
        for taken in choose(group.items, size)
    )


Options = tuple[Option, ...]


class KnownLists:
    """Option lists laid out already, by all that they hang on: offers that differ in a group or two share them.

    The offers have the same foods in several groups (``alike``): which of them a list has is remembered too.
    """

    def __init__(self) -> None:
        self._lists: dict[Hashable, Options] = {}
        self._foods: dict[int, tuple[Options, frozenset[int]]] = {}

    def laid(self, key: Hashable, made: Callable[[], Options]) -> Options:
        """A list of options, laid out once."""
        if key not in self._lists:
            self._lists[key] = made()
        return self._lists[key]

    def foods_in(self, options: Options, alike: Alike) -> frozenset[int]:
        """The foods of a list that several groups have."""
        known = self._foods.get(id(options))
        if known is None:
            known = self._foods[id(options)] = options, _foods_in(options, alike)
        return known[1]


def branches(offer: Offer, known: KnownLists | None = None, alike: Alike = NONE_ALIKE) -> list[Branch]:
    """The offer as branches that never overlap; one only where no rule stands between groups, and they share no food.

    A combination calls up a set of rules by its items, and must take as many from each group as these
    rules say. So each set of rules gives a branch: the combinations that call up just this set.

    A food that several groups have is credited once for all of them: so there is a branch for each way to take of it
    from the groups before the last.

    ``known``: lists laid out before, which are used again and added to; for offers that differ in a group or two.
    ``alike``: the foods that several groups have.

    Source: ours. The sizes of the branches add up to the number of lunches of the offer.

    >>> main = ChoiceGroup("main", ("wrap", "soup"), Take(1, 1))
    >>> fruit = ChoiceGroup("fruit", ("apple", "pear"), Take(1, 1))
    >>> [one.size for one in branches(Offer((main, fruit)))]
    [4]
    >>> soup_is_enough = WithRule("main", "soup", "fruit", Take(0, 0))
    >>> [one.size for one in branches(Offer((main, fruit), (), (soup_is_enough,)))]  # wrap with either; soup alone
    [2, 1]
    """
    known = KnownLists() if known is None else known
    by_id = {group.id: group for group in offer.groups}
    slots = [tuple(by_id[group_id] for group_id in slot) for slot in offer.slots()]
    found: list[Branch] = []
    for called in sets_of_rules(offer):
        takes = takes_of(called)
        lists = []
        for slot in slots:
            ids = [group.id for group in slot]
            rules = tuple(rule for rule in offer.rules if rule.group in ids)
            here = frozenset(rule for rule in called if rule.group in ids)
            # All that the options hang on: offers that differ in one group share the lists of the others.
            key = (slot, rules, here, tuple(takes.get(group_id) for group_id in ids))
            lists.append(known.laid(key, partial(_slot_options, slot, rules, here, takes)))
        # An empty list: no combination calls up just these rules.
        if all(lists):
            found += (Branch(some) for some in _credited_once(lists, alike, known))
    return found


def parts_by_shared_foods(offer: Offer, alike: Alike) -> int:
    """Into how many parts the foods that several groups have divide the offer, at the most."""
    number = 1
    for lists in [branch.lists for branch in branches(offer)] if alike else []:
        foods = [_foods_in(options, alike) for options in lists]
        ways = 1
        for place, options in enumerate(lists):
            later = frozenset[int]().union(*foods[place + 1 :])
            ways *= len({_remembered(option, alike, later) for option in options})
        number = max(number, ways)
    return number


def _credited_once(
    lists: Sequence[Options], alike: Alike, known: KnownLists, taken: tuple[Key, ...] = ()
) -> Iterator[tuple[Options, ...]]:
    """Lists in parts: in each part every option knows what the lists before it take of its foods (``taken``)."""
    foods = [known.foods_in(one, alike) for one in lists] if alike else []
    if not taken and sum(map(len, foods)) == len(frozenset[int]().union(*foods)):
        yield tuple(lists)  # no two of them have a food in common
        return
    if not lists:
        yield ()
        return
    options, *others = lists
    beside = tuple(key for key in taken if alike[key] in foods[0])
    here = options
    if beside:
        here = known.laid(
            ("beside", id(options), beside), lambda: tuple(_beside(one, beside, alike) for one in options)
        )
    later = frozenset[int]().union(*foods[1:])
    parts: dict[tuple[Key, ...], list[Option]] = {}
    for option in here:
        parts.setdefault(_remembered(option, alike, later), []).append(option)
    for more, some in parts.items():
        part = here
        if len(parts) > 1:
            # Which options remember the same hangs on the foods that later lists have, too.
            part = known.laid(("part", id(here), more, foods[0] & later), partial(tuple, some))
        for rest in _credited_once(others, alike, known, tuple(sorted((*taken, *more)))):
            yield (part, *rest)


def _foods_in(options: Sequence[Option], alike: Alike) -> frozenset[int]:
    return frozenset(alike[key] for option in options for key in option.keyed() if key in alike)


def _beside(option: Option, taken: Sequence[Key], alike: Alike) -> Option:
    foods = _foods_in([option], alike)
    return option._replace(beside=tuple(key for key in taken if alike[key] in foods))


def _remembered(option: Option, alike: Alike, later: frozenset[int]) -> tuple[Key, ...]:
    """What an option takes of the foods that later lists have too."""
    return tuple(key for key in option.keyed() if alike.get(key) in later)


def _slot_options(
    slot: tuple[ChoiceGroup, ...],
    rules: tuple[WithRule, ...],
    called: frozenset[WithRule],
    takes: Mapping[str, Take],
) -> tuple[Option, ...]:
    """The options of a slot that call up just those of the rules that start in it."""
    options: list[Option] = []
    for group in slot:
        ways = options_of(group, takes.get(group.id))
        if not rules:
            options += ways
        elif all(rule.group == group.id for rule in called):
            of_group = [(rule.item, rule in called) for rule in rules if rule.group == group.id]
            options += [one for one in ways if all((item in one.items) == calls for item, calls in of_group)]
    # To take nothing from one of several groups is the same lunch as to take nothing from another.
    nothing = [one for one in options if not one.items]
    return tuple(one for one in options if one.items or one is nothing[0])
