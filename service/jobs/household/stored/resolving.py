"""What each id of a stored record in a request stands for, put in its place; faults are kept and raised together.

A food's id becomes its label or recipe; a child's what a check asks of a child; a lunch's and an offer's their parts.
"""

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from functools import cache, partial
from types import NoneType
from typing import Any, TypeVar, cast

from pydantic import BaseModel

from service.domain.errors import LunchError, NoneOfThem, NotThere, at, raise_all
from service.jobs.household.requests import KeptChild
from service.jobs.household.stored.child_standard import for_one_lunch, for_week
from service.jobs.household.stored.dislikes import Offered, disliked, has_wishes, offered_by
from service.jobs.household.stored.kept_dishes import dish_as_its_recipe_says
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.household.stored.taken_before import taken_before
from service.jobs.offers.requests import (
    FamilyWithIds,
    ItemRef,
    OfferAuditRequest,
    OfferAuditWithIds,
    OfferChild,
    OfferedItem,
    OfferForFamilyWithIds,
    OfferIn,
)
from service.jobs.plan.kitchen.requests import KitchenWithIds
from service.jobs.plan.requests import (
    OfferDesignRequest,
    OfferDesignWithIds,
    PortionNeedsRequest,
    PortionNeedsWithIds,
)
from service.jobs.plan.shopping.requests import ShoppingListRequest, ShoppingListWithIds
from service.jobs.plan.weeks.requests import PlanOfferInFull, PlanRequest, PlanWithIds
from service.jobs.requests.fields import is_kept_id
from service.jobs.requests.foods import LabelFood, Packet, Recipe, RecipeIngredient
from service.jobs.requests.lunches import Lunch, LunchCheckRequest, LunchCheckWithIds, LunchItem
from service.jobs.requests.people import AvoidedAllergen
from service.jobs.requests.screenings import (
    ScreenedChild,
    ScreenedItem,
    ScreenedItemWithIds,
    ScreeningRequest,
    ScreeningWithIds,
)
from service.jobs.tables.request import LunchTableRequest
from service.jobs.weeks.requests import PriceAsked, WeekRequest, WeekWithIds
from service.store.household.kinds import OFFER

FOODS_IN = ("offer", "swap_foods")
"""Lists whose elements are food ids or items."""
NAMES_NO_FOOD = (int, float, date, NoneType)
_Part = TypeVar("_Part")
_Kitchen = TypeVar("_Kitchen", bound=KitchenWithIds)
_WithPackets = TypeVar(
    "_WithPackets",
    LunchCheckRequest,
    ScreeningRequest,
    OfferAuditRequest,
    WeekRequest,
    LunchTableRequest,
    KitchenWithIds,
)
_WithSalt = TypeVar("_WithSalt", LunchCheckRequest, OfferAuditRequest, WeekRequest, LunchTableRequest, KitchenWithIds)
_WithRegions = TypeVar("_WithRegions", LunchCheckRequest, OfferAuditRequest, WeekRequest, KitchenWithIds)
_Model = TypeVar("_Model", bound=BaseModel)


def foods_resolved(kept: "KeptThings", part: _Part) -> _Part:
    """A part of a request with the ids of own foods and recipes in it resolved; ``NotThere`` for all that are not here."""
    resolving = Resolving(kept)
    done = resolving.foods(part, "")
    resolving.raise_faults()
    return done


