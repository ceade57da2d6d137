"""Offers that differ from one offer in one group only: how many lunches of each are right, with little more counting.

What the other groups let take stays the same, so only the options that are new have to be counted; those that go
are subtracted. Where even that is too much, the share of right lunches is estimated first, from some lunches of the
other groups.
"""

from collections.abc import Sequence
from math import prod
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from service.domain.counting.masks import Tick
from service.domain.counting.spans import Mask, Whole
from service.domain.counting.survey import right_with_each, survey
from service.domain.lunch.standards import TargetTable
from service.domain.offers.branches import Branch, Key, KnownLists, Option, branches
from service.domain.offers.counts import OfferCounts
from service.domain.offers.offer import Offer
from service.domain.offers.rows import OfferItems

Lists = tuple[tuple[Option, ...], ...]

MOST_VALUES = 1 << 23
"""Values (rows times lunches) that an estimate looks at."""
LEAST_DRAWN, MOST_DRAWN = 64, 1024
"""How many lunches of the other groups are drawn for an estimate; where there are no more, all are taken."""
SEED = 1


class RightOf(NamedTuple):
    """How many lunches there are, and how many of them are right."""

    total: int
    right: int

    def share(self) -> float:
        """Share of right lunches."""
        return self.right / self.total if self.total else 0.0


class _Part(NamedTuple):
    """A branch of an offer: the lists of the other groups, by what they are found by, and its own options there."""

    others: tuple[int, ...]
    own: list[int]
    size: int
    """How many lunches of the other groups there are."""


class _Others(NamedTuple):
    """The lists of the other groups that some branches share, and all options that stand beside them in any offer."""

    lists: Lists
    options: dict[Option, int]


class _Drawn(NamedTuple):
    """Some lunches of the other groups, as picks from each list, and which options are right beside them.

    ``asked``: how many lunches are looked at where that is all there are, and how many are drawn where there are more.
    """

    asked: tuple[int, int]
    picks: list[Whole]
    right: Mask
    rates: npt.NDArray[np.float64]
    """For each option, beside which share of these lunches it is right."""


