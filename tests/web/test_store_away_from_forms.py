"""Promise: a form that the store could not keep is answered 503 with the form to send again, never as if something were typed wrong."""

from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import date
from typing import Any

import pytest

from service.domain.errors import StoreFault
from service.domain.messages import message
from service.jobs.household.transfer.export_household import read_household
from service.jobs.household.transfer.json import as_json
from service.store.database import Store
from tests.web.kitchens import OURS, empty_kitchen
from tests.web.test_every_page import HTML, forms_on, sent, walked
from tests.web.walking import FullKitchen, device_named, full_kitchen, token_of


@pytest.fixture
def home(store: Store, store_url: str, on: date) -> Iterator[FullKitchen]:
    """A household that has one of everything."""
    with closing(full_kitchen(store, store_url, "cake", on)) as made:
        yield made


@contextmanager
def nothing_can_be_written(patched: pytest.MonkeyPatch) -> Iterator[list[Store]]:
    """Each transaction for writing fails as behind a lock; the list has one store for each."""
    tried: list[Store] = []

    def locked(store: Store) -> Any:
        tried.append(store)
        raise StoreFault(pointer="", value="the store", problem=message("fault.store-locked"))

    with patched.context() as within:
        within.setattr(Store, "writing", locked)
        yield tried


def test_every_form_that_could_not_be_kept_is_answered_503(
    home: FullKitchen, on: date, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The forms of all pages, as they are shown and sent."""
    browser = device_named(home, "keep", "cake")
    wrote = []
    for form in forms_on(walked(browser, home, on)):
        with nothing_can_be_written(monkeypatch) as tried:
            answer = sent(browser, form.action, {**form.data(), "token": [token_of(browser)]})
        if tried:
            wrote.append(form.action)
            assert answer.status_code == 503, (form.action, answer.status_code, answer.text[-1000:])
            assert "retry-after" in answer.headers, form.action
    assert len(wrote) > 20, wrote


def test_an_import_behind_a_lock_can_be_sent_again(
    store: Store, store_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """RFC 9110 section 15.6.4: the file is right, so it is not answered 422."""
    with closing(empty_kitchen(store, store_url)) as kitchen:
        browser = kitchen.browser()
        whole = as_json(read_household(store, kitchen.id))

        def take_in() -> Any:
            return browser.client.post(
                "/care/import",
                data={"token": token_of(browser), "do": "take"},
                files={"file": ("export.json", whole, "application/json")},
                headers={**HTML, **OURS},
                follow_redirects=False,
            )

        with nothing_can_be_written(monkeypatch) as tried:
            answer = take_in()
        assert tried
        assert (answer.status_code, "retry-after" in answer.headers) == (503, True)
        assert take_in().status_code == 303
