"""Made-up requests, good and bad, against what the OpenAPI document promises (Schemathesis over ASGI, no socket).

A request that fits the schema may still name a food or a day that is not known, so 422 is not a fault in itself.
What is a fault: to call such a request ill-formed, except for rules on several fields together.

Each operation gets its examples and a few random requests, the same in every run. With ``FUZZ=eighth`` in the environment
it gets one in eight of the requests, too, that Schemathesis derives from the schema (each breaks or stretches one part of it;
there are thousands): ``.ci/run`` asks so. With ``FUZZ=all`` it gets all of them and 50 random ones: that takes hours.
``FUZZ=/v1/stock`` does so for the addresses with this part alone; more parts are separated by ``|``.
"""

import os
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from unittest import mock
from zlib import crc32

import orjson
import pytest
import schemathesis
from fastapi import FastAPI
from hypothesis import HealthCheck, Phase, settings
from schemathesis import Case
from schemathesis.checks import CheckContext
from schemathesis.config import SchemathesisConfig
from schemathesis.core.transport import Response
from schemathesis.generation.feedback import FeedbackSources
from schemathesis.generation.meta import TestPhase
from schemathesis.pytest._test_builder import build_operation_test
from schemathesis.python._constants.orchestrator import make_constants_value_source
from schemathesis.schemas import BaseSchema
from schemathesis.specs.openapi.checks import positive_data_acceptance
from starlette.testclient import TestClient

from service import api, jobs
from service.jobs.requests.fields import FIRST_DAY, LAST_DAY
from service.store.migrate import open_store
from service.web.app import create_app
from tests.api.clients import settings_of
from tests.api.household.homes import Home, new_home, offer_body
from tests.contract.write_openapi import CONTRACT
from tests.served import GENEROUS

ASKED = os.environ.get("FUZZ", "")
DERIVED = ASKED != ""
EVERYTHING = ASKED not in ("", "eighth")
ONE_IN = 1 if EVERYTHING else 8

SCREENING = {"include-name": "POST /v1/allergen-screenings", "phases": {"coverage": {"enabled": EVERYTHING}}}
"""Its foods are those of a lunch check: deriving requests from them a second time takes long and finds the same."""

KEPT = {
    "include-name-regex": "^(PUT /v1/|POST /v1/(lunches|recipes|offers|foods))",
    "phases": {"coverage": {"enabled": EVERYTHING}},
}
"""Likewise: their foods and items are those of a lunch check, and a PUT takes what its POST takes."""

KITCHEN = {
    "include-name-regex": "^POST /v1/(shopping-lists|prep-sheets|label-sheets)",
    "phases": {"coverage": {"enabled": EVERYTHING}},
}
"""Likewise: their foods are those of a lunch check."""

OPERATIONS = [
    f"{method.upper()} {path}"
    for path, methods in orjson.loads(CONTRACT.read_bytes())["paths"].items()
    for method in methods
    if ASKED in ("", "eighth", "all") or re.search(ASKED, path)
]
"""Every operation of the document as it was kept (with ``FUZZ``, of the addresses asked for): that it is the one served is a test of its own."""


