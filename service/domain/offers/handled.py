"""What the rules on forms and holding say of an offer's items: what a single check would find of each in any lunch.

Whether a lunch is kept well follows from its items one by one: one that must be kept cold and is not fails the lunch,
whatever lies beside it. So a lunch is judged by the sum of its items' findings, like every other row.
"""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from math import prod
from typing import NamedTuple

from service.domain.foods.food import Food
from service.domain.lunch.handling import (
    HandlingFinding,
    HandlingRules,
    HandlingStatus,
    Held,
    Holding,
    choking_finding,
    holding_findings,
)
from service.domain.offers.branches import Branch, Key, Option


class ToHandle(NamedTuple):
    """What decides on forms and holding for one child: the rules, how lunches are kept, its age, whose guidance."""

    rules: HandlingRules
    kept: Holding
    age_months: int
    regions: tuple[str, ...]

    def findings(self, food: Food, form: str | None, held: Held) -> list[HandlingFinding]:
        """What a single check finds of this item, but for what is in order."""
        choking = choking_finding(self.rules, food, form, self.age_months, self.regions)
        found = [] if choking is None else [choking]
        found += holding_findings(self.rules, [(food, held)], self.kept, self.regions)
        return [one for one in found if one.status != "in_order"]

    def form_matters(self, food: Food, form: str) -> bool:
        """Whether a choking rule speaks of a food at this child's age."""
        return choking_finding(self.rules, food, form, self.age_months, self.regions) is not None

    def form_in_order(self, food: Food, form: str | None) -> str | None:
        """The form to cut a food in for this child, where the one given must not be packed and guidance gives another.

        The food's own forms come first. None where the form given may stay, or where no form is in order.
        """
        finding = choking_finding(self.rules, food, form, self.age_months, self.regions)
        if finding is None or finding.status != "do_not_pack" or not food.handling.choking_rule:
            return None
        allowed = self.rules.choking[food.handling.choking_rule].allowed_forms
        for other in [one for one in food.handling.forms if one in allowed] or sorted(allowed):
            found = choking_finding(self.rules, food, other, self.age_months, self.regions)
            if found is not None and found.status == "in_order":
                return other
        return None


def breaks(status: HandlingStatus) -> bool:
    """Whether a finding of this status counts against a lunch for certain."""
    return status in ("fix", "do_not_pack")


def kept_so(findings: Mapping[Key, Sequence[HandlingFinding]], of_status: Callable[[HandlingStatus], bool]) -> set[Key]:
    """The items of which the rules on holding find such a status."""
    return {
        key
        for key, found in findings.items()
        if any(one.id.startswith("holding:") and of_status(one.status) for one in found)
    }


def broken_of(findings: Iterable[HandlingFinding]) -> tuple[int, int]:
    """How many of them count against a lunch for certain, and at most.

    Source: as in a single check's verdict (service/domain/lunch/verdict.py).
    """
    statuses = [one.status for one in findings]
    sure = sum(breaks(status) for status in statuses)
    return sure, sure + statuses.count("unknown")


class HandledInOffer(NamedTuple):
    """One finding over all lunches of an offer: which items it speaks of, and how many lunches hold one of them."""

    id: str
    status: HandlingStatus
    items: tuple[Key, ...]
    finding: HandlingFinding
    lunches: int


class LunchesWith:
    """How many lunches of an offer hold at least one of some items; each option is looked at once."""

    def __init__(self, branches: Sequence[Branch]) -> None:
        self._branches = branches
        self._holding: dict[int, dict[Key, list[int]]] = {}
        """For each list of options, by its id, the places of those that hold an item."""
        for branch in branches:
            for options in branch.lists:
                if id(options) not in self._holding:
                    self._holding[id(options)] = _holding(options)

    def number(self, keys: Collection[Key]) -> int:
        """How many lunches hold at least one of these items.

        Source: ours; exact.
        """
        number = 0
        for branch in self._branches:
            free = [len(options) - len(self._with_one_of(options, keys)) for options in branch.lists]
            number += branch.size - prod(free)
        return number

    def _with_one_of(self, options: tuple[Option, ...], keys: Collection[Key]) -> set[int]:
        holding = self._holding[id(options)]
        return {place for key in keys if key in holding for place in holding[key]}


def _holding(options: tuple[Option, ...]) -> dict[Key, list[int]]:
    found: dict[Key, list[int]] = {}
    for place, option in enumerate(options):
        for key in dict.fromkeys(option.items):
            found.setdefault((option.group, key), []).append(place)
    return found


def handled_in_offer(findings: Mapping[Key, Sequence[HandlingFinding]], lunches: LunchesWith) -> list[HandledInOffer]:
    """The findings of all items, those on holding together, in the order of the offer.

    ``findings``: of each item, as `ToHandle.findings` gives them.
    """
    together: dict[tuple[str, HandlingStatus, Key | None], list[tuple[Key, HandlingFinding]]] = {}
    for key, found in findings.items():
        for one in found:
            alone = None if one.id.startswith("holding:") else key
            together.setdefault((one.id, one.status, alone), []).append((key, one))
    rows = []
    for (id_, status, _alone), some in together.items():
        keys = tuple(key for key, _one in some)
        rows.append(HandledInOffer(id_, status, keys, some[0][1], lunches.number(keys)))
    return [one for one in rows if one.lunches]
