"""A kept child's week."""

from service.api.household.answers import Answer, Call
from service.api.household.record_routes import NoQuery, household_route, read_query
from service.jobs.child_week import child_week
from service.jobs.household_kinds import CHILDREN
from service.jobs.week_requests import ISO_WEEK


def _show(call: Call) -> Answer:
    read_query(call, NoQuery)
    with call.store.reading() as connection:
        return Answer(
            200, child_week(connection, CHILDREN, call.household, call.address["child_id"], call.address["week"])
        )


ROUTES = [
    household_route(
        "GET", "/v1/children/{child_id}/weeks/{week}", _show, operation_id="show-child-week", summary="A child's week",
        statuses=(404, 422), formats={"week": {"type": "string", "pattern": ISO_WEEK}},
        words="The child's lunches of an ISO week summed up against its standard, with what they cost and the trend of "
        "the weeks before. Prices in another currency than the latest are left out.",
    )
]  # fmt: skip
