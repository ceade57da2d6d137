"""Access keys of a household: made, listed, revoked."""

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Request, Response

from service.api.answers import AS_JSON, BODY_FAULTS, LOCATION, V1, NoParameters, json_reply, problems
from service.api.bodies import Sent, SentJson
from service.api.conditions import RepeatKey
from service.api.gate.callers import Keeper, Reader
from service.api.household.records import CREATED, NO_CONTENT, TAG, request_hash
from service.api.household.replies import KeyPage, NewKeyShown
from service.jobs.household.access.access_keys import NewKey, list_keys, make_key, revoke
from service.jobs.household.once import Made, carry_out

router = APIRouter(prefix=V1, dependencies=AS_JSON, tags=[TAG])


@router.get("/keys", response_model=KeyPage, responses=problems(), summary="All access keys", operation_id="list-keys")
def get_keys(caller: Reader, _none: NoParameters) -> Response:
    """The household's access keys, revoked ones too, without their secrets."""
    with caller.store.reading() as connection:
        return json_reply({"items": list_keys(connection, caller.household), "next": None})


@router.post(
    "/keys",
    status_code=CREATED,
    response_model=NewKeyShown,
    responses=problems(*BODY_FAULTS, 403) | {CREATED: {"headers": LOCATION}},
    summary="Make an access key",
    operation_id="make-key",
)
def post_key(
    request: Request, caller: Keeper, key: RepeatKey, sent: Annotated[Sent, Depends(SentJson(NewKey))]
) -> Response:
    """Make an access key. Its secret is shown in this answer only and is not stored: a request repeated with the same
    Idempotency-Key is answered without it.
    """

    def create(connection: Any) -> Made:
        made, secret = make_key(connection, caller.household, sent.asked)
        return Made(CREATED, {**made, "secret": secret}, {"Location": f"/v1/keys/{made['id']}"})

    hashed = request_hash(request, sent.body)
    made = carry_out(caller.store, caller.household, key, hashed, create, secrets=frozenset({"secret"}))
    return json_reply(made.body, made.status, made.headers)


@router.delete(
    "/keys/{key_id}",
    status_code=NO_CONTENT,
    responses=problems(403, 404, 409),
    summary="Revoke an access key",
    operation_id="revoke-key",
)
def delete_key(
    caller: Keeper,
    _none: NoParameters,
    key_id: Annotated[
        str, Path(description="Id of the key; GET /v1/keys lists them.", json_schema_extra={"format": "uuid"})
    ],
) -> Response:
    """It is of no use from now on. The last key that may do everything is never revoked."""
    with caller.store.writing() as connection:
        revoke(connection, caller.household, key_id)
    return Response(status_code=NO_CONTENT)
