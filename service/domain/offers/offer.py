"""What an offer lets a child take: choice groups, how many of each, alternatives, and "with this, take that".

How it is laid out, so that its lunches can be counted, is in ``branches``.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import comb
from typing import NamedTuple

from service.domain.errors import BadInput, Place, UnknownName
from service.domain.messages import Message, message

MOST_OPTIONS = 20_000
"""Options of one choice group (ways to take its items) that are laid out; a limit of ours."""
MOST_LAID_OUT = 400_000
"""Ways to take from a group over all branches of an offer; a limit of ours."""
MOST_RULES = 8
"""Rules between groups in one offer; each doubles the cases, so there is a limit (of ours)."""


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

    def stands_alone(self, group_id: str) -> bool:
        """Whether what is taken from a group hangs on no other group, and nothing on it."""
        spoken_of = any(group_id in (rule.group, rule.then_group) for rule in self.rules)
        return not spoken_of and not any(group_id in together for together in self.alternatives)

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
    for called in sets_of_rules(offer):
        takes = {group_id: ways_to_take(sizes[group_id], take) for group_id, take in takes_of(called).items()}
        number += sum((usual | takes).values())
    return number


def sets_of_rules(offer: Offer) -> Iterator[tuple[WithRule, ...]]:
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
