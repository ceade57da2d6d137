"""A kept child's week; as JSON, as a page to print or as CSV, whichever is accepted."""

from service.api.household.answers import Answer, Call
from service.api.household.record_routes import NoQuery, household_route, read_query
from service.api.week_media import accepted, written
from service.jobs.household.child_week import child_week
from service.jobs.household.kinds import CHILDREN
from service.jobs.weeks.requests import ISO_WEEK


def _show(call: Call) -> Answer:
    read_query(call, NoQuery)
    with call.store.reading() as connection:
        reply = child_week(connection, CHILDREN, call.household, call.address["child_id"], call.address["week"])
    text, headers = written(reply, accepted(call.headers.get("accept", "")))
    return Answer(200, None, headers, text)


ROUTES = [
    household_route(
        "GET", "/v1/children/{child_id}/weeks/{week}", _show, operation_id="show-child-week", summary="A child's week",
        statuses=(404, 422), formats={"week": {"type": "string", "pattern": ISO_WEEK}},
        words="The child's lunches of an ISO week summed up against its standard, with what they cost and the trend of "
        "the weeks before. Prices in another currency than the latest are left out. Ask with Accept for text/html (a page to "
        "print) or text/csv.",
    )
]  # fmt: skip
