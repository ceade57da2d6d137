"""Access keys of a household: made, listed, revoked."""

from pydantic import TypeAdapter

from service.api.household.answers import Answer, Call
from service.api.household.record_routes import (
    CREATED,
    NO_CONTENT,
    NoQuery,
    header_parameters,
    household_route,
    read_query,
)
from service.jobs.household.access_keys import NewKey, list_keys, make_key, revoke
from service.jobs.request_faults import refuse_doubled_fields
from service.store.records import Connection

NEW_KEY = TypeAdapter(NewKey)


def _list(call: Call) -> Answer:
    read_query(call, NoQuery)
    with call.store.reading() as connection:
        return Answer(200, {"items": list_keys(connection, call.household), "next": None})


def _make(call: Call) -> Answer:
    asked = NEW_KEY.validate_json(call.body)
    refuse_doubled_fields(call.body)

    def create(connection: Connection) -> Answer:
        key, secret = make_key(connection, call.household, asked)
        return Answer(CREATED, {**key, "secret": secret}, {"Location": f"/v1/keys/{key['id']}"})

    return call.once(create, secrets=frozenset({"secret"}))


def _revoke(call: Call) -> Answer:
    with call.store.writing() as connection:
        revoke(connection, call.household, call.address["key_id"])
    return Answer(NO_CONTENT, None)


ROUTES = [
    household_route(
        "GET", "/v1/keys", _list, operation_id="list-keys", summary="All access keys", statuses=(422,),
        words="The household's access keys, revoked ones too, without their secrets.",
    ),
    household_route(
        "POST", "/v1/keys", _make, operation_id="make-key", summary="Make an access key", body="NewKey",
        statuses=(400, 403, 413, 415, 422), status=CREATED, headers=header_parameters(match=False, known=False, repeat=True),
        words="Its secret is shown in this answer and nowhere kept: a request repeated with the same Idempotency-Key is "
        "answered without it.",
    ),
    household_route(
        "DELETE", "/v1/keys/{key_id}", _revoke, operation_id="revoke-key", summary="Revoke an access key",
        statuses=(403, 404, 409, 422), status=NO_CONTENT,
        words="It is of no use from now on. The last key that may do everything is never revoked.",
    ),
]  # fmt: skip
