"""Own foods where foods are searched and shown."""

import orjson
from starlette.datastructures import Headers
from starlette.responses import Response

from service.api.household.answers import etag, is_known
from service.api.household.opened import Caller
from service.api.json_route import JSON
from service.jobs.household.foods import search_household_foods, show_household_food


def own_foods_page(caller: Caller, query: str, limit: int, cursor: str | None) -> dict[str, object]:
    """A page of a search, own foods first."""
    with caller.store.reading() as connection:
        return search_household_foods(connection, caller.household, query, limit, cursor)


def own_food(caller: Caller, food_id: str, headers: Headers) -> Response | None:
    """An own food or recipe; None for an id that is of another form."""
    with caller.store.reading() as connection:
        found = show_household_food(connection, caller.household, food_id)
    if found is None:
        return None
    reply, record = found
    tag = {"ETag": etag(record.version)}
    if is_known(headers, record.version):
        return Response(status_code=304, headers=tag)
    return Response(orjson.dumps(reply), headers=tag, media_type=JSON)