class Resolving:
    """Resolves the ids of one request and keeps the faults, so that all of them are reported together."""

    def __init__(self, kept: KeptThings) -> None:
        self.kept = kept
        self.faults: list[LunchError] = []

    def lunch_check(self, asked: LunchCheckWithIds) -> LunchCheckRequest:
        """The child (with its standard and its school's bans where none are given), the lunch, the foods."""
        changes = self._child(asked, asked.on)
        if isinstance(asked.lunch, str):
            changes["lunch"] = self.or_fault(lambda: self._lunch(str(asked.lunch)))
        whole = self._by_regions(self._narrowed(LunchCheckRequest, asked, changes))
        return self._with_salt(self._with_packets(whole, asked.on, asked.on))

    def week(self, asked: WeekWithIds) -> WeekRequest:
        """The child (with its standard and its school's bans where none are given) and the foods."""
        monday = self.or_fault(asked.first_day)
        whole = self._by_regions(
            self._narrowed(WeekRequest, asked, {} if monday is None else self._child(asked, monday))
        )
        if monday is None:
            return whole
        days = [*(day.date for day in asked.days), monday + timedelta(days=7)]
        return self._with_salt(self._with_packets(whole, min(days), max(days)))

    def screening(self, asked: ScreeningWithIds) -> ScreeningRequest:
        """The children, each with its own school's bans among what it avoids; the lunches and foods."""
        changes = {
            "children": [self._screened(one, f"/children/{place}") for place, one in enumerate(asked.children)],
            "items": [self._screened_item(one, f"/items/{place}") for place, one in enumerate(asked.items)],
        }
        on = asked.on or date.today()  # noqa: DTZ011 - the kitchen's own calendar day
        return self._with_packets(self._narrowed(ScreeningRequest, asked, changes), on, on)

    def audit(self, asked: OfferAuditWithIds) -> OfferAuditRequest:
        """The offer, its foods, the children, who do not take what they dislike, and how lunches are kept."""
        offer = asked.offer
        if isinstance(offer, str):
            offer = self.or_fault(lambda: self._offer(str(asked.offer))) or offer
        whole = self._narrowed(OfferAuditRequest, asked, {"offer": offer})
        offered = cache(lambda: [] if isinstance(offer, str) else offered_by(whole.offer))
        children = [self._audited(one, f"/children/{n}", asked.on, offered) for n, one in enumerate(asked.children)]
        changes: dict[str, Any] = {"children": children, "holding": asked.holding or self.kept.holding()}
        if not isinstance(offer, str):
            changes["offer"] = self._portions_by_nickname(whole.offer, asked, children)
        whole = self._by_regions(whole.model_copy(update=changes))
        return self._with_salt(self._with_packets(whole, asked.on, asked.on))

    def portion_needs(self, asked: PortionNeedsWithIds) -> PortionNeedsRequest:
        """What an audit of the offer resolves; the stored prices and what was taken before, where none are sent."""
        audit = self.audit(asked.audit_with_ids())
        changes: dict[str, Any] = {name: getattr(audit, name) for name in OfferForFamilyWithIds.model_fields}
        if "prices" not in asked.model_fields_set:
            changes["prices"] = self.kept.prices(min(asked.days), max(asked.days))
        whole = PortionNeedsRequest.model_construct(asked.model_fields_set | set(changes), **{**dict(asked), **changes})
        given = "liked" in asked.model_fields_set or self.faults
        return whole if given else whole.knowing(taken_before(self.kept, asked.children, min(asked.days)))

    def offer_design(self, asked: OfferDesignWithIds) -> OfferDesignRequest:
        """What an audit of all foods together resolves; the foods of the groups; the stored prices where none are sent."""
        changes: dict[str, Any] = {"groups": self.foods(asked.groups, "/groups")}
        if not self.faults:
            audit = self.audit(asked.model_copy(update=changes).audit_with_ids())
            changes |= {name: getattr(audit, name) for name in FamilyWithIds.model_fields}
        if "prices" not in asked.model_fields_set:
            changes["prices"] = self.kept.prices(asked.on, asked.on)
        whole = {**dict(asked), **changes}
        return OfferDesignRequest.model_construct(asked.model_fields_set | set(changes), **whole).sent_as(asked)

    def plan(self, asked: PlanWithIds) -> PlanRequest:
        """What an audit of each offer resolves; a child takes what it dislikes from none; the stored prices where none are sent."""
        changes: dict[str, Any] = {}
        offers: list[PlanOfferInFull] = []
        for place, one in enumerate(asked.offers):
            known = len(self.faults)
            audit = self.audit(asked.audit_with_ids(place))
            for fault in self.faults[known:]:
                if fault.pointer.startswith("/offer"):
                    fault.under(f"/offers/{place}")
            offers.append(PlanOfferInFull.model_construct(id=one.id, offer=audit.offer))
            shared = {name: getattr(audit, name) for name in FamilyWithIds.model_fields}
            shared["children"] = _not_taken_together(changes.get("children"), audit.children)
            changes |= shared
        changes["offers"] = offers
        offered = {} if self.faults else _first_items(offers)
        changes["dishes"] = [
            self.or_fault(partial(dish_as_its_recipe_says, self.kept, one, place, offered.get(one.food)))
            for place, one in enumerate(asked.dishes)
        ]
        self.faults = list({fault.sentence(): fault for fault in self.faults}.values())
        first, last = min(asked.days), max(asked.days)
        if not asked.prices:
            changes["prices"] = self.kept.prices(first, last)
        if not asked.school_meal:
            changes["school_meal"] = self.kept.meal_prices(
                first, last, [one if isinstance(one, str) else "" for one in asked.children]
            )
        whole = PlanRequest.model_construct(asked.model_fields_set | set(changes), **{**dict(asked), **changes})
        unasked = self.faults or asked.way == "lunches" or asked.amounts != "usual"
        return whole if unasked else whole.knowing(taken_before(self.kept, asked.children, first))

    def shopping_list(self, asked: ShoppingListWithIds) -> ShoppingListRequest:
        """What every request for the kitchen resolves; the stored prices where none are sent."""
        whole = self.kitchen(ShoppingListRequest, asked)
        if "prices" in asked.model_fields_set:
            return whole
        return whole.model_copy(update={"prices": self.kept.prices(*asked.days_asked())})

    def kitchen(self, model: type[_Kitchen], asked: KitchenWithIds) -> _Kitchen:
        """The children, each with its own school's bans among what it avoids; the foods, packets and the cooking water."""
        children = [self._screened(one, f"/children/{place}") for place, one in enumerate(asked.children)]
        whole: KitchenWithIds = self._narrowed(model, asked, {"children": children})
        whole = self._by_regions(whole)
        return cast("_Kitchen", self._with_salt(self._with_packets(whole, *asked.days_asked())))

    def table(self, asked: LunchTableRequest) -> LunchTableRequest:
        """The rows as they are, which name no ids; what the household knows of foods on their days."""
        for place, packet in enumerate(asked.packets):
            self.foods(packet, f"/packets/{place}")
        days = asked.days()
        return self._with_salt(self._with_packets(asked, days[0], days[-1]) if days else asked)

    def foods(self, part: _Part, pointer: str) -> _Part:
        """A part with the ids of own foods resolved; what holds none is given back as it is."""
        if isinstance(part, Packet):
            if is_kept_id(part.food):
                food = part.food
                self.or_fault(lambda: self.kept.food(food, f"{pointer}/food", recipes=False))
            return part
        if isinstance(part, BaseModel):
            changes: dict[str, Any] = {}
            for name, value in part:
                if not value or isinstance(value, NAMES_NO_FOOD) or (isinstance(value, str) and name != "food"):
                    continue  # nothing in it, or nothing that may be a food
                place = f"{pointer}/{type(part).model_fields[name].alias or name}"
                if name == "food" and isinstance(value, str):
                    done: Any = self._food(part, value, place) if is_kept_id(value) else value
                elif name in FOODS_IN and isinstance(value, list):
                    done = [self._offered(one, f"{place}/{number}") for number, one in enumerate(value)]
                else:
                    done = self.foods(value, place)
                if done is not value:
                    changes[name] = done
            return cast("_Part", part.model_copy(update=changes)) if changes else part
        if isinstance(part, list):
            all_done = [self.foods(one, f"{pointer}/{number}") for number, one in enumerate(part)]
            changed = any(done is not one for done, one in zip(all_done, part, strict=True))
            return cast("_Part", all_done) if changed else part
        return part

    def _food(self, parent: BaseModel, kept_id: str, pointer: str) -> str | LabelFood | Recipe:
        in_recipe = isinstance(parent, RecipeIngredient)
        found = self.or_fault(lambda: self.kept.food(kept_id, pointer, recipes=not in_recipe))
        if found is None:
            return kept_id
        return kept_id if isinstance(parent, PriceAsked) else found  # several own foods may share a name, never an id

    def _offered(self, one: object, pointer: str) -> object:
        if not isinstance(one, str) or not is_kept_id(one):
            return self.foods(one, pointer)
        found = self.or_fault(lambda: self.kept.food(one, pointer))
        return one if found is None else LunchItem(food=found)

    def _with_salt(self, whole: _WithSalt) -> _WithSalt:
        """The request with what the household says of its cooking water, where it says nothing itself."""
        if whole.salts_cooking_water is not None:
            return whole
        return whole.model_copy(update={"salts_cooking_water": self.kept.salts_cooking_water()})

    def _by_regions(self, whole: _WithRegions) -> _WithRegions:
        """The request with the regions whose guidance the household goes by, where it names none itself."""
        chosen = None if "regions" in whole.model_fields_set else self.kept.regions()
        return whole if chosen is None else whole.model_copy(update={"regions": chosen})

    def _with_packets(self, whole: _WithPackets, first: date, last: date) -> _WithPackets:
        """The request with the household's packets that hold on any of its days beside those sent, which come first."""
        stored: list[Packet] = packets_beside(self.kept, whole.packets, first, last)
        return whole.model_copy(update={"packets": [*whole.packets, *stored]}) if stored else whole

    def _child(self, asked: LunchCheckWithIds | WeekWithIds, day: date) -> dict[str, Any]:
        if not isinstance(asked.child, str):
            return {}
        kept_id = asked.child
        child = self.or_fault(lambda: self.kept.child(kept_id, "/child"))
        if child is None:
            return {}
        by_standard = asked.standard or child.standard
        with at("child"):
            changes: dict[str, Any] = {"child": child.child_on(day), "standard": by_standard}
        if isinstance(asked, WeekWithIds):
            changes["child"] = for_week(child, by_standard, day)
            changes |= {
                name: getattr(child, name)
                for name in ("vegetarian", "dislikes", "dislikes_in_dishes")
                if name not in asked.model_fields_set
            }
        elif asked.standard is None:
            found = self.or_fault(lambda: for_one_lunch(child, day, ("child",)))
            if found is not None:
                changes["standard"], changes["child"] = found
        if "setting" not in asked.model_fields_set:
            changes["setting"] = child.setting()
        if "yardsticks" not in asked.model_fields_set:
            changes["yardsticks"] = child.yardsticks
        return changes

    def _lunch(self, kept_id: str) -> Lunch:
        items, holding = self.kept.items(kept_id, "/lunch")
        return Lunch(items=items, holding=holding)

    def _offer(self, kept_id: str) -> OfferIn:
        body = self.kept.body(OFFER, kept_id, "/offer")
        return OfferIn.model_validate({name: value for name, value in body.items() if name != "name"})

    def _screened(self, one: ScreenedChild | str, pointer: str) -> ScreenedChild | str:
        if not isinstance(one, str):
            return one
        child = self.or_fault(lambda: self.kept.child(one, pointer))
        if child is None:
            return one
        return ScreenedChild.model_construct(nickname=child.nickname, avoids=_avoids_with_bans(child))

    def _screened_item(self, one: ScreenedItemWithIds, pointer: str) -> ScreenedItem:
        lunch = one.lunch
        if isinstance(lunch, str):
            kept_id, found = lunch, None
            found = self.or_fault(lambda: self.kept.items(kept_id, f"{pointer}/lunch"))
            lunch = [] if found is None else found[0]
        return ScreenedItem.model_construct(one.model_fields_set, **{**dict(one), "lunch": lunch})

    def _audited(
        self, one: OfferChild | str, pointer: str, day: date, offered: Callable[[], list[Offered]]
    ) -> OfferChild | str:
        if not isinstance(one, str):
            return one
        child = self.or_fault(lambda: self.kept.child(one, pointer))
        if child is None:
            return one
        without = [ItemRef(**one) for one in disliked(child, offered())] if has_wishes(child) else []
        found = self.or_fault(lambda: for_one_lunch(child, day, tuple(pointer.split("/")[1:])))
        if found is None:
            return one
        by_standard, checked = found
        return OfferChild.model_construct(
            **{**dict(checked), "avoids": _avoids_with_bans(child)},
            standard=by_standard,
            without=without,
            takes=[],
            yardsticks=child.yardsticks,
        )

    def _portions_by_nickname(
        self, offer: OfferIn, asked: OfferAuditWithIds, children: Sequence[OfferChild | str]
    ) -> OfferIn:
        """The offer with the nicknames of stored children in the place of their ids; other children of the household do not eat now.

        In an offer that was sent along, an id that is not here is a fault; from a stored one a child that goes is taken out.
        """
        called = {
            sent: one.nickname
            for sent, one in zip(asked.children, children, strict=True)
            if isinstance(sent, str) and isinstance(one, OfferChild)
        }
        groups = []
        for group_place, group in enumerate(offer.groups):
            items = []
            for place, item in enumerate(group.items):
                portions = []
                for number, portion in enumerate(item.portions):
                    if not is_kept_id(portion.child):
                        portions.append(portion)
                    elif portion.child in called:
                        portions.append(portion.model_copy(update={"child": called[portion.child]}))
                    elif not isinstance(asked.offer, str):
                        at = f"/offer/groups/{group_place}/items/{place}/portions/{number}/child"
                        self.or_fault(lambda child=portion.child, at=at: self.kept.child(child, at))  # type: ignore[misc]
                items.append(item.model_copy(update={"portions": portions}) if item.portions else item)
            groups.append(group.model_copy(update={"items": items}))
        return offer.model_copy(update={"groups": groups})

    def _narrowed(self, model: type[_Model], asked: BaseModel, changes: dict[str, Any]) -> _Model:
        """The request without ids, of fields that were validated; what holds a fault is not used."""
        whole = model.model_construct(asked.model_fields_set | set(changes), **{**dict(asked), **changes})
        return self.foods(whole, "")

    def raise_faults(self) -> None:
        """Raise all faults that were found, if any; where all are ids that are not here, as ``NoneOfThem``."""
        if len(self.faults) > 1 and all(isinstance(fault, NotThere) for fault in self.faults):
            raise NoneOfThem(self.faults)
        raise_all(self.faults)

    def or_fault(self, find_it: Callable[[], _Part]) -> _Part | None:
        """What a look-up gives; its faults are kept, to be raised with all others."""
        try:
            return find_it()
        except LunchError as fault:
            self.faults += fault.faults()
            return None


