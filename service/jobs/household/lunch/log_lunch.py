"""Log a lunch: check and screen it for its child first, and keep it with what was found.

A lunch that must not be packed is kept only with a reason why it is packed all the same. Lunches bought at school, and
none, are kept unchecked.
"""

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from typing import Any
from uuid import UUID

from service.domain.errors import (
    LunchError,
    ManyFaults,
    MustNotBePacked,
    OutsideAgeGroups,
    OutsideDates,
    SpeaksAgainst,
    raise_all,
)
from service.domain.messages import message, message_of
from service.domain.offers.rule_kept import broken_rules
from service.jobs.allergens.screen_family import screen_family
from service.jobs.foods.packets import packets_for
from service.jobs.household.lunch.judged_by import judged_by, only_notes_leftovers
from service.jobs.household.requests import KeptOffer, LoggedLunch, LunchFound
from service.jobs.household.stored.child_standard import for_one_lunch
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.household.stored.resolving import Resolving
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.offers.requests import item_key
from service.jobs.requests.fields import every_region
from service.jobs.requests.foods import food_key
from service.jobs.requests.lunches import Lunch, LunchCheckRequest, LunchItem
from service.jobs.requests.screenings import ScreenedChild, ScreenedItem, ScreeningRequest
from service.reference.fault_words import fault_words
from service.reference.foods.catalogue import find_food
from service.reference.messages import listed_as
from service.store.household.kinds import OFFER
from service.store.household.records import Connection

NOTHING_FOUND: dict[str, Any] = {"check": None, "screening": None, "family_rule": None}


def found_in_lunch(
    connection: Connection, household: UUID, asked: LoggedLunch, before: dict[str, Any] | None
) -> tuple[dict[str, Any], dict[str, Any]]:
    """What is kept next to a lunch (``found`` and ``judged_by``), and the check and screening to answer with.

    ``before``: the body of the lunch that is edited. It is judged anew unless everything that the judgement rests on is
    what it was then: the lunch, the child, its school's bans, its standard, own foods and recipes in it. So an allergen
    entered later is seen with the next edit. Raises ``MustNotBePacked``, ``NotThere`` for ids, and what a check raises.
    """
    kept = KeptThings(connection, household, "share")
    resolving = Resolving(kept)
    child = resolving.or_fault(lambda: kept.child(asked.child, "/child"))
    offered: dict[str, Any] | None = None
    if asked.offer is not None:
        offer = asked.offer
        offered = resolving.or_fault(lambda: kept.body(OFFER, offer, "/offer"))
    items = resolving.foods(asked.items, "/items")
    resolving.raise_faults()
    assert child is not None  # noqa: S101 - otherwise there was a fault
    salted = kept.salts_cooking_water()
    packets = packets_for((item.food for item in items), kept.packets(asked.date, asked.date))
    by = judged_by(child, asked, items, packets, salted).model_dump(mode="json")
    if before is not None and before.get("judged_by") is not None and only_notes_leftovers(asked, before):
        by = before["judged_by"]
    if asked.kind != "packed":
        return {"judged_by": by, "found": None}, NOTHING_FOUND
    family_rule = None if offered is None else _family_rule(KeptOffer.model_validate(offered), asked, items)
    by_standard, checked = for_one_lunch(child, asked.date, ("child",))
    request = LunchCheckRequest(
        standard=by_standard,
        on=asked.date,
        child=checked,
        setting=child.setting(),
        lunch=Lunch(items=list(items), holding=asked.holding),
        max_changes=0,
        packets=packets,
        salts_cooking_water=salted,
        regions=kept.regions() or list(every_region()),
    )
    rests_on = _digest(request)
    if before is not None and _still_holds(asked, before, rests_on):
        return {"judged_by": by, "found": before["found"]}, {**NOTHING_FOUND, "family_rule": family_rule}
    check = _checked(request)
    screening = screen_family(
        ScreeningRequest(
            children=[ScreenedChild(nickname=child.nickname, avoids=child.avoids)],
            items=[ScreenedItem(lunch=[item]) for item in items],
            setting=child.setting(),
            on=asked.date,
            packets=request.packets,
        )
    )
    against = _against(check, screening)
    if against and asked.acknowledged is None:
        raise MustNotBePacked(against)
    found = LunchFound(
        verdict=check["verdict"],
        standard=by_standard,
        age_group=check["standard"]["age_group"],
        do_not_pack=[" ".join(f"{one.value} {fault_words(one).problem}".split())[:2000] for one in against],
        rests_on=rests_on,
    )
    computed = {"judged_by": by, "found": found.model_dump(mode="json")}
    return computed, {"check": check, "screening": screening, "family_rule": family_rule}


