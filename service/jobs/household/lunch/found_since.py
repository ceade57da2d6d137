"""What was found since lunches were logged: packets read or edited later, and allergies entered or removed later.

A week goes by what was known when each lunch was logged; what would read otherwise now is offered. A danger that nobody
knew of then always is: a packet now names what the child must not have, or an allergy was entered for what was packed.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from typing import Literal, NamedTuple

from service.domain.allergens.screening import OUTCOME_RANK, Avoidance, Outcome, Screened, screen_food
from service.domain.foods.food import Food
from service.domain.messages import Message, message
from service.jobs.allergens.avoidances import avoidances_of
from service.jobs.foods.by_id import food_by_id
from service.jobs.foods.packets import food_ids, packets_at_hand, packets_for
from service.jobs.foods.resolve import food_of
from service.jobs.household.requests import KeptChild, KeptLunch
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.requests.fields import is_kept_id
from service.jobs.requests.people import Setting
from service.jobs.weeks.days import menu_food
from service.jobs.weeks.requests import WeekDayAsked
from service.reference.allergens.vocabulary import vocabulary

How = Literal["danger", "entered", "removed", "relaxed"]
"""What another avoidance means for a food that was packed."""


class Correction(NamedTuple):
    """Something that is stored otherwise by now than when lunches were logged.

    ``food``: the id of an own food or recipe, or of the food of a packet; ``dates``: of the lunches that still go by what
    was stored then; ``names``: of the foods it is about; ``allergens``: ids; ``do_not_pack``: a danger not known then.
    """

    kind: str
    food: str | None
    dates: tuple[date, ...]
    said: Message
    names: tuple[str, ...] = ()
    allergens: tuple[str, ...] = ()
    do_not_pack: bool = False


class _Packed(NamedTuple):
    """One food of a lunch: as it was known then, with the packets of now, and as it is now with these.

    ``other_packets``: the ids of foods in it of which another packet holds by now.
    """

    then: Food
    read: Food
    now: Food
    other_packets: tuple[str, ...]


class _Seen(NamedTuple):
    """What differs for one food of one lunch. ``outcome``: by what is known now, of a danger."""

    on: date
    name: str
    allergen: str = ""
    outcome: Outcome | None = None


class FoundSince:
    """Gathers from the lunches of a week what was found since they were logged."""

    def __init__(self, kept: KeptThings, child: KeptChild, monday: date) -> None:
        self._kept = kept
        self._child = child
        self._avoided = _by_allergen(avoidances_of(child, child.setting()))
        self._packets = kept.packets(monday, monday + timedelta(days=6))
        self._of_packets: dict[tuple[str, bool], list[_Seen]] = {}
        self._of_avoids: dict[tuple[str, How], list[_Seen]] = {}

    def add(self, lunch: KeptLunch, then: WeekDayAsked) -> None:
        """Look at one lunch; ``then``: as a day of its week. Older records say nothing of what was known then."""
        packed = self._packed(lunch, then)
        avoided = self._avoided
        if then.avoids is not None:
            child = self._child.model_copy(update={"avoids": then.avoids})
            avoided = _by_allergen(avoidances_of(child, then.setting or Setting()))
            for one in packed:
                self._add_avoids(lunch.date, one, avoided)
        for one in packed:
            self._add_packets(lunch.date, one, avoided)

    def dangers(self) -> list[Correction]:
        """What must not be packed by what is known now."""
        return [*self._packets_said(danger=True), *self._avoids_said(danger=True)]

    def others(self) -> list[Correction]:
        """All else that the week would say otherwise."""
        return [*self._packets_said(danger=False), *self._avoids_said(danger=False)]

    def _packets_said(self, *, danger: bool) -> Iterator[Correction]:
        for (food, in_danger), seen in self._of_packets.items():
            if in_danger == danger:
                name = self._kept.food(food, "/food").name if is_kept_id(food) else food_by_id(food).name
                yield _packet_said(food, name, seen, danger=danger)

    def _avoids_said(self, *, danger: bool) -> Iterator[Correction]:
        for (allergen, how), seen in self._of_avoids.items():
            if (how == "danger") == danger:
                yield _avoidance_said(allergen, how, seen)

    def _packed(self, lunch: KeptLunch, then: WeekDayAsked) -> list[_Packed]:
        if then.menu is not None:
            menu = menu_food(then.menu)
            return [_Packed(menu, menu, menu, ())]
        asked_now = [
            self._kept.food(one.food, "/items") if isinstance(one.food, str) and is_kept_id(one.food) else one.food
            for one in lunch.items
        ]
        asked_then = [one.food for one in then.items]
        held_now = packets_at_hand(packets_for([*asked_then, *asked_now], self._packets), lunch.date)
        held_then = held_now if then.packets is None else packets_at_hand(then.packets, lunch.date)
        found = []
        for was, now in zip(asked_then, asked_now, strict=True):
            ids = {*food_ids(was), *food_ids(now)}
            other = tuple(sorted(one for one in ids if held_then.by_food.get(one) != held_now.by_food.get(one)))
            known_then = food_of(was, held_then)
            read = food_of(was, held_now) if other else known_then
            found.append(_Packed(known_then, read, read if was is now else food_of(now, held_now), other))
        return found

    def _add_packets(self, on: date, one: _Packed, avoided: dict[str, Avoidance]) -> None:
        """Whether the week would say something else of a food by the packets of now."""
        if not one.other_packets:
            return
        in_danger = [
            _Seen(on, one.then.name, screened.found, screened.outcome)
            for allergen, avoidance in self._avoided.items()
            if avoided.get(allergen) == avoidance
            and not screen_food(vocabulary(), one.then, avoidance).do_not_pack
            and (screened := _worst([one.read, one.now], avoidance)).do_not_pack
        ]
        for food in one.other_packets:
            if in_danger:
                self._of_packets.setdefault((food, True), []).extend(in_danger)
            elif _said(one.then, avoided) != _said(one.read, avoided):
                self._of_packets.setdefault((food, False), []).append(_Seen(on, one.then.name))

    def _add_avoids(self, on: date, one: _Packed, avoided_then: Mapping[str, Avoidance]) -> None:
        """Whether the week would say something else of a food by what must be kept away now."""
        for allergen in sorted({*avoided_then, *self._avoided}):
            before, after = avoided_then.get(allergen), self._avoided.get(allergen)
            if before == after:
                continue
            was = None if before is None else screen_food(vocabulary(), one.then, before)
            now = None if after is None else _worst([one.then, one.read, one.now], after)
            how = _how(was, now)
            if how is not None:
                found = allergen if now is None else now.found
                seen = _Seen(on, one.then.name, found, None if now is None else now.outcome)
                self._of_avoids.setdefault((allergen, how), []).append(seen)


def _how(was: Screened | None, now: Screened | None) -> How | None:
    """What another avoidance means for a food; None: nothing. ``was``, ``now``: None where it is not looked for."""
    if now is not None and now.do_not_pack and not (was is not None and was.do_not_pack):
        return "danger"
    if was is None:
        return None if now is None or now.outcome == "not_declared" else "entered"
    if now is None:
        return None if was.outcome == "not_declared" else "removed"
    return "relaxed" if was.do_not_pack and not now.do_not_pack else None


def _packet_said(food: str, name: str, seen: Sequence[_Seen], *, danger: bool) -> Correction:
    """A packet of which something else is known now. ``food``, ``name``: what it stands for."""
    dates, names = _dates(seen), _names(seen)
    days = [on.isoformat() for on in dates]
    if not danger:
        said = message("correction.packet", name=name, names=list(names), dates=days)
        return Correction("packet", food, dates, said, names)
    said = message("correction.packet-danger", reasons=_reasons(seen), name=name, dates=days)
    return Correction("packet", food, dates, said, names, _allergens(seen), do_not_pack=True)


def _avoidance_said(allergen: str, how: How, seen: Sequence[_Seen]) -> Correction:
    """An allergen that must be kept away now and did not have to be, or the other way round."""
    dates, names = _dates(seen), _names(seen)
    days, word = [on.isoformat() for on in dates], vocabulary().allergens[allergen].name
    if how == "danger":
        said = message("correction.avoids-danger", reasons=_reasons(seen), allergen=word, dates=days)
    elif how == "entered":
        said = message("correction.avoids-entered", allergen=word, names=list(names), dates=days)
    elif how == "removed":
        said = message("correction.avoids-removed", allergen=word, names=list(names), dates=days)
    else:
        said = message("correction.avoids-relaxed", allergen=word, names=list(names), dates=days)
    return Correction("avoids", None, dates, said, names, _allergens(seen), do_not_pack=how == "danger")


def _dates(seen: Sequence[_Seen]) -> tuple[date, ...]:
    return tuple(sorted({one.on for one in seen}))


def _names(seen: Sequence[_Seen]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(one.name for one in seen))


def _allergens(seen: Sequence[_Seen]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(one.allergen for one in seen))


def _reasons(seen: Sequence[_Seen]) -> list[Message]:
    return list({(one.name, one.allergen, one.outcome): _reason(one) for one in seen}.values())


def _reason(one: _Seen) -> Message:
    """What a food holds by what is known now."""
    allergen = vocabulary().allergens[one.allergen].name
    if one.outcome == "may_contain":
        return message("summary.may-contain", item=one.name, allergen=allergen)
    return message("summary.contains", item=one.name, allergen=allergen)


def _by_allergen(avoidances: Sequence[Avoidance]) -> dict[str, Avoidance]:
    """The stricter threshold of each allergen, whether the child or its school asks for it."""
    found: dict[str, Avoidance] = {}
    for one in avoidances:
        if one.allergen not in found or one.threshold == "may_contain":
            found[one.allergen] = Avoidance(one.allergen, one.threshold)
    return found


def _worst(foods: Sequence[Food], avoidance: Avoidance) -> Screened:
    """The gravest of what is known of a food."""
    seen = [screen_food(vocabulary(), food, avoidance) for food in foods]
    return max(seen, key=lambda one: (one.do_not_pack, OUTCOME_RANK[one.outcome]))


def _said(food: Food, avoided: Mapping[str, Avoidance]) -> tuple[object, ...]:
    """What a week says of a food: its figures, and what was found of each allergen."""
    figures = (food.nutrients, dict(food.ranges), dict(food.partly), dict(food.estimated))
    return (*figures, [screen_food(vocabulary(), food, one).outcome for one in avoided.values()])
