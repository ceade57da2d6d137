"""Makes a reported change in the request it was found for, as the reader of a reply would: the tests check what comes out."""

from collections.abc import Mapping, Sequence
from typing import Any

from service.domain.errors import BadInput
from service.domain.messages import message
from service.jobs.offers.edits import changes_to_make, make_changes, put_in, with_keys
from service.jobs.offers.requests import OfferAuditRequest, OfferChild, OfferedItem, OtherTake
from service.jobs.requests.lunches import HoldingConditions, LunchCheckRequest, LunchItem
from service.jobs.weeks.requests import WeekDayAsked, WeekItem, WeekRequest


def apply_lunch_change(asked: LunchCheckRequest, change: Mapping[str, Any]) -> LunchCheckRequest:
    """The request with one of the changes of its reply made."""
    items = list(asked.lunch.items)
    place = change["item"]
    if change["kind"] == "read":
        return asked  # a label read changes nothing that is packed
    if change["kind"] == "keep":
        kept = (asked.lunch.holding or HoldingConditions()).model_copy(update={"insulated": True, "cold_sources": 2})
        return asked.model_copy(update={"lunch": asked.lunch.model_copy(update={"holding": kept})})
    if change["kind"] in ("portion", "form"):
        fields = {"quantity": change["quantity"], "unit": change["unit"], "form": change["form"]}
        items[place] = items[place].model_copy(update=fields)
    else:
        if place is not None:
            del items[place]
        if change["food"] is not None:
            items.append(LunchItem.model_validate(item_of_change(change, asked.offer)))
    return asked.model_copy(update={"lunch": asked.lunch.model_copy(update={"items": items})})


def apply_offer_changes(
    asked: OfferAuditRequest, child_place: int, changes: Sequence[Mapping[str, Any]]
) -> OfferAuditRequest:
    """The request with the changes of one row made, for the child at ``child_place`` whose reply shows them.

    Items that are no longer there are taken out of what any child does not take. Another number to take holds for the
    whole offer, or only for this child where it takes a number of its own.
    """
    after = asked.model_copy(deep=True)
    after.offer = with_keys(after.offer, after.offer)
    for change in changes:
        _make(after, after.children[child_place], change)
    return after


def _make(asked: OfferAuditRequest, child: OfferChild, change: Mapping[str, Any]) -> None:
    own = next((other for other in child.takes if other.group == change["group"]), None)
    if change["kind"] == "take" and own is not None:
        child.takes[child.takes.index(own)] = OtherTake.model_validate({"group": own.group, "take": change["take"]})
    elif change["new_item"] is not None and change["kind"] in ("swap", "add"):
        fields = item_of_change(change, asked.swap_foods or ())
        comes = OfferedItem.model_validate({**fields, "key": change["new_item"]})
        asked.offer = put_in(asked.offer, change["group"], change["item"], comes)
    else:
        asked.offer = make_changes(asked.offer, changes_to_make([change]))
    if change["kind"] in ("swap", "remove"):
        _forget(asked, change["group"], change["item"])


def _forget(asked: OfferAuditRequest, group: str, gone: str) -> None:
    """An item is no longer there, so no child leaves it any more."""
    for child in asked.children:
        child.without = [ref for ref in child.without if (ref.group, ref.item) != (group, gone)]


def apply_week_change(asked: WeekRequest, change: Mapping[str, Any]) -> WeekRequest:
    """The request with one of the changes of its reply made, as if on the same days: what is changed is eaten in whole."""
    places: dict[str, list[int]] = {}
    for place in change["places"]:
        places.setdefault(place["date"], []).extend([] if place["item"] is None else [place["item"]])
    days = [
        _day_after(day, places[day.date.isoformat()], change, asked) if day.date.isoformat() in places else day
        for day in asked.days
    ]
    return asked.model_copy(update={"days": days})


def _day_after(day: WeekDayAsked, places: Sequence[int], change: Mapping[str, Any], asked: WeekRequest) -> WeekDayAsked:
    """A day with a change made; what came back of its other items stays with them."""
    came_back = {one.item: one for one in day.uneaten}
    kept = [
        (item, None if place in places else came_back.get(place))
        for place, item in enumerate(day.items)
        if place not in places or change["kind"] in ("portion", "form")
    ]
    if change["kind"] in ("portion", "form"):
        changed = "quantity" if change["kind"] == "portion" else "form"
        for place in places:
            kept[place] = (day.items[place].model_copy(update={changed: change[changed]}), None)
    elif change["food"] is not None:
        comes_in = WeekItem.model_validate(item_of_change(change, asked.offer))
        kept += [(comes_in, None)] * max(1, len(places))
    uneaten = [one.model_copy(update={"item": place}) for place, (_item, one) in enumerate(kept) if one is not None]
    return day.model_copy(update={"items": [item for item, _one in kept], "uneaten": uneaten})


def item_of_change(change: Mapping[str, Any], named: Sequence[str | LunchItem]) -> dict[str, Any]:
    """What a change row brings in, as the fields of an item of a request.

    ``named``: the foods at hand of the request. What was sent there with a label or a recipe is taken from there. Raises
    ``BadInput`` where the change brings in such a food and it is not there.
    """
    for one in named:
        if isinstance(one, LunchItem):
            food, name = (one.food, None) if isinstance(one.food, str) else (None, one.food.name)
            same_food = food == change["food"] if food else name == change["name"]
            if same_food and one.quantity == change["quantity"] and one.unit in (None, change["unit"]):
                return one.model_dump(exclude_unset=True) | ({"form": change["form"]} if change.get("form") else {})
    if change["food"] in ("label", "recipe"):
        raise BadInput(field=("change", "name"), value=change["name"], problem=message("fault.change-not-whole"))
    cut = {"form": change["form"]} if change.get("form") else {}
    return {"food": change["food"], "quantity": change["quantity"], "unit": change["unit"], **cut}
