"""How many batches of a dish are made on which prep day: whole numbers of batches (or of their parts), as few as are enough.

A whole number a prep day, a whole number of portions for each prep day, day and place that they keep in.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from service.domain.errors import BadInput
from service.domain.messages import message
from service.domain.plan.batches import FREEZER, FRIDGE, DishMade, Flow
from service.planning.solver import Model, solve

SHORT = 1e4
"""What a portion that is missing counts: more than anything else."""
CHANGED = 100.0
"""What a part of a batch more or less than before counts: less than a portion that is missing, more than what is left over."""
FROZEN = 0.01
OLDER = 0.001
"""What a portion counts that is frozen, or a day older: little, so that of equal plans the fresher is taken."""
SECONDS = 5.0


class BatchesFound(NamedTuple):
    """Batches by prep day, and where their portions go."""

    batches: Mapping[date, Fraction]
    flows: Sequence[Flow]


def find_batches(
    dish: DishMade,
    needs: Mapping[date, int],
    prep_days: Sequence[date],
    before: Mapping[date, Fraction],
    locked: Mapping[date, Fraction],
    *,
    again: bool,
) -> BatchesFound:
    """The fewest portions that are enough, with as few changes as can be.

    Parameters
    ----------
    needs: portions by day. before: batches by prep day in the plan before; used where ``again``. locked: batches that stay as
    they are, by prep day, even where such a part of a batch is not made any more.
    """
    batches = _solved(dish, needs, prep_days, before if again else None, locked)[0]
    # What goes where is found anew from the batches alone, so that the same batches always go the same ways.
    return BatchesFound(*_solved(dish, needs, prep_days, None, {**dict.fromkeys(prep_days, Fraction(0)), **batches}))


def _solved(
    dish: DishMade,
    needs: Mapping[date, int],
    prep_days: Sequence[date],
    before: Mapping[date, Fraction] | None,
    fixed: Mapping[date, Fraction],
) -> tuple[dict[date, Fraction], list[Flow]]:
    model = Model()
    made: dict[date, int] = {}
    ways: dict[tuple[date, date, str], int] = {}
    size = dish.batch_portions / dish.parts
    for place, made_on in enumerate(sorted({*prep_days, *fixed})):
        reach = 0
        mine: dict[int, float] = {}
        for day, number in sorted(needs.items()):
            places = [(FRIDGE, dish.fresh(made_on, day)), (FREEZER, dish.frozen(made_on, day))]
            reach += number if any(can for _where, can in places) else 0
            for where, can in places:
                if can:
                    cost = FROZEN * (where == FREEZER) + OLDER * (day - made_on).days
                    way = model.variable(0, number, cost, whole=True)
                    ways[(made_on, day, where)] = way
                    mine[way] = 1.0
        if made_on in fixed:
            model.row(dict.fromkeys(mine, 1.0), at_most=int(fixed[made_on] * dish.batch_portions))
            continue
        most = -(-reach * dish.parts // dish.batch_portions)
        # Of plans that make as much, the one that makes it earlier: what is frozen then can wait.
        made[made_on] = model.variable(0, most, cost=size * (1 + OLDER * place), whole=True)
        model.row({made[made_on]: size, **dict.fromkeys(mine, -1.0)}, at_least=0)
        if before is not None:
            other = model.variable(cost=CHANGED)
            was = min(float(before.get(made_on, 0) * dish.parts), most)
            model.row({other: 1.0, made[made_on]: -1.0}, at_least=-was)
            model.row({other: 1.0, made[made_on]: 1.0}, at_least=was)
    for day, number in needs.items():
        mine = {way: 1.0 for (_made_on, on, _place), way in ways.items() if on == day}
        model.row({**mine, model.variable(0, number, SHORT): 1.0}, at_least=number, at_most=number)
    if not model.lower:  # without a prep day, nothing is needed that the stock does not give
        return {made_on: number for made_on, number in fixed.items() if number}, []
    found = solve(model, seconds=SECONDS)
    if not found.values:
        # There is always a plan, as what is missing has a variable of its own: so the time was up.
        raise BadInput(field="dishes", value=dish.food, problem=message("fault.no-plan-in-time"))
    batches = {made_on: Fraction(found.whole(place), dish.parts) for made_on, place in made.items()} | dict(fixed)
    flows = [Flow(*key, found.whole(way)) for key, way in ways.items() if found.whole(way)]
    return {made_on: number for made_on, number in batches.items() if number}, flows
