"""What a child may have: which foods may come in by a change, and what is wrong with those that are packed."""

from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from service.domain.allergens.screening import OUTCOME_RANK, Avoidance, Outcome, screen_food
from service.domain.foods.amounts import Portion
from service.domain.foods.food import Food
from service.domain.foods.packets import NO_PACKETS, Packets
from service.domain.lunch.changing.suggesting import SPREAD
from service.domain.lunch.handling import choking_finding
from service.domain.lunch.special_rules import milk_findings, product_findings
from service.domain.lunch.standards import TargetTable
from service.jobs.foods.at_hand import everyday_foods
from service.jobs.requests.fields import Region
from service.reference.allergens.vocabulary import vocabulary
from service.reference.foods.suggesting import suggesting
from service.reference.lunch.handling import handling_rules

if TYPE_CHECKING:
    from service.jobs.lunch.items import PreparedItem

CLEAR: Outcome = "not_declared"
GRADES: tuple[Outcome, ...] = (CLEAR, "label_not_seen", "check_label")
"""The evidence with which a food may take the place of one that must not be packed, best first."""


class MayHave(NamedTuple):
    """What decides whether a food may come in for a child; ``table``: of its standard, for limits on products."""

    table: TargetTable | None
    avoidances: tuple[Avoidance, ...]
    age_months: int
    regions: tuple[Region, ...]
    packets: Packets = NO_PACKETS

    def more_of(self, food: Food, form: str | None = None, evidence: Outcome = CLEAR) -> bool:
        """Whether a food has no choking form, known or open, and all that is avoided has this grade of evidence at worst."""
        words = vocabulary()
        graded = [screen_food(words, food, one).outcome for one in self.avoidances]
        if max(graded, key=OUTCOME_RANK.__getitem__, default=CLEAR) != evidence:
            return False
        return self._form_in_order(food, form)

    def come_in(self, one: Portion, evidence: Outcome = CLEAR) -> bool:
        """Whether a food may be suggested: it may be had, is not discretionary, and is not a product over its limit."""
        if one.food.discretionary or not self.more_of(one.food, one.form, evidence):
            return False
        if self.table is None:
            return True
        rules = product_findings(self.table.product_rules, [one.food])
        return all(rule.status == "met" for rule in rules + milk_findings(self.table.milk_rules, [one.food]))

    def foods_at_hand(self, named: Sequence[Portion] | None, evidence: Outcome = CLEAR) -> Sequence[Portion]:
        """The foods named, or the everyday lunch foods, that may come in, cut as guidance asks for at this age.

        ``evidence``: how much is known of the allergens; a label still to be read is not enough but for a food that takes
        the place of one which must not be packed.
        """
        if named is None:
            return _everyday(self, evidence)
        return [one for one in map(self._cut, named) if self.come_in(one, evidence)]

    def everyday(self, one: Portion) -> Portion:
        """An everyday food, cut for this age; a spread for a small child in its smallest portion."""
        lists = suggesting()
        if SPREAD in lists.kinds_of(one.food) and self.age_months < lists.small_child_below_months:
            unit = lists.smallest_portion(one.food)
            one = one._replace(amount_mg=unit.grams_mg, quantity=1.0, unit=unit.name)
        return self._cut(one)

    def cut_asked_for(self, food: Food, form: str | None) -> bool:
        """Whether guidance for this age speaks of how a food is cut."""
        return choking_finding(handling_rules(), food, form, self.age_months, self.regions) is not None

    def cut_another_way(self, food: Food, item: "PreparedItem") -> Portion | None:
        """A food that must not be packed cut as the item is, in the usual one of its forms that guidance gives at this age.

        None where it may stay as it is, and where no form is in order.
        """
        rules = handling_rules()
        finding = choking_finding(rules, food, item.form, self.age_months, self.regions)
        if finding is None or finding.status != "do_not_pack" or not food.handling.choking_rule:
            return None
        allowed = rules.choking[food.handling.choking_rule].allowed_forms
        # A form that the food itself is not given in is no help; a label names no forms at all.
        for one in suggesting().forms_made(food.handling.forms or sorted(allowed)):
            other = choking_finding(rules, food, one, self.age_months, self.regions)
            if one in allowed and other is not None and other.status == "in_order":
                return Portion(food, item.amount_mg, item.quantity, item.unit, one, item.option)
        return None

    def _cut(self, one: Portion) -> Portion:
        """In the form that it has, or else in the first of the food's own forms that guidance gives for this age."""
        forms = (one.form, *suggesting().forms_made(one.food.handling.forms))
        return next((one._replace(form=form) for form in forms if self._form_in_order(one.food, form)), one)

    def _form_in_order(self, food: Food, form: str | None) -> bool:
        finding = choking_finding(handling_rules(), food, form, self.age_months, self.regions)
        return finding is None or finding.status not in ("do_not_pack", "unknown")


@lru_cache(maxsize=64)
def _everyday(may_have: MayHave, evidence: Outcome) -> Sequence[Portion]:
    cut = map(may_have.everyday, everyday_foods(may_have.packets))
    return tuple(one for one in cut if may_have.come_in(one, evidence))


def dangers(item: "PreparedItem", may_have: MayHave) -> tuple[str, ...]:
    """What of an item forbids packing it: allergens, and a choking form."""
    words = vocabulary()
    screened = [screen_food(words, item.food, one) for one in may_have.avoidances]
    wrong = [f"allergen:{one.avoidance.allergen}" for one in screened if one.do_not_pack]
    finding = choking_finding(handling_rules(), item.food, item.form, may_have.age_months, may_have.regions)
    if finding is not None and finding.status == "do_not_pack":
        wrong.append(finding.id)
    return tuple(dict.fromkeys(wrong))


def usual_in(item: "PreparedItem", may_have: MayHave) -> bool:
    """Whether an allergen that the label has to be read for is usual in such food, or nothing is known of it."""
    words = vocabulary()
    return any(screen_food(words, item.food, one).outcome == "check_label" for one in may_have.avoidances)


def unread(food: Food, may_have: MayHave) -> tuple[str, ...]:
    """The avoided allergens that the label of a food has to be read for."""
    words = vocabulary()
    screened = [screen_food(words, food, one) for one in may_have.avoidances]
    return tuple(dict.fromkeys(one.avoidance.allergen for one in screened if one.unread))
