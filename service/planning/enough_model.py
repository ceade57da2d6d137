"""The fewest, or cheapest, portions that are enough, found by the solver: a whole number a food, a choice a reserve."""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

from service.domain.plan.portions.enough import Condition, Eater, conditions_of
from service.planning.solver import Model, solve

NO_FLOORS: Mapping[str, int] = {}
SECONDS = 10.0


class Guaranteed(NamedTuple):
    """Portions of each food that are enough whatever is taken; ``proven``: none cheaper are.

    ``nobody``: no number of portions is enough, because these eaters may take too few of the foods.
    """

    portions: Mapping[str, int]
    cost: Fraction
    proven: bool
    nobody: tuple[str, ...] = ()

    @property
    def total(self) -> int:
        """All portions together."""
        return sum(self.portions.values())


def guaranteed(
    eaters: Sequence[Eater],
    cost: Mapping[str, Fraction | int],
    at_least: Mapping[str, int] = NO_FLOORS,
    seconds: float = SECONDS,
) -> Guaranteed:
    """The cheapest portions with which nobody can be left short on any morning.

    Of those equally cheap the fewest, and of these the ones whose greatest number of one food is smallest.

    Parameters
    ----------
    eaters: who takes from the group. cost: of one portion of each food that there can be, in any unit; 1 for
    each gives the fewest portions. at_least: portions of a food that there are to be in any case.

    Source: ``domain/plan/portions/enough``.

    >>> week = frozenset(range(5))
    >>> two = [Eater("Kit", frozenset({"apple", "pear"}), week), Eater("Sam", frozenset({"pear"}), week)]
    >>> guaranteed(two, {"apple": 1, "pear": 1}).portions  # ten pears do: five for each of them
    {'apple': 0, 'pear': 10}
    >>> guaranteed(two, {"apple": 1, "pear": 1}, {"apple": 5}).portions
    {'apple': 5, 'pear': 10}
    """
    offered = frozenset(cost)
    eaters = [one._replace(may_take=one.may_take & offered) for one in eaters]
    conditions = conditions_of(eaters)
    nobody = tuple(dict.fromkeys(one.eater for one in conditions if not one.reserves))
    if nobody:
        return Guaranteed({}, Fraction(0), proven=False, nobody=nobody)
    model, foods = _model(conditions, cost, at_least)
    found = solve(model, seconds=seconds, jump=False)
    if not found.values:
        return Guaranteed({}, Fraction(0), proven=False)
    portions = _evenly(model, foods, {food: found.whole(place) for food, place in foods.items()}, seconds)
    spent = sum((Fraction(cost[food]) * number for food, number in portions.items()), Fraction(0))
    proven = found.status == "optimal" and all(one.exact for one in conditions)
    return Guaranteed(portions, spent, proven)


def _evenly(model: Model, foods: Mapping[str, int], portions: dict[str, int], seconds: float) -> dict[str, int]:
    """Of the portions that cost as much, those whose greatest number of one food is smallest."""
    most = sum(model.cost[place] * portions[food] for food, place in foods.items())
    model.row({place: model.cost[place] for place in foods.values()}, at_most=most * (1 + 1e-9))
    model.cost = [0.0] * len(model.cost)
    greatest = model.variable(cost=1, whole=True)
    for place in foods.values():
        model.row({greatest: 1.0, place: -1.0}, at_least=0)
    found = solve(model, seconds=seconds, jump=False)
    return {food: found.whole(place) for food, place in foods.items()} if found.values else portions


def _model(
    conditions: Sequence[Condition], cost: Mapping[str, Fraction | int], at_least: Mapping[str, int]
) -> tuple[Model, dict[str, int]]:
    model = Model()
    few = float(min((value for value in cost.values() if value), default=1)) / 10_000
    foods = {
        food: model.variable(at_least.get(food, 0), cost=float(price) + few, whole=True) for food, price in cost.items()
    }
    for condition in conditions:
        choices = []
        for reserve in condition.reserves:
            chosen = model.choice()
            model.row({**{foods[food]: 1.0 for food in reserve.foods}, chosen: -float(reserve.portions)}, at_least=0)
            choices.append(chosen)
        model.row(dict.fromkeys(choices, 1.0), at_least=1)
    return model, foods
