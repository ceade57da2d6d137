"""Promise: a plan's sheets are worked out in the queue of plans, so that many at once cannot take all that a server has."""

import threading
from datetime import date

import pytest

from service.api.workers import Queue
from service.jobs.household.from_plan import planned as planned_module
from tests.web.kitchen.plans import planned
from tests.web.kitchens import Kitchen


def test_one_sheet_too_many_is_told_to_come_again_and_other_pages_go_on(
    new_kitchen: Kitchen, on: date, monkeypatch: pytest.MonkeyPatch
) -> None:
    """RFC 6585 section 4, as for planning itself; the file of a prep day and the calendar wait too."""
    plan = planned(new_kitchen, on)
    browser = new_kitchen.browser()
    browser.client.app.state.workers.plans = Queue(1, 0)  # type: ignore[attr-defined]
    begun, end = threading.Event(), threading.Event()
    work_out = planned_module._worked_out

    def slow(stored: planned_module.StoredPlan) -> planned_module.Reply:
        begun.set()
        assert end.wait(30)
        return work_out(stored)

    monkeypatch.setattr(planned_module, "_worked_out", slow)
    statuses: list[int] = []

    def open_first() -> None:
        statuses.append(browser.client.get(f"/plans/{plan}/shopping").status_code)

    first = threading.Thread(target=open_first)
    first.start()
    assert begun.wait(30)
    for path in ("shopping", "prep", f"prep/{on}.pdf", "labels", "calendar.ics"):
        refused = browser.client.get(f"/plans/{plan}/{path}")
        assert refused.status_code == 429, path
        assert int(refused.headers["retry-after"]) >= 1
    assert browser.client.get("/stock").status_code == 200
    end.set()
    first.join()
    assert statuses == [200]
    assert browser.client.get(f"/plans/{plan}/shopping").status_code == 200
