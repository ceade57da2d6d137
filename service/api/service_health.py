"""Whether the service can answer."""

from fastapi import APIRouter, Response

from service import __version__
from service.api.answers import AS_JSON, V1, NoParameters, json_reply, problems
from service.api.replies import Health
from service.reference.foods.generic_foods import generic_foods
from service.reference.foods.lunch_foods import lunch_foods
from service.reference.lunch.standards import standard_ids

router = APIRouter(prefix=V1, dependencies=AS_JSON)


@router.get(
    "/health", response_model=Health, responses=problems(), summary="Health", operation_id="health", tags=["service"]
)
def get_health(_none: NoParameters) -> Response:
    """Whether the service can answer: the tables were read."""
    return json_reply(
        {
            "status": "ok",
            "version": __version__,
            "lunch_foods": len(lunch_foods()),
            "generic_foods": len(generic_foods()),
            "standards": len(standard_ids()),
        }
    )
