"""An offer that cannot go wrong, as a model for the solver: which foods stand in it, and in which size each child gets them.

A choice a food of a group (it is in the offer), a choice a food, size and child. Of each row of a child, each group has a
variable that is at least the worst that can be taken from it; these together keep the row's bound.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal, NamedTuple

from service.domain.plan.robust import Candidates, Row, Sized, broken, greatest_sum, too_few
from service.planning.solver import Model, Solution, solve

Food = tuple[str, str]
"""Group and food."""
UNUSUAL = 0.02
"""What half or double the usual size counts, next to the weight of a food; ours."""
Means = Literal["", "expected", "spread"]
"""What counts of the means of a week: nothing, the expected lunch, or half of it and half of the extreme one."""
Wanted = Mapping[str, Mapping[str, int]]
"""How many foods are wanted, by child and group."""
NEAR_MEANS = 0.02
"""By so much of their bounds, all together, the means may be off: how often a week keeps them is counted; ours."""
LESS_THAN_A_FOOD = 0.9
"""By so much the cost may be off where foods more are wanted: a food more is worth at least one more than all weights and sizes."""
PROVEN = 1e-9
"""A gap of nothing but rounding."""
NO_MEANS: Sequence["MeanRow"] = ()


class MeanRow(NamedTuple):
    """What the mean of a week must not be over: the place of its values among those of a food, and the bound."""

    at: int
    bound: int


class ChildToServe(NamedTuple):
    """A child: the rows its lunches must keep, what it could find in each group, and what its week's mean is to keep.

    ``calls``: the foods of which this case of its lunches is the one where they are taken: it counts if all are set out. A child
    with several cases stands here several times, with the same name; a group with several parts stands in it several times.
    """

    name: str
    rows: Sequence[Row]
    groups: Sequence[Candidates]
    means: Sequence[MeanRow] = NO_MEANS
    calls: tuple[Food, ...] = ()


def alike(children: Sequence[ChildToServe]) -> list[int]:
    """For each child the place of the first that differs from it in nothing but the name."""
    nameless = [child._replace(name="") for child in children]
    return [nameless.index(child) for child in nameless]


class Width(NamedTuple):
    """How many foods a group of the offer is to have."""

    least: int
    most: int


class Designed(NamedTuple):
    """An offer found: the foods of each group, and the size of each food for each child that may have it.

    ``mean_missed``: by how much the week's means are missed, as a sum of shares of their bounds. ``proven``: none better
    was possible within what the model looks at.
    """

    foods: Mapping[str, tuple[str, ...]]
    sizes: Mapping[str, Mapping[str, Mapping[str, int]]]
    mean_missed: float
    proven: bool


@dataclass
class _Offer:
    """A model and the variables that say what it found."""

    model: Model
    stands: dict[Food, int] = field(default_factory=dict)
    sized: dict[tuple[str, str, str, int], int] = field(default_factory=dict)
    """(name of the child, group, food, size) -> its variable."""
    missed: list[int] = field(default_factory=list)


def design(
    children: Sequence[ChildToServe],
    widths: Mapping[str, Width],
    weights: Mapping[Food, float],
    *,
    seconds: float,
    fixed: Mapping[str, Sequence[str]] | None = None,
    means: Means = "",
    wanted: Wanted | None = None,
    gap: float = 0.0,
) -> Designed | None:
    """The foods and sizes with the smallest weights of which no child can take a lunch that breaks a row; None: none found.

    Parameters
    ----------
    widths: how many foods each group is to have. weights: of a food that stands in the offer (its price, for instance).
    fixed: the foods of groups that are settled. means: the means of the week count first, then the weights: those of the
    expected lunch, or so that the spread of lunches has room too, which takes longer.
    wanted: how many foods each child is to find if that can be: as many as can be count before the weights. gap: the share of
    the cost within which it may stop (0: proven best); where foods are wanted, only as much as leaves none of them out.

    What is found is checked row by row in whole numbers (`broken`) before it is given. Source: see ``domain/plan/robust``.
    """
    children = [one for one in children if all(food in weights for food in one.calls)]
    if any(too_few(one.groups) for one in children):
        return None
    for margin in (0.0, 1e-6):
        made = _model(children, widths, weights, fixed or {}, margin, wanted or {}, means=means)
        if wanted:  # each food more counts more than all weights: a share of their sum would be several foods
            found = solve(made.model, seconds=seconds, near=LESS_THAN_A_FOOD, jump=False)
        else:
            found = solve(made.model, seconds=seconds, gap=gap, near=NEAR_MEANS if means else 0.0)
        if not found.values:
            return None
        designed = _read(made, found, children)
        if not any(
            broken(one.rows, one.groups, designed.sizes[one.name]) for one in children if _counts(one, designed)
        ):
            return designed
    return None


def _counts(child: ChildToServe, designed: Designed) -> bool:
    """Whether the foods that call up a case are set out."""
    return all(food in designed.foods.get(group, ()) for group, food in child.calls)


def _model(
    children: Sequence[ChildToServe],
    widths: Mapping[str, Width],
    weights: Mapping[Food, float],
    fixed: Mapping[str, Sequence[str]],
    margin: float,
    wanted: Wanted,
    *,
    means: Means,
) -> _Offer:
    made = _Offer(Model())
    model = made.model
    scale = 1e-3 / max(1.0, *(abs(one) for one in weights.values())) if means else 1.0
    for food, weight in weights.items():
        made.stands[food] = model.choice(cost=weight * scale)
        if food[0] in fixed:
            model.lower[-1] = model.upper[-1] = float(food[1] in fixed[food[0]])
    for group, width in widths.items():
        model.row({place: 1.0 for (of, _food), place in made.stands.items() if of == group}, width.least, width.most)
    covered = {} if means else _covered(children)
    worth = 1.0 + sum(abs(one) for one in weights.values()) + sum(map(_most_unusual, children))
    for child in sorted(children, key=lambda one: one.name in covered):  # those who cover first
        if child.name in covered:
            _add_in_the_sizes_of(made, child, covered[child.name], scale)
        else:
            _add_child(made, child, margin, scale)
        _add_wanted(made, child, wanted.get(child.name, {}), worth)
        if means and not child.calls:
            _add_means(made, child, fixed, spread=means == "spread")
    return made


def _most_unusual(child: ChildToServe) -> float:
    """The most that the sizes of a child's foods can cost together."""
    sizes = (some for one in child.groups for some in one.foods.values())
    return UNUSUAL * sum(max(sized.unusual for sized in some) for some in sizes)


