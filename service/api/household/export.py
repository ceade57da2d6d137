"""All that a household keeps, in one answer."""

import orjson

from service.api.household.answers import Answer, Call
from service.api.household.record_routes import NoQuery, household_route, read_query
from service.jobs.household.transfer.export_household import read_household
from service.jobs.household.transfer.json import as_json


def _show(call: Call) -> Answer:
    read_query(call, NoQuery)
    return Answer(200, orjson.loads(as_json(read_household(call.store, call.household))))


ROUTES = [
    household_route(
        "GET", "/v1/export", _show, operation_id="export-household", summary="Everything the household keeps",
        statuses=(422,),
        words="All records with their versions and times, in the form that 'packed-lunch import' reads. Access keys are "
        "not in it.",
    )
]  # fmt: skip