@pytest.fixture(scope="module")
def url(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The address of a store for all that is asked here."""
    return f"sqlite:///{tmp_path_factory.mktemp('fuzz')}/store.sqlite3"


COLLECTION_OF = {
    "child_id": "children",
    "food_id": "foods",
    "packet_id": "packets",
    "recipe_id": "recipes",
    "offer_id": "offers",
    "price_id": "prices",
    "lunch_id": "lunches",
    "school_day_id": "school-days",
    "stock_entry_id": "stock",
    "plan_id": "plans",
}
"""The name that a record of each collection has in an address."""


def of_a_lunch(made_up: Mapping[str, Any], of: Mapping[str, str]) -> dict[str, Any]:
    """A lunch for the stored child: one that is packed holds the stored food, another one nothing."""
    packed = made_up.get("kind") == "packed"
    said = {"child": of["children"], "items": [{"food": of["foods"]}, {"food": "apple"}] if packed else []}
    return said | {"offer": of["offers"]} | ({} if made_up.get("kind") == "bought" else {"menu": None})


def of_an_offer(_made_up: Mapping[str, Any], of: Mapping[str, str]) -> dict[str, Any]:
    """Groups with foods that are known, the stored one among them."""
    return {"groups": offer_body(of["foods"])["groups"]}


EXAMPLES = {"lunches": of_a_lunch, "offers": of_an_offer}
"""What lunches and offers say of what is stored and known, by what is made up for them and the ids of what is stored."""


@pytest.fixture(scope="module")
def app(url: str) -> Iterator[FastAPI]:
    """The application that is asked."""
    with mock.patch.multiple(
        "service.api.gate.wrong_keys", MOST_OF_A_KEY=1_000_000, MOST_OF_AN_ADDRESS=1_000_000
    ):  # wrong keys are sent by the hundred
        made = create_app(settings_of(database_url=url))
        yield made
    made.state.households.close()


@pytest.fixture(scope="module")
def schema(app: FastAPI) -> BaseSchema:
    """The document as served, and the application behind it."""
    return schemathesis.openapi.from_asgi(
        "/openapi.json",
        app,
        config=SchemathesisConfig.from_dict(
            {"phases": {"coverage": {"enabled": DERIVED}}, "operations": [SCREENING, KEPT, KITCHEN]}
        ),
        timeout=GENEROUS,  # its own limit is 10 s, and making the document takes as long on a busy machine
    )


@pytest.fixture(scope="module")
def home(url: str, app: FastAPI) -> Home:
    """A household with a key."""
    store = open_store(url)
    made = new_home(TestClient(app), store)
    store.close()
    return made


@dataclass
class Stored:
    """What the household stores: collection -> id. ``spare``: records that may be removed; ``made``: how many of them were made.

    ``unchanged``: what these speak of: no request asks for it, so none has made something else of it.
    """

    home: Home
    there: dict[str, str]
    spare: dict[str, str] = field(default_factory=dict)
    unchanged: dict[str, str] = field(default_factory=dict)
    made: int = 0

    def asked(self, collection: str) -> str:
        """The id of a record that other requests need too."""
        return self.there[collection]

    def to_remove(self, collection: str) -> str:
        """The id of a record that nothing else speaks of: another one after it was removed."""
        for name in () if self.unchanged else ("children", "foods", "offers"):
            self.unchanged[name] = self.home.keep_one(name, self.unchanged, " that stays")
        if collection not in self.spare:
            self.made += 1
            day = (date(2024, 1, 1) + timedelta(days=self.made)).isoformat()
            self.spare[collection] = self.home.keep_one(collection, self.unchanged, f" to remove {self.made}", day)
        return self.spare[collection]

    def removed(self, case: Case) -> None:
        """Forget the record that a request removed."""
        ids = set(case.path_parameters.values())
        self.spare = {name: one for name, one in self.spare.items() if one not in ids}


@pytest.fixture(scope="module")
def stored(home: Home) -> Stored:
    """A record of each kind."""
    return Stored(home, home.fill())


def of_household(case: Case) -> bool:
    """Whether it is about what a household stores."""
    return "household" in (case.operation.tags or []) or case.path.startswith("/v1/plans/")


def asked_with(case: Case, stored: Stored) -> dict[str, str]:
    """What a household stores is asked with its key; checks without. What fits is about what is there now."""
    if not of_household(case):
        return {}
    key = {"Authorization": f"Bearer {stored.home.keep}"}
    if not fits(case):
        return key
    one_of = stored.to_remove if case.method == "DELETE" else stored.asked
    known = {name: one_of(COLLECTION_OF[name]) for name in case.path_parameters if name in COLLECTION_OF}
    case.path_parameters |= known
    of_a_record = case.path.endswith(tuple(f"{{{name}}}" for name in known))
    return {**key, "If-Match": "*"} if of_a_record and case.method != "GET" else key


def started(case: Case, stored: Stored) -> bool:
    """Put what an example says of foods, children and offers in a body that was made up; False where there is no example.

    Names of foods that are made up are never known, so nothing would be kept.
    """
    example = next((one for collection, one in EXAMPLES.items() if f"/{collection}" in case.path), None)
    if example is None or case.method not in ("POST", "PUT") or not fits(case) or not isinstance(case.body, dict):
        return False
    said = example(case.body, stored.there)
    case.body = {**case.body, **{name: one for name, one in said.items() if name in case.body or name == "items"}}
    return True


def fits(case: Case) -> bool:
    """Whether a request was made after the schema."""
    return case.meta is not None and case.meta.generation.mode.is_positive


BETWEEN_FIELDS = frozenset(
    code
    for layer in (api, jobs)
    for path in Path(layer.__path__[0]).rglob("*.py")
    for code in re.findall(r'conflict\(\s*message\(\s*"fault\.([a-z-]+)"', path.read_text(encoding="utf-8"))
)
"""Codes of rules on several fields together."""
BEYOND_THE_SCHEMA = BETWEEN_FIELDS | {"string-too-short", "no-gtin", "kept-id"}
"""These; text of nothing but spaces; a bar code with a wrong check digit; an id sent without the household's key."""


def what_fits_is_not_called_ill_formed(_context: CheckContext, response: Response, case: Case) -> None:
    """A request made after the schema is not refused for its form."""
    if not fits(case) or response.status_code != 422:
        return
    problem: dict[str, Any] = response.json()
    if problem["type"] == "/problems/invalid-request":
        for error in problem["errors"]:
            if error["pointer"] == "#/standard" and error["value"] in ("null", "nothing"):
                continue  # left out only next to a stored child, which has one
            if case.method == "PATCH" and error["code"] == "missing" and error["pointer"].count("/") > 1:
                continue  # of an object that was not there before
            if error["code"] == "no-day" and not FIRST_DAY <= date.fromisoformat(error["value"]) <= LAST_DAY:
                continue  # the form of a date does not say from which to which
            assert error["code"] in BEYOND_THE_SCHEMA, error


ALSO_OF_A_RECORD = ("/v1/packets/to-read",)
"""Addresses that answer GET and that the address of a record fits too: PUT there is that of a packet that is not there."""


def left_out(case: Case) -> bool:
    """Whether this derived request is one of those that only run with ``FUZZ``."""
    if case.meta is None or case.meta.phase.name is not TestPhase.COVERAGE:
        return False
    return crc32(repr((case.path_parameters, case.query, case.body)).encode()) % ONE_IN != 0


def see_answer(case: Case, stored: Stored) -> None:
    """Ask, and hold the answer against the document."""
    answer = case.call_and_validate(
        headers=asked_with(case, stored),
        additional_checks=[what_fits_is_not_called_ill_formed],
        excluded_checks=[positive_data_acceptance],
    )
    assert answer.status_code != 429, "the request was not looked at"
    if case.method == "DELETE" and answer.status_code == 204:
        stored.removed(case)


@pytest.mark.parametrize("operation", OPERATIONS)
def test_every_answer_is_one_the_document_names(operation: str, schema: BaseSchema, stored: Stored) -> None:
    """No 500, no status, header or body that is not documented; what does not fit is refused.

    The requests are derived here, not by ``schema.parametrize()``: that derives those of all operations while the tests
    are collected, and every worker would do so for a minute.
    """

    @settings(
        max_examples=50 if EVERYTHING else 8,
        derandomize=True,
        database=None,
        deadline=None,
        phases=[Phase.explicit, Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    def is_answered(case: Case) -> None:
        if case.path in ALSO_OF_A_RECORD and case.method != "GET":
            return
        if left_out(case):
            return
        see_answer(case, stored)
        if started(case, stored):
            see_answer(case, stored)

    asked = schema.find_operation_by_label(operation)
    assert asked is not None, operation
    test = build_operation_test(
        config=schema.config,
        operation=asked,
        test_func=is_answered,
        given_kwargs={},
        feedback=FeedbackSources(constants_value_source=make_constants_value_source(schema)),
    )
    test()
