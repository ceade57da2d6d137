"""Promise: long work waits in a queue of its kind; one request too many is refused at once and told when to come again."""

import threading

import pytest

from service.api.allergens import routes
from tests.api.clients import client
from tests.api.problems_seen import SCREEN, problem_of

SCREENING = {"children": [{"nickname": "a"}], "items": [{"food": "apple"}]}


def test_one_too_many_is_429_and_other_requests_go_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """RFC 6585 section 4; a place that is free again is given to the next."""
    begun, end = threading.Event(), threading.Event()

    def slow(_asked: object) -> dict[str, object]:
        begun.set()
        assert end.wait(20)
        return {}

    monkeypatch.setattr(routes, "screen_family", slow)
    with client(jobs_at_once=1, jobs_waiting=0) as service:
        statuses: list[int] = []
        first = threading.Thread(target=lambda: statuses.append(service.post(SCREEN, json=SCREENING).status_code))
        first.start()
        assert begun.wait(20)
        refused = service.post(SCREEN, json=SCREENING)
        problem_of(refused, 429, "too-busy", SCREEN)
        assert int(refused.headers["retry-after"]) >= 1
        assert service.get("/v1/foods/apple").status_code == 200
        end.set()
        first.join()
        assert statuses == [200]
        assert service.post(SCREEN, json=SCREENING).status_code == 200
