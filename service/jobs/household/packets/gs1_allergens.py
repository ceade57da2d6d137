"""What a stored packet says of allergens, by GS1 codes (GS1 Web Vocabulary: AllergenTypeCode, LevelOfContainmentCode).

FREE_FROM is never written: that a packet does not name an allergen is no promise.
"""

from typing import Any
from uuid import UUID

from service.jobs.foods.packets import allergens_read
from service.jobs.household.records import Resource, show_record
from service.jobs.household.requests import KeptPacket
from service.reference.allergens.vocabulary import vocabulary
from service.store.household.records import Connection

GS1_LEVEL = {"contains": "CONTAINS", "may_contain": "MAY_CONTAIN"}


def gs1_allergens(connection: Connection, packets: Resource, household: UUID, packet_id: str) -> dict[str, Any]:
    """The allergens of a packet with their codes, by its words and its ticks; ``NotThere`` for a packet that is not here.

    ``not_written``: allergens that GS1 has no code for, and those of which the packet has to be read again.
    """
    packet = KeptPacket.model_validate(show_record(connection, packets, household, packet_id).body)
    known, items, not_written = vocabulary().allergens, [], []
    for allergen, level in sorted(allergens_read(packet).items()):
        code = known[allergen].gs1_code
        if level in GS1_LEVEL and code is not None:
            items.append({"code": code, "level": GS1_LEVEL[level], "allergen": allergen})
        elif level != "free":
            not_written.append(allergen)
    return {"read_on": packet.read_on.isoformat(), "items": items, "next": None, "not_written": not_written}
