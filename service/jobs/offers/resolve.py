"""Makes an audit's request ready: each child's offer, the measures to look into, and the foods that may come in.

Every fault is reported with its place, all of them together.
"""

from typing import NamedTuple

from service.domain.counting.masks import Tick
from service.domain.errors import BadInput, Faults, UnknownName
from service.domain.foods.amounts import Portion, near_names
from service.domain.foods.packets import NO_PACKETS, Packets
from service.domain.measures import MEASURE_INDEX
from service.domain.messages import message
from service.jobs.foods.packets import days_alike, packets_at_hand
from service.jobs.offers.changes import named_foods
from service.jobs.offers.layout import ChildOffer, PreparedOffers, lay_out
from service.jobs.offers.portions import names_of_children, refuse_wrong_portions
from service.jobs.offers.requests import A_NICKNAME, OfferAuditRequest


class ResolvedAudit(NamedTuple):
    """A request made ready. ``measures``: None where those of the child's targets are meant.

    ``named``: foods that may come in; None where the lunch foods are meant.
    """

    children: list[ChildOffer]
    measures: list[int] | None
    named: list[Portion] | None


def resolve_audit(asked: OfferAuditRequest, tick: Tick | None = None) -> ResolvedAudit:
    """Look up everything the request names; ``LunchError`` (``ManyFaults`` for several) for what does not fit.

    ``tick``: called for each child, may raise to stop.
    """
    children: list[ChildOffer] = []
    measures: list[int] | None = None
    named: list[Portion] | None = None
    packets, on_other_days = NO_PACKETS, list[Packets]()
    faults = Faults()
    with faults.at("packets"):
        packets = packets_at_hand(asked.packets, asked.on, asked.salts_cooking_water)
        if len(asked.days) > 1:
            others = [day for day in dict.fromkeys(days_alike(asked.packets, asked.days).values()) if day != asked.on]
            on_other_days = [packets_at_hand(asked.packets, day, asked.salts_cooking_water) for day in others]
    prepared = PreparedOffers(asked.offer, packets, on_other_days)
    with faults.at("children"):
        _refuse_doubles(asked)
    with faults.at("offer"):
        refuse_wrong_portions(asked.offer, names_of_children(asked.children))
    with faults.at("measures"):
        measures = None if asked.measures is None else _known_measures(asked.measures)
    with faults.at():
        named = named_foods(asked, packets)
    for place in range(len(asked.children)):
        if tick is not None:
            tick()
        with faults.at():
            children.append(lay_out(asked, place, prepared))
    faults.found = list({fault.sentence(): fault for fault in faults.found}.values())  # what children share, once
    faults.raise_all()
    return ResolvedAudit(children, measures, named)


def _refuse_doubles(asked: OfferAuditRequest) -> None:
    """Raise ``BadInput`` for the first child with a nickname that another has too."""
    names = names_of_children(asked.children)
    for place, name in enumerate(names):
        if names.count(name) > 1:
            raise BadInput(
                field=(place, "nickname"),
                value=A_NICKNAME,
                problem=message("fault.nickname-twice"),
            )


def _known_measures(names: list[str]) -> list[int]:
    faults = Faults()
    for place, name in enumerate(names):
        if name not in MEASURE_INDEX:
            known = message("help.known", names=list(MEASURE_INDEX))
            near = near_names(name, MEASURE_INDEX)
            faults.add(UnknownName(field=(place,), value=name, kind=message("kind.measure"), near=near, known=known))
    faults.raise_all()
    return [MEASURE_INDEX[name] for name in dict.fromkeys(names)]
