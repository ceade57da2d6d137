"""The cases of a child's lunches: where rules and alternatives say what goes together, each way to go by them is one.

Within a case what is taken from one group does not depend on the others, so that the worst of each group can be added up. A case
is a child to serve like another, with the same foods and sizes; it counts where the foods that call it up are set out.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations, product

from service.domain.errors import BadInput, Faults
from service.domain.messages import message
from service.domain.offers.offer import Offer, Take, takes_of
from service.domain.plan.robust import Candidates
from service.planning.offer_model import ChildToServe, Food

MOST_CASES = 64
"""Cases of one child that are looked at; a limit of ours."""


def refuse_hard_rules(offer: Offer) -> None:
    """Raise ``BadInput`` for a rule that starts in a group from which an item may be taken again."""
    faults = Faults()
    for place, rule in enumerate(offer.rules):
        if offer.group(rule.group).take.repeats:
            faults.add(BadInput(field=("rules", place), value=rule.group, problem=message("fault.rule-and-repeats")))
    faults.raise_all()


def cases_of(child: ChildToServe, offer: Offer) -> list[ChildToServe]:
    """The cases of a child: one without rules and alternatives. ``offer``: as it stands for this child.

    Raises ``BadInput`` for more than are looked at.
    """
    if not (offer.rules or offer.alternatives):
        return [child]
    found = []
    for one in _cases(child, offer):
        found.append(one)
        if len(found) > MOST_CASES:
            raise BadInput(
                field="rules", value=len(offer.rules), problem=message("fault.too-many-cases", most=MOST_CASES)
            )
    return found


def _cases(child: ChildToServe, offer: Offer) -> Iterator[ChildToServe]:
    by_id = {one.group: one for one in child.groups}
    for used in product(*offer.slots()):
        calling = sorted(
            {(one.group, one.item) for one in offer.rules if one.group in used and one.item in by_id[one.group].foods}
        )
        for number in range(len(calling) + 1):
            for called in combinations(calling, number):
                takes = takes_of([one for one in offer.rules if (one.group, one.item) in called])
                groups = _groups(child.groups, used, calling, called, takes)
                if groups is not None:
                    yield child._replace(groups=groups, calls=called)


def _groups(
    groups: Sequence[Candidates],
    used: Sequence[str],
    calling: Sequence[Food],
    called: Sequence[Food],
    takes: Mapping[str, Take],
) -> list[Candidates] | None:
    """The groups of a case; None where no lunch is such a case."""
    found: list[Candidates] = []
    for one in groups:
        if one.group not in used:
            found.append(replace(one, least=0, most=0, repeats=False))
            continue
        take = takes.get(one.group, Take(one.least, one.most, one.repeats))
        with_rule = tuple(food for group, food in calling if group == one.group)
        mine = [food for group, food in called if group == one.group]
        least, most = max(0, take.at_least - len(mine)), take.at_most - len(mine)
        others = {food: sizes for food, sizes in one.foods.items() if food not in with_rule}
        if most < least or (least and not others):
            return None
        found += [Candidates(one.group, {food: one.foods[food]}, 1, 1, False, 1) for food in mine]
        if others:
            certain = min(len(others), max(1, one.choices - len(with_rule), least)) if with_rule else one.choices
            found.append(Candidates(one.group, others, least, most, take.repeats, certain, with_rule, one.choices))
    return found
