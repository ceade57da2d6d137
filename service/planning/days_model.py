"""Which offer stands on which day: none again within some days, the cheaper and the more urgent first, as few changes as can be."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from service.domain.errors import BadInput
from service.domain.messages import message
from service.planning.solver import Model, solve

AGAIN = 1e5
"""What an offer that comes again too soon counts."""
NOTHING = 1e4
"""What a child counts that finds too little in the offer of its day."""
CHANGED = 100.0
"""What a day with another offer than before counts."""
EARLIER = 1e-4
SECONDS = 10.0


class OfferOfPlan(NamedTuple):
    """An offer that may stand. ``cost``: from 0 to 1; ``urgent``: by place of the day, how much of the stock ends by then
    that it uses, from 0 to 1; ``nothing_for``: by place of the day, how many children find too little in it."""

    id: str
    cost: float
    urgent: Sequence[float]
    nothing_for: Sequence[int]


def stand_offers(
    offers: Sequence[OfferOfPlan],
    days: int,
    no_repeat: int,
    settled: Mapping[int, str],
    before: Mapping[int, str],
    seconds: float = SECONDS,
) -> list[str]:
    """The offer of each day. ``settled``, ``before``: offers by place of the day, given and as they were.

    >>> offers = [OfferOfPlan("soup", 0.2, [0] * 4, [0] * 4), OfferOfPlan("rolls", 0.9, [0] * 4, [0] * 4)]
    >>> stand_offers(offers, 4, 1, {}, {})
    ['soup', 'rolls', 'soup', 'rolls']
    >>> stand_offers(offers, 4, 1, {0: "rolls"}, {})
    ['rolls', 'soup', 'rolls', 'soup']
    """
    model = Model()
    no_repeat = min(no_repeat, len(offers) - 1)
    stands: dict[tuple[int, int], int] = {}
    for day in range(days):
        for place, one in enumerate(offers):
            cost = one.cost - 2 * one.urgent[day] + NOTHING * one.nothing_for[day] + EARLIER * place * (days - day)
            if day in before and before[day] != one.id:
                cost += CHANGED
            stands[(day, place)] = model.choice(cost)
            if day in settled:
                model.lower[-1] = model.upper[-1] = float(settled[day] == one.id)
        model.row({stands[(day, place)]: 1.0 for place in range(len(offers))}, 1, 1)
    if no_repeat:
        for first in range(days - 1):
            some = range(first, min(days, first + no_repeat + 1))
            for place in range(len(offers)):
                too_often = model.variable(cost=AGAIN)
                model.row({**{stands[(day, place)]: 1.0 for day in some}, too_often: -1.0}, at_most=1)
    found = solve(model, seconds=seconds)
    if not found.values:
        # There is always a plan, as what comes again too soon has a variable of its own: so the time was up.
        raise BadInput(field="days", value=f"{days} days", problem=message("fault.no-plan-in-time"))
    return [
        next(one.id for place, one in enumerate(offers) if found.whole(stands[(day, place)])) for day in range(days)
    ]
