"""Promise: pages that count every lunch of an offer take few threads: other pages are answered while they wait."""

import threading
from typing import Any

import pytest

from service.domain.errors import StoreFault
from service.domain.messages import message
from service.web.set_out import print_routes, right_routes, routes
from tests.web.kitchens import Kitchen

MORE_THAN_THREADS = 45
"""anyio has 40 threads for everything that is given none of its own."""
HANGS_S = 30


@pytest.mark.parametrize("under", ["", "/right", "/cards"])
def test_light_pages_are_answered_while_heavy_ones_hang(
    kitchen: Kitchen, under: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And those are answered in the end."""
    begun, end = threading.Event(), threading.Event()

    def hang(*_given: Any, **_named: Any) -> None:
        begun.set()
        end.wait(HANGS_S)
        raise StoreFault(pointer="", value="the store", problem=message("fault.store-locked"))

    monkeypatch.setattr(routes, "audit_for_family", hang)
    monkeypatch.setattr(print_routes, "audit_for_family", hang)
    monkeypatch.setattr(right_routes, "to_design", hang)
    browser = kitchen.browser()
    offer = browser.client.get("/v1/offers").json()["items"][0]["id"]
    answers: list[int] = []
    with browser.client as client:
        heavy = [
            threading.Thread(target=lambda: answers.append(client.get(f"/set-out/{offer}{under}").status_code))
            for _ in range(MORE_THAN_THREADS)
        ]
        for one in heavy:
            one.start()
        assert begun.wait(HANGS_S)
        assert client.get("/more").status_code == 200
        answered_meanwhile = not answers
        end.set()
        for one in heavy:
            one.join()
    assert answered_meanwhile
    assert answers == [503] * MORE_THAN_THREADS
