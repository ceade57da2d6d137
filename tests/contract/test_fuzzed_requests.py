"""Made-up requests, good and bad, against what the OpenAPI document promises (Schemathesis over ASGI, no socket)."""

import schemathesis
from hypothesis import HealthCheck, Phase, settings
from schemathesis import Case

from service.api.app import create_app
from tests.api.clients import settings_of

SCHEMA = schemathesis.openapi.from_asgi("/openapi.json", create_app(settings_of()))


@SCHEMA.parametrize()
@settings(
    max_examples=30,
    derandomize=True,
    database=None,
    deadline=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)
def test_every_answer_is_one_the_document_names(case: Case) -> None:
    """No 500, no undocumented status, header or body; bad data is refused."""
    case.call_and_validate()
