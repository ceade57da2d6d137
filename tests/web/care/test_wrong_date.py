"""A date of the computer that looks wrong: the pages say so to who may do everything, and a form says that it is right.

What was removed for its age is listed on the page of care, and put back there.
"""

from datetime import date, timedelta

import pytest

from service.jobs.household.retention import purging
from service.jobs.household.retention.purging import purge
from service.reference.messages import languages
from tests.web.kitchens import Kitchen
from tests.web.reading import Page

RIGHT, BACK = "/care/date-is-right", "/care/put-back"


@pytest.fixture
def ahead(kitchen: Kitchen, on: date, monkeypatch: pytest.MonkeyPatch) -> date:
    """The service was started by a clock two years ahead, which the pages go by too."""
    leapt = on + timedelta(731)
    purge(kitchen.store, on)
    (done,) = purge(kitchen.store, leapt)
    assert done.held is not None
    for room in ("care", "today"):
        monkeypatch.setattr(f"service.web.{room}.routes.today", lambda: leapt)
    return leapt


def asked(page: Page) -> bool:
    return RIGHT in page.html


@pytest.mark.parametrize("language", languages())
def test_it_is_asked_on_today_and_care(kitchen: Kitchen, ahead: date, language: str) -> None:
    """By a device that may do everything; a device that packs is not asked, nor let in."""
    parent, packer = kitchen.browser(language=language), kitchen.browser("pack", language=language)
    for address in ("/", "/care"):
        assert asked(parent.get(address))
        assert str(ahead.year) in parent.last.text
    assert not asked(packer.get("/"))


def test_the_date_is_right(kitchen: Kitchen, ahead: date, monkeypatch: pytest.MonkeyPatch) -> None:
    """Then all that is old by it is removed, nothing is asked any more, and it can be put back."""
    parent = kitchen.browser()
    before = _lunches(kitchen)
    page = parent.send(parent.get("/"), RIGHT)
    assert parent.address == "/care"
    assert not asked(page)
    assert _lunches(kitchen) == 0
    page = parent.send(page, BACK)
    assert _lunches(kitchen) == before
    assert BACK not in page.html


def test_a_form_of_another_day_does_nothing(kitchen: Kitchen, ahead: date, monkeypatch: pytest.MonkeyPatch) -> None:
    """The page was opened by the wrong clock and sent when it was set right."""
    parent = kitchen.browser()
    before, page = _lunches(kitchen), parent.get("/care")
    monkeypatch.setattr("service.web.care.routes.today", lambda: ahead + timedelta(1))
    parent.send(page, RIGHT)
    assert _lunches(kitchen) == before
    monkeypatch.setattr("service.web.care.routes.today", lambda: ahead - timedelta(731))
    assert not asked(parent.get("/care"))


def _lunches(kitchen: Kitchen) -> int:
    with kitchen.store.reading() as connection:
        return purging.count_lunches_before(connection, kitchen.id, date.max)
