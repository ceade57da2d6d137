"""The children of a request for the kitchen, and what is known of a food for them."""

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from service.domain.allergens.screening import Avoidance, Screened, screen_food
from service.domain.allergens.to_read import foods_to_read
from service.domain.errors import BadInput, Faults
from service.domain.foods.food import Food
from service.domain.foods.packets import NO_PACKETS, NOTHING_KNOWN_OF_FOODS, KnownOfFoods, Packets
from service.domain.messages import message
from service.jobs.allergens.avoidances import avoidances_of
from service.jobs.foods.packets import packets_at_hand, resolve_packets
from service.jobs.plan.kitchen.requests import KitchenWithIds
from service.jobs.requests.people import Setting
from service.jobs.requests.screenings import ScreenedChild
from service.reference.allergens.vocabulary import vocabulary

NOBODY = ScreenedChild(nickname="-")
NO_BANS = Setting()


class Eater(NamedTuple):
    """A child, and what must be kept away from it."""

    name: str
    avoidances: tuple[Avoidance, ...]


class Kitchen(NamedTuple):
    """The children who eat of it, in the order asked, and the packets: those that hold, and whatever was read."""

    eaters: tuple[Eater, ...]
    packets: Packets
    known: KnownOfFoods = NOTHING_KNOWN_OF_FOODS


def resolve_kitchen(asked: KitchenWithIds) -> Kitchen:
    """The children of a request, and its packets that hold on its last day.

    Raises ``LunchError`` (several together) for unknown allergens, doubled nicknames and packets that do not fit.
    """
    faults = Faults()
    packets, known = NO_PACKETS, NOTHING_KNOWN_OF_FOODS
    with faults.at("packets"):
        known = KnownOfFoods(tuple(resolve_packets(asked.packets)), asked.salts_cooking_water)
        packets = packets_at_hand(asked.packets, asked.days_asked()[1], asked.salts_cooking_water)
    bans: list[Avoidance] = []
    with faults.at():
        bans = avoidances_of(NOBODY, asked.setting)
    eaters: list[Eater] = []
    for place, child in enumerate(asked.children):
        assert isinstance(child, ScreenedChild)  # noqa: S101 - ids were resolved
        if any(one.name == child.nickname for one in eaters):
            where = ("children", place, "nickname")
            faults.add(BadInput(field=where, value="(a nickname)", problem=message("fault.nickname-twice")))
        own: list[Avoidance] = []
        with faults.at():
            own = avoidances_of(child, NO_BANS, ("children", place))
        eaters.append(Eater(child.nickname, tuple(sorted({*own, *bans}, key=lambda one: (one.allergen, one.by)))))
    faults.raise_all()
    return Kitchen(tuple(eaters), packets, known)


class Spoken(NamedTuple):
    """What speaks against a food for one child: the allergens it must not be packed for, and those to look for on a packet."""

    eater: Eater
    forbidden: tuple[str, ...]
    to_read: tuple[tuple[Food, tuple[str, ...]], ...]


def spoken_of(food: Food, eaters: Iterable[Eater]) -> Iterator[Spoken]:
    """For each child whom a food is not clear for what speaks against it. Unknown fails closed: it is to be read."""
    for eater in eaters:
        found = [screen_food(vocabulary(), food, one) for one in eater.avoidances]
        forbidden = _names(one for one in found if one.do_not_pack)
        open_ones = [one.avoidance for one in found if one.unread and not one.do_not_pack]
        reads = tuple(
            (part, tuple(_name(allergen) for allergen in allergens))
            for part, allergens in foods_to_read(vocabulary(), food, open_ones)
        )
        if forbidden or reads:
            yield Spoken(eater, forbidden, reads)


def _names(found: Iterable[Screened]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(_name(one.avoidance.allergen) for one in found))


def _name(allergen: str) -> str:
    return vocabulary().allergens[allergen].name


def eaters_at(kitchen: Kitchen, places: Sequence[int]) -> tuple[Eater, ...]:
    """The children at these places; all of them for none."""
    return tuple(kitchen.eaters[place] for place in places) if places else kitchen.eaters
