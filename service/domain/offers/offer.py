"""What an offer lets a child take: choice groups, how many of each, alternatives, and "with this, take that".

An offer is laid out as *branches*. A branch is a product of option lists: one option is taken from
each list, an option being the items taken from one choice group (or from one of several that stand in
for each other). Branches never overlap, so counts over an offer are sums over its branches.
"""

from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import combinations, combinations_with_replacement
from math import comb, prod
from typing import NamedTuple

from service.domain.errors import BadInput, Place, UnknownName
from service.domain.messages import Message, message

MOST_OPTIONS = 20_000
"""Options of one choice group (ways to take its items) that are laid out; a limit of ours."""
MOST_LAID_OUT = 400_000
"""Ways to take from a group over all branches of an offer; a limit of ours."""
MOST_RULES = 8
"""Rules between groups in one offer; each doubles the cases, so there is a limit (of ours)."""


MOST_PARTS = 1_000
"""Parts into which foods that stand in several groups may divide an offer; a limit of ours."""

Key = tuple[str, str]
"""Group id and item key."""
Alike = Mapping[Key, int]
"""Which food an item is credited as, by a number, for each item whose food another group has too."""
NONE_ALIKE: Alike = {}


class Take(NamedTuple):
    """How many items are taken from a group, and whether the same item may be taken again."""

    at_least: int
    at_most: int
    repeats: bool = False


@dataclass(frozen=True, slots=True)
class ChoiceGroup:
    """One choice group: its id, the keys of its items, and how many are taken."""

    id: str
    items: tuple[str, ...]
    take: Take


class WithRule(NamedTuple):
    """With one item of a group, so many are taken from another group."""

    group: str
    item: str
    then_group: str
    take: Take


@dataclass(frozen=True, slots=True)
class Offer:
    """Choice groups; ``alternatives``: sets of groups of which exactly one is used; rules between items and groups."""

    groups: tuple[ChoiceGroup, ...]
    alternatives: tuple[tuple[str, ...], ...] = ()
    rules: tuple[WithRule, ...] = ()

    def group(self, group_id: str) -> ChoiceGroup:
        """The group of that id."""
        return next(group for group in self.groups if group.id == group_id)

    def slots(self) -> list[tuple[str, ...]]:
        """Groups that stand alone, and alternatives together, in the order of their first group: a list of a branch each."""
        if not self.alternatives:
            return [(group.id,) for group in self.groups]
        slots: list[tuple[str, ...]] = []
        for group in self.groups:
            together = next((one for one in self.alternatives if group.id in one), (group.id,))
            if together not in slots:
                slots.append(tuple(together))
        return slots


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


def check_offer(offer: Offer) -> None:
    """Refuse an offer that does not hang together, or that is too much work to lay out.

    Raises ``UnknownName`` for a group or item that a rule or an alternative names but the offer lacks,
    ``BadInput`` for doubled ids, a group in two alternatives, a rule onto its own group, or too many ways to take
    from a group, by itself, with a rule, or with all rules together.
    """
    ids = [group.id for group in offer.groups]
    for place, group in enumerate(offer.groups):
        if ids.count(group.id) > 1:
            raise _bad(("groups", place, "id"), group.id, message("fault.group-twice"))
        ways = ways_to_take(len(group.items), group.take)
        if ways > MOST_OPTIONS:
            raise _bad(
                ("groups", place, "take"),
                f"{ways} ways",
                message("fault.too-many-ways", most=MOST_OPTIONS),
            )
    used: set[str] = set()
    for place, together in enumerate(offer.alternatives):
        for group_id in together:
            if group_id not in ids:
                raise UnknownName(
                    field=("alternatives", place), value=group_id, kind=message("kind.group"), known=_known(ids)
                )
            if group_id in used:
                raise _bad(
                    ("alternatives", place),
                    group_id,
                    message("fault.in-two-alternatives"),
                )
            used.add(group_id)
    if len(offer.rules) > MOST_RULES:
        raise _bad("rules", len(offer.rules), message("fault.too-many-rules", most=MOST_RULES))
    for place, rule in enumerate(offer.rules):
        where = ("rules", place)
        for group_id in (rule.group, rule.then_group):
            if group_id not in ids:
                raise UnknownName(field=where, value=group_id, kind=message("kind.group"), known=_known(ids))
        if rule.item not in offer.group(rule.group).items:
            raise UnknownName(
                field=where,
                value=rule.item,
                kind=message("kind.item-of", group=rule.group),
                known=_known(offer.group(rule.group).items),
            )
        if rule.group == rule.then_group or _together(offer, rule.group, rule.then_group):
            raise _bad(
                where,
                rule.then_group,
                message("fault.rule-of-own-group"),
            )
        ways = ways_to_take(len(offer.group(rule.then_group).items), rule.take)
        if ways > MOST_OPTIONS:
            raise _bad(
                (*where, "take"),
                f"{ways} ways",
                message("fault.too-many-ways", most=MOST_OPTIONS),
            )
    laid_out = ways_laid_out(offer)
    if laid_out > MOST_LAID_OUT:
        raise _bad(
            "groups",
            f"{laid_out:,} ways to take from a group",
            message("fault.too-many-ways-together", most=MOST_LAID_OUT),
        )


