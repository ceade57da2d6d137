"""A store with something of everything in it, for tests that move or keep whole stores."""

from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID

from sqlalchemy import insert, select

from service.store.access.calendar_feeds import create_feed
from service.store.access.devices import create_device
from service.store.access.households import create_household, create_key
from service.store.access.live_source_keys import put_live_source_key
from service.store.access.sign_in_links import create_link
from service.store.database import Store
from service.store.household import kinds
from service.store.household.pack_prices import of_pack
from service.store.household.records import create, new_id
from service.store.retention_runs import note_run
from service.store.tables import METADATA, kept_replies, packet_photos, removed_records

FIRST_DAY = date(2026, 11, 2)
MOMENT = datetime(2026, 11, 25, 7, 0, 0, 123, UTC)


def fill(store: Store, lunches: int = 40) -> UUID:
    """Two households with records of every kind; the id of the first."""
    with store.writing() as connection:
        made = [create_household(connection, {"name": name, "retention_months": 13}) for name in ("Hazel", "Aspen")]
        for household in made:
            create_key(connection, household, "kitchen tablet", "keep")
            child = create(
                connection,
                kinds.CHILD,
                household,
                {"nickname": "Møller 你好", "avoids": [{"allergen": "peanut"}], "z_last": None, "a_first": 1.5},
                {"name": "møller 你好"},
            )
            for kind in ("foods", "recipes", "offers", "plans"):
                create(connection, kinds.KINDS[kind], household, {"name": f"one of {kind}"}, {"name": kind})
            packet = create(
                connection, kinds.PACKET, household, {"food": "hummus"}, {"food": "hummus", "read_on": FIRST_DAY}
            )
            connection.execute(
                insert(packet_photos).values(
                    packet_id=packet.id,
                    household_id=household,
                    media_type="image/jpeg",
                    image=bytes(range(256)),
                    created_at=MOMENT,
                )
            )
            create(connection, kinds.SCHOOL_DAY, household, {"date": str(FIRST_DAY)}, {"day": FIRST_DAY})
            entry = create(connection, kinds.STOCK, household, {"food": "apple", "portions": 2.5}, {"food": "apple"})
            create(connection, kinds.STOCK_EVENT, household, {"event": "made", "portions": 2.5}, {"stock_id": entry.id})
            create_link(connection, household, "tablet", "take", child.id, MOMENT, MOMENT + timedelta(minutes=10))
            create_device(connection, household, "tablet", "take", child.id, MOMENT, MOMENT + timedelta(days=90))
            create_feed(connection, household, "phone", "days", "en", MOMENT)
            put_live_source_key(connection, household, f"invented key of {household}", MOMENT)
            apple = {"what": "food", "food": "apple", "pack_grams": 500, "from": str(FIRST_DAY), "until": None}
            columns = {"what": of_pack("apple", 500), "from_day": FIRST_DAY}
            create(connection, kinds.PRICE, household, apple, columns)
            for number in range(lunches):
                day = FIRST_DAY + timedelta(number)
                create(
                    connection,
                    kinds.LUNCH,
                    household,
                    {"items": [{"food": "apple", "quantity": number + 0.1}], "text": "line 1\nline 2\t\"'\\"},
                    {"child_id": child.id, "day": day, "kind": "packed"},
                )
            connection.execute(
                insert(kept_replies).values(
                    household_id=household, idempotency_key="k", request_hash="h", status=201,
                    headers={"location": "/x"}, reply=bytes(range(256)), created_at=MOMENT,
                )
            )  # fmt: skip
            note_run(connection, household, MOMENT, FIRST_DAY, {"lunches": 1}, {})
            removed = {"day": FIRST_DAY, "removed_on": FIRST_DAY, "row": {"id": "one", "day": None}}
            connection.execute(
                insert(removed_records).values(
                    id=new_id(),
                    household_id=household,
                    child_id=child.id,
                    kind="lunches",
                    record_id=new_id(),
                    **removed,
                )
            )
    return made[0]


def everything(store: Store) -> dict[str, list[Any]]:
    """All rows of all tables, with bodies in their order."""
    with store.reading() as connection:
        return {
            table.name: [repr(tuple(row)) for row in connection.execute(select(table).order_by(*table.primary_key))]
            for table in METADATA.sorted_tables
        }
