"""Lists of options laid out for one offer and used again for the next, against laying each offer out by itself."""

from service.domain.offers.branches import KnownLists, branches
from service.domain.offers.offer import ChoiceGroup, Offer, Take

ALIKE = {("fruit", "grapes"): 0, ("fruit", "apple"): 1, ("extras", "grapes"): 0, ("extras", "apple"): 1}


def test_a_list_parted_for_one_food_is_not_used_where_another_food_stands_in_two_groups() -> None:
    known = KnownLists()
    fruit = ChoiceGroup("fruit", ("grapes", "apple"), Take(1, 1))
    for extra in ("grapes", "apple"):
        offer = Offer((fruit, ChoiceGroup("extras", (extra,), Take(1, 1))))
        alone = [branch.lists for branch in branches(offer, None, ALIKE)]
        assert len(alone) == 2
        assert [branch.lists for branch in branches(offer, known, ALIKE)] == alone
