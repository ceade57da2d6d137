"""A lunch check with the packets of a household in its request, against the same check without: in this process.

All of a check but HTTP: the body is validated, the lunch checked, the reply written. Nine packets, three of them of foods in
the lunch; with these the labels are read, so the two replies differ in what they say.
"""

from collections.abc import Iterator

import orjson
from pydantic import TypeAdapter

from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.request_faults import refuse_doubled_fields
from service.jobs.requests.lunches import LunchCheckRequest
from tests.benchmarks.figure import Figure
from tests.benchmarks.lunch_check_rate import BODY
from tests.benchmarks.offers import least_seconds

ROUNDS = 2_000
READ = (
    "bread-whole-wheat", "cheese-cheddar", "yogurt-plain-low-fat",
    "hummus", "crackers-whole-wheat", "sandwich-ham", "sandwich-cheese", "sandwich-sunflower-jam", "wrap-bean-cheese",
)  # fmt: skip
PACKETS = [
    {"food": food, "read_on": "2026-11-20", "allergens": [{"allergen": "peanut", "level": "not_named"}]}
    for food in READ
]
VALIDATE = TypeAdapter(LunchCheckRequest).validate_json


def answered(body: bytes) -> bytes:
    """The reply to a body, as it is written."""
    asked = VALIDATE(body)
    refuse_doubled_fields(body)
    return orjson.dumps(check_lunch(asked))


def figures() -> Iterator[Figure]:
    """The check alone, and with all that a request takes besides HTTP."""
    with_them = orjson.dumps({**orjson.loads(BODY), "packets": PACKETS})
    asked, asked_with = VALIDATE(BODY), VALIDATE(with_them)
    without, ours = least_seconds(lambda: check_lunch(asked), lambda: check_lunch(asked_with), rounds=ROUNDS)
    yield Figure("packets: a check with nine, against without", ours / without, 1.10, at_most=True)
    without, ours = least_seconds(lambda: answered(BODY), lambda: answered(with_them), rounds=ROUNDS)
    detail = f"{1e6 * without:.0f} µs and {1e6 * ours:.0f} µs"
    yield Figure("packets: with validation and writing", ours / without, 1.10, at_most=True, detail=detail)