class OneGroup:
    """Offers that differ from ``now`` in one group, or in the groups that stand in for it.

    ``known``: lists laid out already, which all of them share.
    """

    def __init__(self, table: TargetTable, of: OfferItems, now: Offer, group: str, known: KnownLists) -> None:
        self._table, self._of, self._known = table, of, known
        self._place = next(place for place, slot in enumerate(now.slots()) if group in slot)
        self._others: dict[tuple[int, ...], _Others] = {}
        self._drawn: dict[tuple[int, ...], _Drawn] = {}
        self._offers: list[list[_Part]] = []
        self._now = branches(now, known, of.alike)

    def add(self, offer: Offer) -> int:
        """Note an offer; its place among those noted."""
        parts = []
        for branch in branches(offer, self._known, self._of.alike):
            key, others = self._beside(branch)
            options = self._others.setdefault(key, _Others(others, {})).options
            own = [options.setdefault(option, len(options)) for option in branch.lists[self._place]]
            parts.append(_Part(key, own, prod(len(one) for one in others)))
        self._offers.append(parts)
        return len(self._offers) - 1

    def share(self, offer: int) -> float:
        """The share of right lunches that an offer lets expect; exact where all lunches of the other groups are looked at."""
        right = total = 0.0
        for part in self._offers[offer]:
            rates = self._beside_drawn(part.others).rates
            right += part.size * float(rates[part.own].sum())
            total += part.size * len(part.own)
        return right / total if total else 0.0

    def share_with_each(self, offer: int) -> dict[Key, float]:
        """The share of right lunches to expect of an offer among those that hold an item of the group, for each item."""
        right: dict[Key, float] = {}
        total: dict[Key, int] = {}
        for part in self._offers[offer]:
            options = list(self._others[part.others].options)
            rates = self._beside_drawn(part.others).rates
            for own in part.own:
                for key in set(options[own].keyed()):
                    right[key] = right.get(key, 0.0) + part.size * float(rates[own])
                    total[key] = total.get(key, 0) + part.size
        return {key: right[key] / total[key] for key in right}

    def share_with(self, item: Key, options: Sequence[Option]) -> float:
        """The share to expect where these options are taken along with an item of another group, and else as now."""
        right = total = 0.0
        for branch in self._now:
            key, others = self._beside(branch)
            known = self._others[key].options
            drawn = self._beside_drawn(key)
            usual = [known[option] for option in branch.lists[self._place] if option in known]
            then = [known[option] for option in options if option in known]
            holds = np.zeros(len(drawn.right), dtype=np.bool_)
            for options_there, pick in zip(others, drawn.picks, strict=True):
                has = np.array([one.group == item[0] and item[1] in one.items for one in options_there])
                holds |= has[pick]
            size = prod(len(one) for one in others) / len(holds)
            for rows, own in ((holds, then), (~holds, usual)):
                right += size * float(np.count_nonzero(drawn.right[rows][:, own]))
                total += size * int(np.count_nonzero(rows)) * len(own)
        return right / total if total else 0.0

    def work(self, offer: int) -> int:
        """How many lunches have to be counted for an offer."""
        base = {self._beside(branch)[0]: set(branch.lists[self._place]) for branch in self._now}
        number = 0
        for part in self._offers[offer]:
            options = list(self._others[part.others].options)
            number += part.size * sum(options[own] not in base.get(part.others, ()) for own in part.own)
        return number

    def counted(self, offers: Sequence[int], now: OfferCounts, tick: Tick | None = None) -> list[RightOf]:
        """The exact counts of some offers. ``now``: those of the offer that they differ from; ``tick``: may raise to stop."""
        right: dict[tuple[tuple[int, ...], int], int] = {}
        for branch, (_branch, found) in zip(self._now, now.parts, strict=True):
            key, _others = self._beside(branch)
            if key in self._others:
                self._note(right, key, branch, found.options()[0])
        for key, (others, options) in self._others.items():
            wanted = {own for offer in offers for part in self._offers[offer] if part.others == key for own in part.own}
            new = tuple(option for option, own in options.items() if own in wanted and (key, own) not in right)
            if new:
                branch = self._beside_all(others, new)
                of, table = self._of, self._table
                found = survey(of.values(table, branch), of.limits(table, branch), None, tick)
                self._note(right, key, branch, found.options()[0])
        return [
            RightOf(
                sum(part.size * len(part.own) for part in self._offers[offer]),
                sum(right[(part.others, own)] for part in self._offers[offer] for own in part.own),
            )
            for offer in offers
        ]

    def _note(
        self, right: dict[tuple[tuple[int, ...], int], int], key: tuple[int, ...], branch: Branch, each: Sequence[int]
    ) -> None:
        """Note the right lunches of each option of a branch that any offer has."""
        first = sum(len(options) for options in branch.lists[: self._place])
        known = self._others[key].options
        for at, option in enumerate(branch.lists[self._place], first):
            if option in known:
                right[(key, known[option])] = each[at]

    def _beside(self, branch: Branch) -> tuple[tuple[int, ...], Lists]:
        """The lists of the other groups, and what they are found by: offers share them, so that they are the same ones."""
        others = (*branch.lists[: self._place], *branch.lists[self._place + 1 :])
        return tuple(id(options) for options in others), others

    def _beside_drawn(self, key: tuple[int, ...]) -> _Drawn:
        """Which options are right beside some lunches of the other groups, drawn at random where there are many."""
        others, options = self._others[key]
        found = self._drawn.get(key)
        if found is None or found.right.shape[1] < len(options):
            most = min(MOST_DRAWN, max(LEAST_DRAWN, MOST_VALUES // (self._of.row_count(self._table) * len(options))))
            # Where rules make several branches, what is drawn is shared among them.
            asked = most, max(LEAST_DRAWN, most // len(self._others))
            if found is None or found.asked != asked:
                picks = _picks([len(one) for one in others], *asked)
                right = self._right_beside(picks, others, tuple(options))
            else:  # the same lunches: what is known of them stays
                picks = found.picks
                new = tuple(options)[found.right.shape[1] :]
                right = np.hstack([found.right, self._right_beside(picks, others, new)])
            found = self._drawn[key] = _Drawn(asked, picks, right, np.count_nonzero(right, axis=0) / len(right))
        return found

    def _right_beside(self, picks: list[Whole], others: Lists, own: tuple[Option, ...]) -> Mask:
        """Which options of the group are right beside lunches of the other groups."""
        branch = self._beside_all(others, own)
        return right_with_each(
            self._of.values(self._table, branch), self._of.limits(self._table, branch), self._place, picks
        )

    def _beside_all(self, others: Lists, own: tuple[Option, ...]) -> Branch:
        """The branch of some options of the group beside all those of the other groups."""
        return Branch((*others[: self._place], own, *others[self._place :]))


def _picks(sizes: Sequence[int], most: int, drawn: int) -> list[Whole]:
    """All combinations of lists as picks from each where they are at most so many, else some drawn at random."""
    if prod(sizes) <= most:
        return [one.ravel() for one in np.indices(sizes)] if sizes else []
    random = np.random.default_rng(SEED)
    return [random.integers(0, size, drawn) for size in sizes]
