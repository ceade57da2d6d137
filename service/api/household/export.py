"""All that a household stores, in one answer; or its log of lunches as tables for other programs."""

from typing import Annotated

from fastapi import APIRouter, Depends, Request, Response

from service.api.answers import V1, NoParameters, Responses, each_parameter_once, problems
from service.api.bodies import JSON
from service.api.gate.callers import Reader
from service.api.household.records import TAG
from service.api.household.replies import HouseholdExport
from service.api.media import accepted_of
from service.api.weeks.media import BINARY, PARQUET, ZIP, package_reply
from service.jobs.household.transfer.export_household import read_household
from service.jobs.household.transfer.json import as_json
from service.jobs.household.transfer.log_package import log_package

router = APIRouter(prefix=V1, dependencies=[Depends(each_parameter_once)], tags=[TAG])

AS_TABLES: Responses = {
    200: {
        "content": {
            ZIP: {
                "schema": {
                    **BINARY,
                    "description": "The log as CSV and Parquet, with a data dictionary (Data Package).",
                }
            },
            PARQUET: {"schema": {**BINARY, "description": "The log, one row an item that was packed."}},
        }
    }
}


async def accepted_form(request: Request) -> str:
    """The media type to answer with; ``ApiProblem`` (406) where none is accepted."""
    return accepted_of(request, JSON, ZIP, PARQUET)


@router.get(
    "/export",
    response_model=HouseholdExport,
    responses=problems() | AS_TABLES,
    summary="Everything the household stores",
    operation_id="export-household",
)
def get_export(caller: Reader, _none: NoParameters, form: Annotated[str, Depends(accepted_form)]) -> Response:
    """All records with their versions and times, in the form that 'packed-lunch import' reads. Access keys and photographs of packets are not in it.

    Ask with Accept for application/zip (the log of lunches as tables with their nutrients, CSV and Parquet, with a data dictionary) or
    application/vnd.apache.parquet (its items); these are for other programs and are not read back.
    """
    if form != JSON:
        return package_reply(log_package(caller.store, caller.household), form)
    whole = read_household(caller.store, caller.household)
    return Response(as_json(whole), headers={"Vary": "Accept"}, media_type=JSON)
