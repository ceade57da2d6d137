"""Plans of some weeks: made, stored under a name, and made again."""

from collections.abc import Callable
from functools import partial
from typing import Annotated, Any, NamedTuple

from fastapi import APIRouter, Depends, Path, Request, Response

from service.api.answers import AS_JSON, BODY_FAULTS, ETAG, LOCATION, V1, json_reply, problems
from service.api.bodies import JsonBody, Sent, SentJson
from service.api.conditions import EditedFrom, RepeatKey, etag
from service.api.gate.callers import AnyCaller, Keeper, a_key_to_keep
from service.api.household.records import CREATED, request_hash
from service.api.plan.plan_replies import PlanReply
from service.domain.errors import BadInput
from service.domain.messages import message
from service.jobs.household.access.opened import Caller
from service.jobs.household.once import Made, carry_out
from service.jobs.household.plan.left_out import with_stored_stock
from service.jobs.household.plan.plans import keep_plan, keep_revision, plan_to_revise
from service.jobs.household.stock.entries import today
from service.jobs.household.stored.stored_ids import with_ids_resolved
from service.jobs.plan.weeks.requests import PlanRequest, PlanRevision, PlanWithIds
from service.jobs.request_faults import refuse_doubled_fields

router = APIRouter(prefix=V1, dependencies=AS_JSON, tags=["plans"])


class PlanSent(NamedTuple):
    """A plan as it was sent, as it is stored, and with all ids resolved."""

    body: bytes
    with_ids: PlanWithIds
    asked: PlanRequest


class _PlanBody(JsonBody):
    """The body of a plan, in both forms."""

    def _validated(self, body: bytes) -> PlanSent:
        asked = super()._validated(body)
        return PlanSent(body, asked, asked)

    def _resolved(self, caller: Caller, body: bytes) -> PlanSent:
        with_ids = PlanWithIds.model_validate_json(body)
        refuse_doubled_fields(body)
        with caller.store.reading() as connection:
            with_ids = with_stored_stock(connection, caller.household, with_ids, today())
            return PlanSent(body, with_ids, with_ids_resolved(connection, caller.household, with_ids))


PlanBody = _PlanBody(PlanRequest, PlanWithIds)
PlanId = Annotated[
    str,
    Path(
        alias="plan_id",
        description="Id of the plan; GET /v1/plans lists them with their ids.",
        json_schema_extra={"format": "uuid"},
    ),
]


@router.post(
    "/plans",
    response_model=PlanReply,
    responses=problems(*BODY_FAULTS, 403, 404, 409)
    | {
        CREATED: {
            "model": PlanReply,
            "description": "It has a name, and is stored under it.",
            "headers": ETAG | LOCATION,
        }
    },
    summary="Plan one to four weeks",
    operation_id="plan-weeks",
)
async def post_plan(
    request: Request,
    key: RepeatKey,
    caller: AnyCaller,
    sent: Annotated[PlanSent, Depends(PlanBody)],
) -> Response:
    """Plan one to four weeks: offers or lunches, who buys, what is made, frozen and moved.

    No child is planned a food that it must avoid, and a school meal is not bought where it is not known whether it contains
    one. With `before` the plan changes as little as possible, and says what changes. With a name and a household's key it is
    stored. Closing the connection stops the work.
    """
    from service.jobs.plan.weeks.plan_weeks import plan_weeks  # it loads numpy and the solver

    if sent.asked.name is not None:
        if caller is None:
            raise BadInput(field="name", value=sent.asked.name, problem=message("fault.name-without-key"))
        await a_key_to_keep(caller)
    made = await request.app.state.workers.plans.run_watched(request, partial(plan_weeks, sent.asked))
    if isinstance(made, Response) or sent.asked.name is None or caller is None:
        return made if isinstance(made, Response) else json_reply(made)
    reply: dict[str, Any] = made

    def create(connection: Any) -> Made:
        kept = keep_plan(connection, caller.household, sent.with_ids, reply)
        headers = {"ETag": etag(kept.record.version), "Location": f"/v1/plans/{kept.record.id}"}
        return Made(CREATED, {**reply, "id": str(kept.record.id)}, headers)

    again = request_hash(request, sent.body)
    stored = await _in_worker(request, lambda: carry_out(caller.store, caller.household, key, again, create))
    return json_reply(stored.body, stored.status, stored.headers)


@router.post(
    "/plans/{plan_id}/revisions",
    response_model=PlanReply,
    responses=problems(*BODY_FAULTS, 403, 404, 409, 412, 428) | {200: {"headers": ETAG}},
    summary="Plan again",
    operation_id="revise-plan",
)
async def post_revision(
    request: Request,
    caller: Keeper,
    matches: EditedFrom,
    sent: Annotated[Sent, Depends(SentJson(PlanRevision))],
    plan_id: PlanId,
) -> Response:
    """Make a stored plan again from what it asks now, with as few changes as possible; the answer says what changes.

    The new plan is stored. Locked days and batches stay as they are. If the plan was edited in the meantime, nothing is
    stored.
    """
    from service.jobs.plan.weeks.plan_weeks import plan_weeks  # it loads numpy and the solver

    def to_revise() -> PlanRequest:
        with caller.store.reading() as connection:
            return plan_to_revise(connection, caller.household, plan_id, matches, sent.asked)

    asked = await _in_worker(request, to_revise)
    made = await request.app.state.workers.plans.run_watched(request, partial(plan_weeks, asked))
    if isinstance(made, Response):
        return made

    def keep() -> Any:
        with caller.store.writing() as connection:
            return keep_revision(connection, caller.household, plan_id, matches, made)

    kept = await _in_worker(request, keep)
    return json_reply({**made, "id": plan_id}, headers={"ETag": etag(kept.record.version)})


async def _in_worker(request: Request, work: Callable[[], Any]) -> Any:
    """What reads or writes the store, apart from the event loop."""
    return await request.app.state.workers.bodies.run(work)
