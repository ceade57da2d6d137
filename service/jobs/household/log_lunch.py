"""Log a lunch: check and screen it for its child first, and keep it with what was found.

A lunch that must not be packed is kept only with a reason why it is packed all the same. Lunches bought at school, and
none, are kept unchecked.
"""

from typing import Any
from uuid import UUID

import orjson
from pydantic import TypeAdapter

from service.domain.errors import LunchError, MustNotBePacked, SpeaksAgainst, raise_all
from service.jobs.allergens.screen_family import screen_family
from service.jobs.household.requests import KeptChild, LoggedLunch, LunchFound, is_kept_id
from service.jobs.household.stored_ids import KeptThings
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests import Lunch, LunchCheckRequest, LunchItem, ScreenedChild, ScreenedItem, ScreeningRequest
from service.store.kinds import OFFER
from service.store.records import Connection

OF_THE_FOOD = ("child", "date", "kind", "items", "holding")
"""Fields on which the check rests."""
NOTHING_FOUND: dict[str, Any] = {"check": None, "screening": None}

_ITEMS: TypeAdapter[list[LunchItem]] = TypeAdapter(list[LunchItem])


def found_in_lunch(
    connection: Connection, household: UUID, asked: LoggedLunch, before: dict[str, Any] | None
) -> tuple[dict[str, Any] | None, dict[str, Any]]:
    """What is kept beside a lunch, and the check and screening to answer with.

    ``before``: the body of the lunch that is edited; where the edit changes nothing that the check rests on, the lunch
    is not judged anew. Raises ``MustNotBePacked``, ``NotThere`` for ids, and what a check raises.
    """
    kept = KeptThings(connection, household, "share")
    child = kept.child(asked.child, "/child")
    if asked.offer is not None:
        kept.body(OFFER, asked.offer, "/offer")
    if asked.kind != "packed":
        return None, NOTHING_FOUND
    if before is not None and _still_holds(asked, before):
        return before["found"], NOTHING_FOUND
    items = _written_out(kept, asked)
    check = _checked(child, asked, items)
    screening = screen_family(
        ScreeningRequest(
            children=[ScreenedChild(nickname=child.nickname, avoids=child.avoids)],
            items=[ScreenedItem(lunch=[item]) for item in items],
            setting=child.setting(),
        )
    )
    against = _against(check, screening)
    if against and asked.acknowledged is None:
        raise MustNotBePacked(against)
    found = LunchFound(
        verdict=check["verdict"],
        standard=child.standard,
        age_group=check["standard"]["age_group"],
        do_not_pack=[" ".join(f"{one.value} {one.problem}".split())[:2000] for one in against],
    )
    return found.model_dump(mode="json"), {"check": check, "screening": screening}


def _still_holds(asked: LoggedLunch, before: dict[str, Any]) -> bool:
    """Whether what was found then holds for the edit: nothing changed that it rests on, and no reason was taken away."""
    found = before["found"]
    if found is None or (found["verdict"] == "do_not_pack" and asked.acknowledged is None):
        return False
    now = asked.model_dump(mode="json", include=set(OF_THE_FOOD))
    return all(now[name] == before[name] for name in OF_THE_FOOD)


def _written_out(kept: KeptThings, asked: LoggedLunch) -> list[LunchItem]:
    if all(isinstance(item.food, str) and not is_kept_id(item.food) for item in asked.items):
        return list(asked.items)
    items = [item.model_dump(mode="json", exclude={"groups", "kind"}) for item in asked.items]
    return _ITEMS.validate_json(orjson.dumps(kept.written_out(items, "/items")))


def _checked(child: KeptChild, asked: LoggedLunch, items: list[LunchItem]) -> dict[str, Any]:
    """The check of the lunch; faults point into what was logged."""
    try:
        return check_lunch(
            LunchCheckRequest(
                standard=child.standard,
                on=asked.date,
                child=child.child_on(asked.date),
                setting=child.setting(),
                lunch=Lunch(items=items, holding=asked.holding),
                max_changes=0,
            )
        )
    except LunchError as fault:
        of_the_day = any(one.pointer == "/on" for one in fault.faults())
        told = [one for one in fault.faults() if not (of_the_day and one.pointer.startswith("/child/age"))]
        for one in told:  # the age follows from the day: where no rules hold on it, the day is what is wrong
            one.pointer = {"/on": "/date"}.get(one.pointer, one.pointer).removeprefix("/lunch")
            one.args = (one.sentence(),)
        raise_all(told)
        raise


def _against(check: dict[str, Any], screening: dict[str, Any]) -> list[LunchError]:
    """All that speaks against packing a lunch, each with its place; empty unless the verdict is do_not_pack."""
    if check["verdict"] != "do_not_pack":
        return []
    remedy = "Take it out, or send acknowledged.reason: why it is packed all the same; the reason is kept."
    against: list[LunchError] = [
        SpeaksAgainst(
            pointer=f"/items/{place}",
            value=finding["name"],
            problem=f"must not be packed: {finding['allergen']}, {finding['outcome']} ({finding['evidence']})",
            remedy=remedy,
        )
        for place, row in enumerate(screening["rows"])
        for finding in row["findings"]
        if finding["do_not_pack"]
    ]
    against += [
        SpeaksAgainst(
            pointer="/items",
            value=", ".join(finding["items"]) or "the lunch",
            problem=f"must not be packed: {finding['sentence'].rstrip('.')}",
            remedy=remedy,
        )
        for finding in check["handling"]
        if finding["status"] == "do_not_pack"
    ]
    return against or [SpeaksAgainst(pointer="/items", value="the lunch", problem="must not be packed", remedy=remedy)]