def _family_rule(offer: KeptOffer, asked: LoggedLunch, items: Sequence[LunchItem]) -> dict[str, Any]:
    """Whether the lunch was taken as its offer says; an item counts by its food, in whatever amount.

    ``items``: those of the lunch with the foods that their ids stand for.
    """
    from service.jobs.offers.layout import offer_of  # with its arrays: slow to load, and few lunches need it

    by_food = offer.model_copy(
        update={
            "groups": [
                group.model_copy(
                    update={"items": [item.model_copy(update={"key": food_key(item.food)}) for item in group.items]}
                )
                for group in offer.groups
            ],
            "rules": [],
        }
    )
    keys = {
        (group.id, item_key(item.key, item.food)): food_key(item.food) for group in offer.groups for item in group.items
    }
    rules = tuple(rule._replace(item=keys.get((rule.group, rule.item), rule.item)) for rule in offer_of(offer).rules)
    whole = replace(offer_of(by_food), rules=rules)
    foods = [food_key(item.food) for item in asked.items]
    names = {key: _food_name(item.food) for key, item in zip(foods, items, strict=True)}
    broken = broken_rules(whole, foods, names)
    return {"kept": not broken, **listed_as("reason", broken)}


def _food_name(food: Any) -> str:
    """A food's name for people; an id that is not known is reported by the check."""
    known = find_food(food) if isinstance(food, str) else food
    return str(food) if known is None else known.name


def _digest(request: LunchCheckRequest) -> str:
    """A digest of all that a judgement rests on: the check's request with every id resolved; a name plays no part."""
    without: dict[str, Any] = {"child": {"nickname"}, "yardsticks": True}  # no judgement rests on a yardstick
    if not request.packets:
        without["packets"] = True  # so that what rested on no packet before still does
    if request.salts_cooking_water is None:
        without["salts_cooking_water"] = True
    written = request.model_dump_json(exclude=without)
    return hashlib.sha256(written.encode()).hexdigest()


def _still_holds(asked: LoggedLunch, before: dict[str, Any], rests_on: str) -> bool:
    """Whether what was found then holds for the edit: it rests on the same, and no reason was taken away.

    Older records do not say what they rest on; they are judged anew.
    """
    found = before["found"]
    if found is None or (found["verdict"] == "do_not_pack" and asked.acknowledged is None):
        return False
    return bool(found.get("rests_on") == rests_on)


def _checked(request: LunchCheckRequest) -> dict[str, Any]:
    """The check of the lunch; faults point into what was logged."""
    try:
        return check_lunch(request, on_at=("date",), lunch_at=())
    except ManyFaults as several:
        faults = several.faults()
        if any(isinstance(one, OutsideDates) for one in faults):  # the age follows from the day, so the day is wrong
            raise_all([one for one in faults if not isinstance(one, OutsideAgeGroups)])
        raise


def _against(check: dict[str, Any], screening: dict[str, Any]) -> list[LunchError]:
    """All that speaks against packing a lunch, each with its place; empty unless the verdict is do_not_pack."""
    if check["verdict"] != "do_not_pack":
        return []
    against: list[LunchError] = [
        SpeaksAgainst(
            pointer=f"/items/{place}",
            value=finding["name"],
            problem=message(
                "fault.allergen-in-lunch",
                allergen=finding["allergen"],
                outcome=finding["outcome"],
                evidence=message_of(finding["evidence_message"]),
            ),
        )
        for place, row in enumerate(screening["rows"])
        for finding in row["findings"]
        if finding["do_not_pack"]
    ]
    against += [
        SpeaksAgainst(
            pointer="/items",
            value=", ".join(finding["items"]) or "the lunch",
            problem=message(
                "fault.danger-in-lunch", brief=message_of(finding["brief_message"]), danger=message_of(finding)
            ),
        )
        for finding in check["handling"]
        if finding["status"] == "do_not_pack"
    ]
    return against or [SpeaksAgainst(pointer="/items", value="the lunch", problem=message("fault.must-not-be-packed"))]
