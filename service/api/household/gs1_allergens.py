"""What a stored packet says of allergens, by GS1 codes."""

from typing import Annotated

from fastapi import APIRouter, Path, Response

from service.api.answers import AS_JSON, V1, NoParameters, json_reply, problems
from service.api.gate.callers import Reader
from service.api.household.records import TAG
from service.api.household.replies import Gs1AllergenPage
from service.jobs.household.kinds import PACKETS
from service.jobs.household.packets.gs1_allergens import gs1_allergens

router = APIRouter(prefix=V1, dependencies=AS_JSON, tags=[TAG])


@router.get(
    "/packets/{packet_id}/gs1-allergens",
    response_model=Gs1AllergenPage,
    responses=problems(404),
    summary="A packet's allergens by GS1 codes",
    operation_id="list-gs1-allergens",
)
def get_gs1_allergens(
    caller: Reader,
    _none: NoParameters,
    packet_id: Annotated[
        str, Path(description="Id of the packet; GET /v1/packets lists them.", json_schema_extra={"format": "uuid"})
    ],
) -> Response:
    """What the packet's words and ticks say of allergens, as GS1 AllergenTypeCode and LevelOfContainmentCode. FREE_FROM is
    never written: that a packet does not name an allergen is no promise. Codes come in with `gs1_allergens` of a packet.
    """
    with caller.store.reading() as connection:
        return json_reply(gs1_allergens(connection, PACKETS, caller.household, packet_id))
