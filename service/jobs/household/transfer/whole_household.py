"""A household as a whole, for export and import: what its records look like outside of the store.

Every record is its id, version, the moments it was made and changed, and its body; in the order they were made.
"""

from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from types import MappingProxyType
from typing import Any, NamedTuple
from uuid import UUID

import orjson
from pydantic import ValidationError

from service.domain.errors import BadInput, LunchError
from service.domain.messages import Message, message
from service.jobs.household.kinds import PRICES, RESOURCES
from service.jobs.household.settings import HouseholdSettings
from service.jobs.request_faults import fault_of, request_fault
from service.jobs.requests.fields import Asked, is_kept_id
from service.store.backup_file import FIRST_YEAR, LAST_YEAR
from service.store.household.pack_prices import with_last_days
from service.store.household.records import Record, new_id
from service.store.label_read import has_label_read, without_label_read

SHAPE = 1
"""The number of the shape of an export; another shape gets another number."""
OF_THE_RECORD = ("id", "version", "created_at", "updated_at")
HOUSEHOLD = "household"

Columns = dict[str, Any]
Where = Callable[[str], str]
"""The place of a field in a file, in words."""


class WholeHousehold(NamedTuple):
    """A household and its records by the name of their collection.

    ``photographs``: of packets, by the packet's id, where they were read from a file; an export writes them one by one.
    """

    household: Record
    records: dict[str, list[Record]]
    photographs: Mapping[UUID, bytes] = MappingProxyType({})


NAMES_KEPT = ("food", "offer", "child", "stock")
"""Fields that may hold the id of a stored record."""
LISTS_KEPT = ("buys", "children")
"""Fields that may hold a list of such ids, or of what they would name in full."""
MODELS: dict[str, type[Asked]] = {
    HOUSEHOLD: HouseholdSettings,
    **{name: resource.kept_model for name, resource in RESOURCES.items()},
}
"""The form of a collection's bodies."""


ADDED_LATER = frozenset({"packets", "plans", "school_days", "stock", "stock_events"})
"""Collections that an older export does not have: nothing of them was stored."""


def fields_of(collection: str) -> dict[str, bool]:
    """The names of the fields of a body, in their order, and whether each must be there."""
    fields = MODELS[collection].model_fields
    return {
        field.serialization_alias or name: field.is_required() for name, field in fields.items() if not field.exclude
    }


def retired_fields(collection: str) -> frozenset[str]:
    """Fields that an older export may hold and that are dropped."""
    return RESOURCES[collection].retired if collection in RESOURCES else frozenset()


def columns_of(collection: str, body: dict[str, Any]) -> Columns:
    """What is stored next to a body."""
    resource = RESOURCES[collection]
    return resource.columns(resource.kept_model.model_validate(body))


def outside(record: Record) -> dict[str, Any]:
    """A record without its body, in plain values."""
    return {
        "id": str(record.id),
        "version": record.version,
        "created_at": record.created_at.isoformat(),
        "updated_at": record.updated_at.isoformat(),
    }


class OfOlder(NamedTuple):
    """What is found of an older version in an export: packets that were with items, and the ids of prices that say nothing of an end."""

    packets: list[Record]
    prices: list[UUID]


def inside(collection: str, plain: dict[str, Any], body: object, where: Where, older: OfOlder) -> Record:
    """A record from plain values and a body; ``LunchError`` names the place of what does not fit.

    ``older``: what is found of an older version is added there.
    """
    values = {
        "id": _read(plain, "id", UUID if is_kept_id(plain.get("id")) else _no, message("fault.no-id"), where),
        "version": _read(plain, "version", _version, message("fault.no-version"), where),
        "created_at": _read(plain, "created_at", _moment, message("fault.no-moment"), where),
        "updated_at": _read(plain, "updated_at", _moment, message("fault.no-moment"), where),
    }
    if isinstance(body, dict):
        body = {name: value for name, value in body.items() if name not in retired_fields(collection)}
    if isinstance(body, dict) and has_label_read(body):
        body, read = without_label_read(body, values["updated_at"].date().isoformat())
        older.packets.extend(_packet(packet, values["updated_at"]) for packet in read if packet["allergens"])
    if collection == PRICES.collection and isinstance(body, dict) and "until" not in body:
        older.prices.append(values["id"])
    try:
        asked = MODELS[collection].model_validate_json(orjson.dumps(body))
    except orjson.JSONEncodeError as fault:
        raise BadInput(pointer=where(""), value="", problem=message("fault.json-too-deep")) from fault
    except ValidationError as fault:
        first = request_fault(fault.errors(include_url=False)[0])
        raise BadInput(pointer=where(first["pointer"]), value=first["value"], problem=fault_of(first)) from fault
    as_given = collection == HOUSEHOLD  # one that never said anything keeps saying nothing
    return Record(body=asked.model_dump(mode="json", by_alias=True, exclude_unset=as_given), **values)


