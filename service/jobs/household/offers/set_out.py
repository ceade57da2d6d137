"""What a household sets out: an offer with its foods in words, its audit for all children, and the days it is set out on."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from pydantic_core import to_json

from service.domain.errors import LunchError
from service.jobs.household.days.school_days import school_day_of, school_days_between
from service.jobs.household.kinds import SCHOOL_DAYS
from service.jobs.household.records import edit_record, keep_record, read_asked, remove_record
from service.jobs.household.requests import KeptOffer
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.household.stored.resolving import Resolving, foods_resolved
from service.jobs.offers.requests import OfferAuditWithIds, SampleSize, item_key
from service.jobs.requests.fields import is_kept_id
from service.store.household.kinds import CHILD, OFFER
from service.store.household.records import Connection, Record, page

MOST_CHILDREN = 30
SCHOOL_DAYS_A_WEEK = 5
Reply = dict[str, Any]


def offer_shown(connection: Connection, household: UUID, record: Record) -> Reply:
    """A stored offer as a person reads it: each item with its key, the name of its food, and the units it can be given in.

    A dish or food of the household's own has ``own``: true. ``portions``: other amounts, by the id of the child.
    """
    from service.jobs.offers.layout import offered_items  # with its arrays: slow to load, and few pages need it

    offer = KeptOffer.model_validate(record.body)
    resolved = foods_resolved(KeptThings(connection, household), offer)
    items = offered_items(resolved, "")
    groups = []
    for group, whole in zip(offer.groups, resolved.groups, strict=True):
        rows = []
        for sent, one in zip(group.items, whole.items, strict=True):
            key = item_key(one.key, one.food)
            made = items[(group.id, key)]
            rows.append(
                {
                    "item": key,
                    "food": sent.food if isinstance(sent.food, str) else None,
                    "own": isinstance(sent.food, str) and is_kept_id(sent.food),
                    "name": made.food.name,
                    "category": made.food.category,
                    "quantity": made.quantity,
                    "unit": made.unit,
                    "units": list(dict.fromkeys([made.unit, *(unit.name for unit in made.food.units), "g"])),
                    "form": made.form,
                    "portions": {one.child: one.quantity for one in sent.portions},
                }
            )
        groups.append({"id": group.id, "take": group.take.model_dump(), "items": rows})
    return {
        "id": str(record.id),
        "name": offer.name,
        "version": record.version,
        "groups": groups,
        "alternatives": offer.alternatives,
        "rules": [rule.model_dump() for rule in offer.rules],
    }


def edited_offer(
    connection: Connection, household: UUID, body: Mapping[str, Any], edit: Callable[[KeptOffer], KeptOffer]
) -> Reply:
    """The body of a stored offer after an edit of ``jobs.offers.edits``."""
    from service.jobs.offers.edits import with_keys

    offer = KeptOffer.model_validate(body)
    resolved = foods_resolved(KeptThings(connection, household), offer)
    return edit(with_keys(offer, resolved)).model_dump(mode="json")


def audit_for_family(
    connection: Connection, household: UUID, offer_id: str, on: date, max_changes: int = 3, examples: int = 0
) -> Reply:
    """The audit of a stored offer for every child, ``children`` with their ids, and ``faults``; no chances of weeks.

    ``faults``: a child's id, nickname and the fault for each child for whom the offer cannot be judged, for example because
    its standard has no age group for it; the others are judged all the same.
    """
    kept = KeptThings(connection, household)
    children = page(connection, CHILD, household, None, MOST_CHILDREN)
    kept.know(CHILD, children)
    everybody = {str(one.id): one.body["nickname"] for one in children}
    if not everybody:
        return {**NOBODY, "faults": []}

    def audited(children: list[str]) -> Reply:
        from service.jobs.offers.audit_offer import audit_offer  # with its arrays: slow to load, and few pages need it

        asked = OfferAuditWithIds(
            on=on,
            offer=offer_id,
            children=children,
            max_changes=max_changes,
            examples=examples,
            measures=[],
            estimate=SampleSize.model_validate({}),
        )
        reply = audit_offer(_resolved(kept, asked), weeks=False)
        rows = [{"id": child, **row} for child, row in zip(children, reply["children"], strict=True)]
        return {**reply, "children": rows}

    try:
        return {**audited(list(everybody)), "faults": []}
    except LunchError:
        faults = faults_of_children(kept, offer_id, everybody, on)
        if not faults:
            raise
    at_fault = {one["id"] for one in faults}
    judged = [child for child in everybody if child not in at_fault]
    return {**(audited(judged) if judged else NOBODY), "faults": faults}


NOBODY: Reply = {"children": [], "to_read": [], "to_read_once": [], "to_label_or_move": [], "cautions": []}


def _resolved(kept: KeptThings, asked: OfferAuditWithIds) -> Any:
    resolving = Resolving(kept)
    audit = resolving.audit(asked)
    resolving.raise_faults()
    return audit


def faults_of_children(kept: KeptThings, offer_id: str, children: Mapping[str, str], on: date) -> list[dict[str, Any]]:
    """Of the children for whom an offer cannot be judged: id, nickname and the fault; ``children``: nicknames by id."""
    found = [(child, _fault(kept, offer_id, child, on)) for child in children]
    return [{"id": child, "nickname": children[child], "fault": fault} for child, fault in found if fault is not None]


def _fault(kept: KeptThings, offer_id: str, child: str, on: date) -> LunchError | None:
    """Why an offer cannot be judged for a child; None where it can."""
    from service.jobs.lunch.targets import target_table

    try:
        asked = OfferAuditWithIds(on=on, offer=offer_id, children=[child], swap_foods=[])
        one = _resolved(kept, asked).children[0]
        target_table(one.standard, one, on)
    except LunchError as fault:
        return fault
    return None


def school_day_from(first: date) -> date:
    """The first day from Monday to Friday from a day on.

    >>> school_day_from(date(2026, 11, 27)).isoformat(), school_day_from(date(2026, 11, 28)).isoformat()
    ('2026-11-27', '2026-11-30')
    """
    return first if first.weekday() < SCHOOL_DAYS_A_WEEK else first + timedelta(7 - first.weekday())


def weeks_of(on: date, weeks: int = 2) -> list[list[date]]:
    """The school days of the week of a day and of the weeks after it, from Monday to Friday.

    >>> [day.isoformat() for day in weeks_of(date(2026, 12, 2), 1)[0]][::4]
    ['2026-11-30', '2026-12-04']
    """
    monday = on - timedelta(on.weekday())
    return [[monday + timedelta(day, weeks=week) for day in range(SCHOOL_DAYS_A_WEEK)] for week in range(weeks)]


def offers_by_day(connection: Connection, household: UUID, first: date, last: date) -> dict[date, str]:
    """The id of the offer that is set out on each day from one to another; days without are left out."""
    days = school_days_between(connection, household, first, last)
    return {one.date: one.offer for one in days if one.offer is not None}


def set_out_on(
    connection: Connection, household: UUID, offer_id: str, wanted: Sequence[date], shown_as: Sequence[date]
) -> int:
    """Set an offer out on the days wanted and no longer on those that are not; how many days were changed.

    ``shown_as``: the days on which it was set out when the person looked: a day that is the same in both stays as it is by
    now. What the school cooks and who buys it stays too.
    """
    changed = 0
    for day in sorted(set(wanted) ^ set(shown_as)):
        there = school_day_of(connection, household, day)
        offer = offer_id if day in wanted else None
        if there is None:
            if offer is not None:
                asked = read_asked(SCHOOL_DAYS, to_json({"date": day.isoformat(), "offer": offer}))
                keep_record(connection, SCHOOL_DAYS, household, asked, None)
                changed += 1
            continue
        if offer is None and there.body.get("offer") != offer_id:
            continue
        if offer is None and not there.body.get("menu") and not there.body.get("buys"):
            remove_record(connection, SCHOOL_DAYS, household, str(there.id), _any_version)
        else:
            parts = to_json({"offer": offer})
            edit_record(connection, SCHOOL_DAYS, household, str(there.id), _any_version, parts, None)
        changed += 1
    return changed


def free_name(connection: Connection, household: UUID, wanted: str) -> str:
    """A name that no stored offer has: the one wanted, or that with the next number."""
    taken = {one.body["name"] for one in page(connection, OFFER, household, None, 1_000)}
    name, number = wanted, 2
    while name in taken:
        name, number = f"{wanted} {number}", number + 1
    return name


def _any_version(_there: int) -> None:
    """A tick of a day holds whatever else was said of the day meanwhile."""
