"""What the rules on single products say of an offer's items, such as a limit on the sugar of a yogurt, or the kinds of milk allowed.

A lunch with such a product is not right, whatever lies beside it: as with forms and holding, its items decide one by one.
"""

from collections.abc import Mapping
from typing import NamedTuple

from service.domain.foods.food import Food
from service.domain.lunch.special_rules import RuleFinding, milk_findings, product_findings
from service.domain.lunch.standards import TargetTable
from service.domain.offers.branches import Key
from service.domain.offers.handled import LunchesWith


class ProductInOffer(NamedTuple):
    """A finding on a product over all lunches of an offer: the items that are this product, and how many lunches hold one."""

    finding: RuleFinding
    items: tuple[Key, ...]
    lunches: int

    @property
    def breaks(self) -> bool:
        """Whether it counts against a lunch for certain."""
        return self.finding.status in ("over", "short")


def products_in_offer(table: TargetTable, foods: Mapping[Key, Food], lunches: LunchesWith) -> list[ProductInOffer]:
    """What is not met, in the order of the offer; ``foods``: those of the items that are left.

    Source: beside each rule (US: 7 CFR 210.10).
    """
    together: dict[tuple[str, str, str], tuple[RuleFinding, list[Key]]] = {}
    for key, food in foods.items():
        for found in product_findings(table.product_rules, [food]) + milk_findings(table.milk_rules, [food]):
            if found.status != "met":
                together.setdefault((found.id, found.item, found.status), (found, []))[1].append(key)
    rows = [ProductInOffer(found, tuple(keys), lunches.number(keys)) for found, keys in together.values()]
    return [one for one in rows if one.lunches]
