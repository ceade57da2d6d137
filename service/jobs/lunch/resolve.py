"""From a request to a lunch that can be judged: every name, id and day becomes what it stands for.

All faults of a request are found here and reported together; what comes after looks nothing up.
"""

from collections.abc import Sequence
from typing import NamedTuple

from service.domain.allergens.screening import Avoidance
from service.domain.errors import Faults, Place
from service.domain.foods.packets import NO_PACKETS
from service.domain.lunch.check import LunchToJudge, PreparedItem
from service.domain.lunch.energy_need import EnergyNeed
from service.domain.lunch.handling import Holding
from service.domain.lunch.standards import TargetTable
from service.domain.lunch.yardsticks import Yardstick
from service.jobs.allergens.avoidances import avoidances_of
from service.jobs.foods.packets import packets_at_hand
from service.jobs.lunch.items import prepare_in_order
from service.jobs.lunch.targets import age_in_months, target_table
from service.jobs.lunch.yardsticks import yardsticks_for
from service.jobs.requests.lunches import HoldingConditions, LunchCheckRequest
from service.jobs.requests.people import Child
from service.reference.allergens.vocabulary import vocabulary
from service.reference.lunch.handling import handling_rules


class SentItem(NamedTuple):
    """How an item of the lunch was sent: its place in the request, and the caller's own id for it."""

    place: int | None
    id: str | None


class ResolvedLunch(NamedTuple):
    """A lunch that can be judged, how each of its items was sent, and the child's own energy need."""

    lunch: LunchToJudge
    sent: list[SentItem]
    need: EnergyNeed | None


def resolve_lunch(asked: LunchCheckRequest, *, on_at: Place = ("on",), lunch_at: Place = ("lunch",)) -> ResolvedLunch:
    """Resolve a request. ``on_at``, ``lunch_at``: where the day and the lunch are in what the caller sent.

    Raises ``LunchError`` (``ManyFaults`` for several) for whatever in it does not fit the reference data.
    """
    faults = Faults()
    table: TargetTable | None = None
    avoidances: list[Avoidance] = []
    items: list[tuple[int, PreparedItem]] = []
    asked_items = asked.lunch.items
    need: EnergyNeed | None = None
    packets = NO_PACKETS
    with faults.at():
        table = target_table(asked.standard, asked.child, asked.on, on_at=on_at)
    with faults.at():
        avoidances = avoidances_of(asked.child, asked.setting)
    with faults.at("packets"):
        packets = packets_at_hand(asked.packets, asked.on, asked.salts_cooking_water)
    with faults.at(*lunch_at, "items"):
        items = prepare_in_order(asked_items, "" if table is None else table.standard.crediting, packets)
    with faults.at("child"):
        need = energy_need_of(asked.child)
    yardsticks: tuple[Yardstick, ...] = ()
    if asked.yardsticks and table is not None:
        with faults.at("yardsticks"):
            yardsticks = yardsticks_for(asked.yardsticks, age_in_months(asked.child, table.age_group), asked.on)
    if asked.offer:
        from service.jobs.foods.at_hand import foods_named

        with faults.at("offer"):
            foods_named(asked.offer, packets)
    faults.raise_all()
    assert table is not None  # noqa: S101 - otherwise there was a fault
    lunch = lunch_to_judge(
        table,
        [item for _place, item in items],
        avoidances,
        asked.lunch.holding,
        age_in_months(asked.child, table.age_group),
        asked.regions,
        yardsticks,
    )
    sent = [SentItem(place, asked_items[place].id) for place, _item in items]
    return ResolvedLunch(lunch, sent, need)


def lunch_to_judge(
    table: TargetTable,
    items: Sequence[PreparedItem],
    avoidances: Sequence[Avoidance],
    holding: HoldingConditions | None,
    age_months: int,
    regions: Sequence[str],
    yardsticks: tuple[Yardstick, ...] = (),
) -> LunchToJudge:
    """A lunch of items made ready, with the vocabulary and the rules on handling."""
    return LunchToJudge(
        table,
        items,
        avoidances,
        vocabulary(),
        handling_rules(),
        holding_of(holding),
        age_months,
        tuple(regions),
        yardsticks,
    )


NOT_SAID = Holding()


def holding_of(asked: HoldingConditions | None) -> Holding:
    """How a lunch is kept, as far as it is said."""
    if asked is None:
        return NOT_SAID
    return Holding(
        asked.insulated,
        asked.cold_sources,
        asked.minutes_until_eaten,
        asked.ambient_c,
        asked.flask_preheated,
        asked.flask_filled_at_c,
    )


def energy_need_of(child: Child) -> EnergyNeed | None:
    """The child's own need by equation; None unless everything is given. Faults have their place within the child."""
    months = child.months()
    if child.sex is None or child.height_cm is None or child.weight_kg is None or child.activity is None:
        return None
    if months is None:
        return None
    from service.domain.lunch.energy_need import energy_need
    from service.reference.lunch.energy import lunch_share, need_equations

    return energy_need(
        need_equations(),
        lunch_share(),
        sex=child.sex,
        age_months=months,
        height_cm=child.height_cm,
        weight_kg=child.weight_kg,
        activity=child.activity,
    )