def _within_reach(child: ChildToServe) -> ChildToServe:
    """The same child with nothing further below a row's bound than all else that a lunch may hold can be above it.

    An unknown figure that can only help counts as far below every bound, and next to that the other numbers of the row would be
    lost in the solver's rounding. Whatever keeps the rows keeps them afterwards, and the other way round: a lunch with such
    a food keeps its row whatever else is in it, before and after.
    """
    floors = []
    for at, row in enumerate(child.rows):
        above = (
            one.most * max([0, *(s.values[at] for sizes in one.foods.values() for s in sizes)]) for one in child.groups
        )
        floors.append(min(0, row.bound) - sum(above))

    def within(sized: Sized) -> Sized:
        reached = (max(value, floor) for value, floor in zip(sized.values, floors, strict=False))
        return sized._replace(values=(*reached, *sized.values[len(floors) :]))

    groups = [
        replace(one, foods={food: tuple(map(within, sizes)) for food, sizes in one.foods.items()})
        for one in child.groups
    ]
    return child._replace(groups=groups)


def _add_child(made: _Offer, child: ChildToServe, margin: float, scale: float) -> None:
    model = made.model
    name = child.name
    child = _within_reach(child)
    for one in child.groups:
        for food, sizes in one.foods.items():
            chosen = {}
            for sized in sizes:
                key = (name, one.group, food, sized.size)
                at = made.sized[key] if key in made.sized else model.choice(cost=UNUSUAL * scale * sized.unusual)
                made.sized[(name, one.group, food, sized.size)] = at
                chosen[at] = 1.0
            model.row({**chosen, made.stands[(one.group, food)]: -1.0}, 0, 0)
        _add_foods_to_find(made, child, one)
    for at, row in enumerate(child.rows):
        greatest = greatest_sum(child.groups, at)
        if greatest <= row.bound:
            continue
        unit = _unit(child, at, row.bound)
        terms = {_worst(made, name, one, at, unit): 1.0 for one in child.groups}
        # Where a food that calls up the case is not set out, there is room for the greatest sum.
        room = (greatest - row.bound) / unit
        terms |= {made.stands[food]: room for food in child.calls}
        model.row(terms, at_most=row.bound / unit - margin + room * len(child.calls))