def brought_up(records: dict[str, list[Record]], older: OfOlder) -> dict[str, list[Record]]:
    """The records of an export, and what an older version kept otherwise as this one keeps it.

    With its packets those that were with its items, of a food and day the first; prices with the days on which they ended.
    """
    found = dict(records)
    if older.packets:
        read = [*records["packets"], *older.packets]
        packets = {(one.body["food"], one.body["read_on"]): one for one in reversed(read)}
        found["packets"] = sorted(packets.values(), key=lambda one: one.id)
    if older.prices:
        bodies = {one.id: one.body for one in records["prices"]}
        ended = with_last_days([bodies[one] for one in older.prices])
        bodies |= dict(zip(older.prices, ended, strict=True))
        found["prices"] = [one._replace(body=bodies[one.id]) for one in records["prices"]]
    return found


def _packet(body: dict[str, Any], moment: datetime) -> Record:
    kept = MODELS["packets"].model_validate_json(orjson.dumps(body))
    return Record(new_id(), 1, moment, moment, kept.model_dump(mode="json", by_alias=True))


def look_over(whole: WholeHousehold, where: Callable[[str, int, str], str]) -> None:
    """See that records fit together: no id or name twice, no lunch of a child or food that is not there.

    ``where``: the place of a field of a collection's record, by its number. Raises the first fault.
    """
    kept = {str(record.id) for records in whole.records.values() for record in records}
    seen: set[UUID] = set()
    for collection, records in whole.records.items():
        unique: set[tuple[Any, ...]] = set()
        for number, record in enumerate(records):
            if record.id in seen:
                raise _twice(where(collection, number, "/id"), record.id)
            seen.add(record.id)
            columns = columns_of(collection, record.body)
            key = tuple(columns[name] for name in RESOURCES[collection].kind.unique_columns())
            if key and None not in key and key in unique:  # any number of plans may have no name
                raise _twice(where(collection, number, ""), " ".join(map(str, key)))
            unique.add(key)
            for pointer, value in named_ids(record.body, ""):
                if value not in kept:
                    raise BadInput(
                        pointer=where(collection, number, pointer),
                        value=value,
                        problem=message("fault.id-of-nothing"),
                    )


def named_ids(part: object, pointer: str) -> list[tuple[str, str]]:
    """Ids of stored records that a body names, with their places."""
    if isinstance(part, list):
        return [one for place, value in enumerate(part) for one in named_ids(value, f"{pointer}/{place}")]
    found: list[tuple[str, str]] = []
    if isinstance(part, dict):
        for name, value in part.items():
            if name in LISTS_KEPT and isinstance(value, list):
                found += [(f"{pointer}/{name}/{place}", one) for place, one in enumerate(value) if is_kept_id(one)]
            if isinstance(value, dict | list):
                found += named_ids(value, f"{pointer}/{name}")
            elif name in NAMES_KEPT and is_kept_id(value):
                found.append((f"{pointer}/{name}", str(value)))
    return found


def _twice(place: str, value: object) -> LunchError:
    return BadInput(pointer=place, value=value, problem=message("fault.twice-in-file"))


def _read(plain: dict[str, Any], name: str, read: Callable[[Any], Any], problem: Message, where: Where) -> Any:
    value = plain.get(name)
    try:
        return read(value)
    except (ValueError, TypeError, OverflowError) as fault:
        raise BadInput(
            pointer=where(f"/{name}"),
            value="" if value is None else value,
            problem=problem,
        ) from fault


def _no(value: object) -> UUID:
    raise ValueError(value)


def _version(value: object) -> int:
    if type(value) is not int or not 1 <= value < 2**31:
        raise ValueError(value)
    return value


def _moment(value: str) -> datetime:
    moment = datetime.fromisoformat(value)
    if moment.tzinfo is None or not FIRST_YEAR <= moment.year <= LAST_YEAR:
        raise ValueError(value)
    return moment.astimezone(UTC)
