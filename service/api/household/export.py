"""All that a household stores, in one answer."""

from fastapi import APIRouter, Response

from service.api.answers import AS_JSON, V1, NoParameters, problems
from service.api.bodies import JSON
from service.api.callers import Reader
from service.api.household.records import TAG
from service.api.household.replies import HouseholdExport
from service.jobs.household.transfer.export_household import read_household
from service.jobs.household.transfer.json import as_json

router = APIRouter(prefix=V1, dependencies=AS_JSON, tags=[TAG])


@router.get(
    "/export",
    response_model=HouseholdExport,
    responses=problems(),
    summary="Everything the household stores",
    operation_id="export-household",
)
def get_export(caller: Reader, _none: NoParameters) -> Response:
    """All records with their versions and times, in the form that 'packed-lunch import' reads. Access keys and photographs of packets are not in it."""
    return Response(as_json(read_household(caller.store, caller.household)), media_type=JSON)
