"""Bodies of checks that name what a household keeps: written out before they are read. Loaded when first needed."""

import re
from typing import Any

from pydantic_core import from_json, to_json

from service.api.household.opened import Caller
from service.jobs.household import stored_ids
from service.jobs.request_faults import refuse_doubled_fields

KEPT_ID = re.compile(rb'"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}"')


def names_kept_things(body: bytes) -> bool:
    """Whether a body holds anything of the form of an id of something kept."""
    return KEPT_ID.search(body) is not None


def write_out_body(caller: Caller, write_out: str, body: bytes) -> bytes:
    """The body with everything written out; what is no JSON object is left for its reader to refuse."""
    try:
        asked: Any = from_json(body)  # with the readers' own limit of nesting
        refuse_doubled_fields(body)  # the second of two is lost when they are written out
    except ValueError:
        return body
    if not isinstance(asked, dict):
        return body
    writer: stored_ids.WriteOut = getattr(stored_ids, write_out)
    with caller.store.reading() as connection:
        whole = writer(stored_ids.KeptThings(connection, caller.household), asked)
    return to_json(whole, inf_nan_mode="constants")