def ways_laid_out(offer: Offer) -> int:
    """How many ways to take from a group all branches together have, at the most."""
    usual = {group.id: ways_to_take(len(group.items), group.take) for group in offer.groups}
    sizes = {group.id: len(group.items) for group in offer.groups}
    number = 0
    for called in _sets_of_rules(offer):
        takes = {group_id: ways_to_take(sizes[group_id], take) for group_id, take in takes_of(called).items()}
        number += sum((usual | takes).values())
    return number


def _sets_of_rules(offer: Offer) -> Iterator[tuple[WithRule, ...]]:
    """Each set of rules that a lunch may call up; a rule that is given twice is one rule."""
    rules = sorted(set(offer.rules))
    for size in range(len(rules) + 1):
        yield from combinations(rules, size)


def _known(names: Sequence[str]) -> Message:
    return message("help.it-has", names=list(names))


def _bad(field: str | Place, value: object, problem: Message) -> BadInput:
    return BadInput(field=field, value=value, problem=problem)


def _together(offer: Offer, one: str, other: str) -> bool:
    return any(one in together and other in together for together in offer.alternatives)


def ways_to_take(count: int, take: Take) -> int:
    """How many ways there are to take from a group of ``count`` items.

    >>> ways_to_take(4, Take(1, 2))  # 4 single ones and 6 pairs
    10
    >>> ways_to_take(4, Take(2, 2, repeats=True))
    10
    """
    ways = 0
    for taken in range(take.at_least, take.at_most + 1):
        if take.repeats:
            ways += comb(count + taken - 1, taken) if count else int(taken == 0)
        else:
            ways += comb(count, taken)
    return ways


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
    for called in _sets_of_rules(offer):
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
            part = known.laid(("part", id(here), more), partial(tuple, some))
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


def takes_of(called: Sequence[WithRule]) -> dict[str, Take]:
    """How many are taken from the groups that the called rules speak of; of several the narrowest."""
    takes: dict[str, Take] = {}
    for rule in called:
        earlier = takes.get(rule.then_group)
        if earlier is None:
            takes[rule.then_group] = rule.take
        else:
            takes[rule.then_group] = Take(
                max(earlier.at_least, rule.take.at_least),
                min(earlier.at_most, rule.take.at_most),
                earlier.repeats and rule.take.repeats,
            )
    return takes


def without(offer: Offer, keys: Mapping[str, frozenset[str]]) -> Offer:
    """The offer without some items (group id -> item keys); rules that speak of a missing item go too.

    >>> offer = Offer((ChoiceGroup("fruit", ("apple", "pear"), Take(1, 1)),))
    >>> without(offer, {"fruit": frozenset({"pear"})}).groups[0].items
    ('apple',)
    """
    groups = tuple(
        ChoiceGroup(
            group.id, tuple(key for key in group.items if key not in keys.get(group.id, frozenset())), group.take
        )
        for group in offer.groups
    )
    rules = tuple(rule for rule in offer.rules if rule.item not in keys.get(rule.group, frozenset()))
    return Offer(groups, offer.alternatives, rules)


def rules_not_kept(offer: Offer) -> tuple[WithRule, ...]:
    """Rules that nobody can keep: the group they speak of has too few items left, or the rules on an item contradict.

    >>> fruit = ChoiceGroup("fruit", ("apple",), Take(1, 1))
    >>> two_fruits = WithRule("main", "soup", "fruit", Take(2, 2))
    >>> rules_not_kept(Offer((ChoiceGroup("main", ("soup",), Take(1, 1)), fruit), (), (two_fruits,))) == (two_fruits,)
    True
    """
    found = []
    for rule in dict.fromkeys(offer.rules):
        of_item = [one for one in offer.rules if (one.group, one.item) == (rule.group, rule.item)]
        if ways_to_take(len(offer.group(rule.then_group).items), takes_of(of_item)[rule.then_group]) == 0:
            found.append(rule)
    return tuple(found)


def rules_that_clash(offer: Offer) -> tuple[tuple[WithRule, WithRule], ...]:
    """Pairs of rules, each of which can be kept, but not both in one lunch: their items are never taken together.

    Pairs say it all: numbers that agree two by two agree all together. Source: ours.
    """
    alone = [rule for rule in dict.fromkeys(offer.rules) if rule not in rules_not_kept(offer)]
    return tuple(
        (one, other)
        for one, other in combinations(alone, 2)
        if one.then_group == other.then_group
        and one[:2] != other[:2]
        and not _together(offer, one.group, other.group)
        and (one.group != other.group or offer.group(one.group).take.at_most > 1)
        and ways_to_take(len(offer.group(one.then_group).items), takes_of((one, other))[one.then_group]) == 0
    )


def emptied_groups(offer: Offer) -> Iterator[str]:
    """Groups of which no item is left, whether or not something must be taken from them."""
    return (group.id for group in offer.groups if not group.items)


def empty_groups(offer: Offer) -> Iterator[str]:
    """Groups from which something must be taken and nothing is left to take."""
    for group in offer.groups:
        if group.take.at_least > 0 and ways_to_take(len(group.items), group.take) == 0:
            alternatives = next((one for one in offer.alternatives if group.id in one), None)
            if alternatives is None:
                yield group.id