def _add_in_the_sizes_of(made: _Offer, child: ChildToServe, like: str, scale: float) -> None:
    """A child that gets each food in the size of another child, by whose rows its own are kept too (`_covers`)."""
    for one in child.groups:
        for food, sizes in one.foods.items():
            for sized in sizes:
                at = made.sized[(like, one.group, food, sized.size)]
                made.sized[(child.name, one.group, food, sized.size)] = at
                made.model.cost[at] += UNUSUAL * scale * sized.unusual
        _add_foods_to_find(made, child, one)


def _add_foods_to_find(made: _Offer, child: ChildToServe, one: Candidates) -> None:
    """So many foods of a group as the child is to find."""
    if child.calls:
        return
    made.model.row({made.stands[(one.group, food)]: 1.0 for food in one.foods}, at_least=one.choices)
    if one.beside:
        foods = [food for food in (*one.foods, *one.beside) if (one.group, food) in made.stands]
        made.model.row({made.stands[(one.group, food)]: 1.0 for food in foods}, at_least=one.to_find)


def _add_wanted(made: _Offer, child: ChildToServe, wanted: Mapping[str, int], worth: float) -> None:
    """Each food more that a child finds, up to the number wanted, is worth more than all weights and sizes together."""
    for one in () if child.calls else child.groups:
        foods = [food for food in (*one.foods, *one.beside) if (one.group, food) in made.stands]
        more = min(wanted.get(one.group, 0), len(foods)) - one.to_find
        if more > 0:
            found = made.model.variable(upper=more, cost=-worth)
            terms = {made.stands[(one.group, food)]: 1.0 for food in foods}
            made.model.row({**terms, found: -1.0}, at_least=one.to_find)


def _covered(children: Sequence[ChildToServe]) -> dict[str, str]:
    """The children of whom nothing but the number of foods need be looked at: by whom each is covered (`_covers`), by name."""
    covered: dict[str, str] = {}
    for child in children:
        for other in children:
            if child.name not in covered and other.name not in covered and _covers(child, other):
                covered[other.name] = child.name
    return covered


def _covers(child: ChildToServe, other: ChildToServe) -> bool:
    """Whether no lunch of the other child breaks a row if none of this one does and both get each food in the same size.

    So it is by the same rows and takes, where the other may have all foods of this child or a part of them: of fewer foods
    the worst that can be taken is never greater. A child with several cases is not looked at.
    """
    if child.name == other.name or child.calls or other.calls or child.rows != other.rows:
        return False
    return len(child.groups) == len(other.groups) and all(
        (mine.group, mine.least, mine.most, mine.repeats) == (one.group, one.least, one.most, one.repeats)
        and not (mine.beside or one.beside)
        and all(mine.foods.get(food) == sizes for food, sizes in one.foods.items())
        for mine, one in zip(child.groups, other.groups, strict=True)
    )