def _first_items(offers: Sequence[PlanOfferInFull]) -> dict[str, OfferedItem]:
    """The first item of each stored food in the offers of a plan, by the id of the food."""
    items = [item for one in offers for group in one.offer.groups for item in group.items]
    return {item.food.id: item for item in reversed(items) if not isinstance(item.food, str) and item.food.id}


def _not_taken_together(before: Sequence[Any] | None, now: Sequence[Any]) -> list[Any]:
    """The children of several offers, each with what it does not take from any of them."""
    if before is None:
        return list(now)
    together = []
    for was, one in zip(before, now, strict=True):
        if isinstance(one, str):
            together.append(one)
            continue
        more = [each for each in one.without if each not in was.without]
        together.append(one.model_copy(update={"without": [*was.without, *more]}))
    return together


def packets_beside(kept: KeptThings, sent: Sequence[Packet], first: date, last: date) -> list[Packet]:
    """The stored packets that hold on any day from one to another, without those that are sent along anew."""
    anew = {(one.food, one.read_on) for one in sent}
    return [one for one in kept.packets(first, last) if (one.food, one.read_on) not in anew]


def _avoids_with_bans(child: KeptChild) -> list[AvoidedAllergen]:
    """What a child avoids, and what its school bans: children of several schools are looked at together."""
    return child.avoids + [AvoidedAllergen(allergen=ban, threshold=child.ban_threshold) for ban in child.bans]
