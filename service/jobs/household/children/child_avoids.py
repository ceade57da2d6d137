"""What a stored child avoids, shown for other programs, and taken over from a list of theirs."""

from collections.abc import Sequence
from typing import Any, NamedTuple
from uuid import UUID

import orjson

from service.domain.allergens.screening import Avoidance
from service.domain.errors import BadInput, NotThere, pointer_of
from service.domain.messages import message
from service.jobs.allergens.avoidances import avoidances_of
from service.jobs.household.children.avoids_as_fhir import avoids_bundle
from service.jobs.household.children.avoids_from_fhir import ReadAvoids, avoids_of_fhir
from service.jobs.household.records import (
    MOST_PER_PAGE,
    Days,
    Matches,
    Resource,
    edit_record,
    list_records,
    show_record,
)
from service.jobs.household.requests import KeptChild
from service.jobs.requests.fhir import FhirAvoids
from service.jobs.requests.fields import is_kept_id
from service.jobs.requests.people import Setting
from service.reference.allergens.vocabulary import vocabulary
from service.reference.messages import worded
from service.store.household.kinds import CHILD
from service.store.household.records import Connection, Record, find

PATIENT = "Patient/"


class ShownAvoids(NamedTuple):
    """A child's avoids, and the version of its record."""

    reply: dict[str, Any]
    version: int


def show_avoids(connection: Connection, children: Resource, household: UUID, child_id: str) -> ShownAvoids:
    """Each allergen the child avoids, with its codes; ``NotThere`` if this household has no such child."""
    record = show_record(connection, children, household, child_id)
    return ShownAvoids(_page(_avoided(record)), record.version)


def show_avoids_as_fhir(connection: Connection, children: Resource, household: UUID, child_id: str) -> ShownAvoids:
    """The same as a FHIR R4 Bundle."""
    record = show_record(connection, children, household, child_id)
    return ShownAvoids(avoids_bundle(str(record.id), _avoided(record), record.updated_at.isoformat()), record.version)


def take_over_avoids(
    connection: Connection,
    children: Resource,
    household: UUID,
    child_id: str,
    matches: Matches,
    asked: FhirAvoids,
    *,
    add: bool,
    days: Days | None = None,
) -> ShownAvoids:
    """Put a list in the place of a child's avoids, or with ``add`` add it to them; all of it or nothing.

    What was avoided and is in the list keeps the stricter threshold when it is added. Raises what ``avoids_of_fhir``
    raises, ``BadInput`` for a list of another child of the household, and what an edit of a record raises.
    """
    before = show_record(connection, children, household, child_id)
    matches(before.version)
    read = avoids_of_fhir(asked)
    _refuse_sibling(connection, household, before, read)
    kept = list(before.body["avoids"]) if add else []
    earlier = {one.allergen: one.threshold for one in _avoided(before)}
    for allergen, threshold in read.avoids.items():
        if not add or earlier.get(allergen) not in ("may_contain", threshold):
            kept.append({"allergen": allergen, "threshold": threshold})
    patch = orjson.dumps({"avoids": kept})
    after = edit_record(connection, children, household, child_id, matches, patch, days).record
    now = _avoided(after)
    gone = sorted(earlier.keys() - {one.allergen for one in now})
    left_out = [worded(one) for one in read.left_out]
    return ShownAvoids({**_page(now), "removed": gone, "left_out": left_out}, after.version)


def id_of_child(connection: Connection, children: Resource, household: UUID, named: str) -> str:
    """The id of a child by its id or nickname; ``NotThere`` for one that is not here."""
    if is_kept_id(named):
        return named
    items = list_records(connection, children, household, MOST_PER_PAGE, None)["items"]
    found = [one["id"] for one in items if one["nickname"].casefold() == named.casefold()]
    if len(found) != 1:
        names = [one["nickname"] for one in items]
        raise NotThere(pointer="CHILD", value=named, problem=message("fault.no-child-of-that-name", names=names))
    return str(found[0])


def _avoided(record: Record) -> list[Avoidance]:
    child = KeptChild.model_validate(record.body)
    return avoidances_of(child, Setting(), (), ())


def _page(avoided: Sequence[Avoidance]) -> dict[str, Any]:
    known = vocabulary().allergens
    items = [
        {
            "allergen": one.allergen,
            "name": known[one.allergen].name,
            "gs1_code": known[one.allergen].gs1_code,
            "threshold": one.threshold,
        }
        for one in avoided
    ]
    return {"items": items, "next": None}


def _refuse_sibling(connection: Connection, household: UUID, child: Record, read: ReadAvoids) -> None:
    """A list that names another child of this household is not this child's. An id of somebody else's system may be any."""
    if read.patient is None:
        return
    reference, place = read.patient
    named = reference.removeprefix(PATIENT)
    if is_kept_id(named) and named != str(child.id) and find(connection, CHILD, household, UUID(named)) is not None:
        raise BadInput(pointer=pointer_of(place), value=reference, problem=message("fault.fhir-other-child"))