def _unit(child: ChildToServe, at: int, bound: int) -> float:
    """What a row is divided by, so that its numbers are near 1."""
    values = (abs(sized.values[at]) for one in child.groups for sizes in one.foods.values() for sized in sizes)
    return float(max(1, abs(bound), *values))


def _worst(made: _Offer, name: str, one: Candidates, at: int, unit: float) -> int:
    """A variable that is at least the worst sum that can be taken from a group, in a row."""
    model = made.model
    smallest = sorted(min(sized.values[at] for sized in sizes) for sizes in one.foods.values())
    if one.repeats or one.most <= 1:
        # With so many foods to be found, the greatest of them is at least the smallest but so many: a tight floor.
        floor = smallest[one.choices - 1] if one.choices else smallest[0]
        numbers = [number for number in (one.least, one.most) if number]
        low = floor if one.least else 0
        value = model.variable(lower=max((number * low / unit for number in numbers), default=0.0))
        for food, sizes in one.foods.items():
            larger = {
                made.sized[(name, one.group, food, s.size)]: s.values[at] - low for s in sizes if s.values[at] > low
            }
            for number in dict.fromkeys(numbers) if larger else ():
                over = {size: -number * more / unit for size, more in larger.items()}
                model.row({value: 1.0, **over}, at_least=number * low / unit)
        return value
    value = model.variable(lower=-float("inf"))
    low = min(0, smallest[0])
    for number in range(max(one.least, 0), one.most + 1):
        if not number:
            model.row({value: 1.0}, at_least=0)
            continue
        common = model.variable()
        terms = {value: 1.0, common: -float(number)}
        for food, sizes in one.foods.items():
            above = model.variable()
            terms[above] = -1.0
            mine = {made.sized[(name, one.group, food, s.size)]: -(s.values[at] - low) / unit for s in sizes}
            model.row({common: 1.0, above: 1.0, **mine}, at_least=0)
        model.row(terms, at_least=number * low / unit)
    return value


def _add_means(made: _Offer, child: ChildToServe, fixed: Mapping[str, Sequence[str]], *, spread: bool) -> None:
    """The expected lunch within the bound of each mean; what is missed has its cost.

    ``spread``: half the expected lunch and half the extreme one, since the expected one alone may lie on the bound, and then
    misses it in every other week.
    """
    extreme = 0.5 if spread else 0.0
    model, name = made.model, child.name
    for mean in child.means:
        if greatest_sum(child.groups, mean.at) <= mean.bound:
            continue
        unit = _unit(child, mean.at, mean.bound)
        terms: dict[int, float] = {}
        for one in child.groups:
            if spread:
                terms[_worst(made, name, one, mean.at, unit)] = extreme
            settled = sum(food in one.foods for food in fixed.get(one.group, ()))
            share = (1 - extreme) * (one.least + one.most) / 2 / (settled or one.choices or 1)
            for food, sizes in one.foods.items():
                for sized in sizes:
                    at = made.sized[(name, one.group, food, sized.size)]
                    terms[at] = terms.get(at, 0.0) + share * sized.values[mean.at] / unit
        missed = model.variable(cost=unit / max(abs(mean.bound), 1))
        made.missed.append(missed)
        model.row({**terms, missed: -1.0}, at_most=mean.bound / unit)


def _read(made: _Offer, found: Solution, children: Sequence[ChildToServe]) -> Designed:
    foods: dict[str, list[str]] = {}
    for (group, food), place in made.stands.items():
        if found.whole(place):
            foods.setdefault(group, []).append(food)
    sizes: dict[str, dict[str, dict[str, int]]] = {
        child.name: {one.group: {} for one in child.groups} for child in children
    }
    for (name, group, food, size), place in made.sized.items():
        if found.whole(place):
            sizes[name][group][food] = size
    missed = sum(found.values[place] * made.model.cost[place] for place in made.missed)
    return Designed(
        {group: tuple(some) for group, some in foods.items()},
        sizes,
        missed,
        found.status == "optimal" and found.gap < PROVEN,
    )
