"""A household behind the pages, as tests look at it: an invented family, devices with each of the rights, and their browsers."""

import tempfile
from contextlib import closing
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache
from typing import Any
from uuid import UUID

from fastapi import FastAPI
from sqlalchemy import Table, insert, select
from starlette.testclient import TestClient

from service.api.gate.device_cookie import COOKIE
from service.jobs.household.access.opened import Households
from service.jobs.household.access.sign_in_links import NewLink, make_link
from service.jobs.household.days.lunches import lunch_on
from service.jobs.household.days.school_days import school_day_of
from service.jobs.household.demo import keep_demo_household
from service.jobs.household.kinds import LUNCHES, RESOURCES, SCHOOL_DAYS
from service.jobs.household.records import keep_record, read_asked, remove_record
from service.jobs.household.settings import HouseholdSettings
from service.store.access.households import change_household, create_household, household_body
from service.store.database import Store
from service.store.household.kinds import OFFER
from service.store.household.records import page
from service.store.migrate import open_store
from service.store.tables import METADATA
from tests.api.clients import settings_of
from tests.web.reading import Page

OURS = {"Sec-Fetch-Site": "same-origin"}
"""What a browser says of a form of our own pages."""


@dataclass
class Browser:
    """A device's browser without script: it follows links, sends forms, keeps its cookies."""

    client: TestClient
    last: Any = None

    def get(self, address: str, status: int = 200) -> Page:
        """Open a page."""
        self.last = self.client.get(address, headers={"Accept": "text/html"})
        assert self.last.status_code == status, self.last.text[-2000:]
        return Page(self.last.text)

    def send(self, page: Page, action: str, button: str = "", status: int = 200, **typed: Any) -> Page:
        """Send the form that goes to an address, as a person would."""
        form = page.form(action)
        data = form.data(button, **typed)
        if form.method == "get":
            self.last = self.client.get(form.action, params=data, headers={"Accept": "text/html"})
        else:
            self.last = self.client.post(form.action, data=data, headers=OURS)
        assert self.last.status_code == status, self.last.text[-2000:]
        return Page(self.last.text)

    @property
    def address(self) -> str:
        """Where the browser is."""
        return str(self.last.url.path)


@dataclass
class Kitchen:
    """A household with its store. ``children``: ids by nickname; ``opened``: the store as each browser's service opened it."""

    store: Store
    url: str
    id: UUID
    children: dict[str, str] = field(default_factory=dict)
    opened: list[Households] = field(default_factory=list)

    def app(self, **settings: Any) -> FastAPI:
        """A service of this household's store, closed with the kitchen."""
        from service.web.app import create_app

        made = create_app(settings_of(database_url=self.url, **settings))
        self.opened.append(made.state.households)
        return made

    def browser(self, rights: str = "keep", child: str | None = None, language: str = "en", **settings: Any) -> Browser:
        """A new device that is signed in; ``settings``: those of the service that it asks."""
        client = TestClient(self.app(**settings), headers={"Accept-Language": language})
        with self.store.writing() as connection:
            asked = NewLink.model_validate({"rights": rights, "child": child})
            link = make_link(connection, self.id, asked)
        browser = Browser(client)
        form = browser.get(link.path).form("/sign-in")
        browser.last = client.post(form.action, data=form.data(), headers=OURS)
        assert COOKIE in client.cookies
        return browser

    def close(self) -> None:
        """Close the store of every browser's service, so that no connection is left open."""
        for one in self.opened:
            one.close()

    def keep(self, collection: str, body: dict[str, Any]) -> str:
        """Keep a record; its id."""
        import orjson

        resource = RESOURCES[collection]
        with self.store.writing() as connection:
            asked = read_asked(resource, orjson.dumps(body))
            return str(keep_record(connection, resource, self.id, asked, None).record.id)

    def set_out(self, offer: str, on: date) -> str:
        """Set out the offer of a name on a day, nobody buying then; the offer's id."""
        with self.store.writing() as connection:
            found = next(one for one in page(connection, OFFER, self.id, None, 50) if one.body["name"] == offer)
            there = school_day_of(connection, self.id, on)
            if there is not None:
                remove_record(connection, SCHOOL_DAYS, self.id, str(there.id), lambda _version: None)
        self.keep("school_days", {"date": on.isoformat(), "offer": str(found.id)})
        return str(found.id)

    def lunch(self, child: str, on: date) -> dict[str, Any] | None:
        """What is logged of a child's day."""
        with self.store.reading() as connection:
            found = lunch_on(connection, self.id, UUID(child), on)
        return None if found is None else found.body

    def forget_what_was_said(self) -> None:
        """As if the household had said neither how its lunches are kept nor whose guidance it goes by: tests say what they need."""
        with self.store.writing() as connection:
            said = HouseholdSettings.model_validate(household_body(connection, self.id), strict=False)
            left = said.model_copy(update={"holding": None, "regions": None})
            change_household(connection, self.id, left.model_dump(mode="json"))

    def forget_lunches(self, on: date) -> None:
        """As if nobody had taken anything on a day."""
        with self.store.writing() as connection:
            for child in self.children.values():
                found = lunch_on(connection, self.id, UUID(child), on)
                if found is not None:
                    remove_record(connection, LUNCHES, self.id, str(found.id), lambda _version: None)


def demo_kitchen(store: Store, url: str, on: date) -> Kitchen:
    """The invented family of the demo in a store without it, nothing taken yet on a day, its usual mornings set out then."""
    household, children, rows = _demo_rows(on)
    with store.writing() as connection:
        for table, some in rows:
            connection.execute(insert(table), some)
    return Kitchen(store, url, household, dict(children))


@lru_cache(maxsize=4)
def _demo_rows(on: date) -> tuple[UUID, dict[str, str], list[tuple[Table, list[dict[str, Any]]]]]:
    """The household, its children, and its rows by table: kept once in a process, for each of its lunches is checked."""
    with tempfile.TemporaryDirectory(prefix="packed-lunch-demo-") as folder:
        url = f"sqlite:///{folder}/store.sqlite3"
        with closing(open_store(url)) as store:
            demo = keep_demo_household(store, on)
            kitchen = Kitchen(store, url, demo.household, {name: str(one) for name, one in demo.children.items()})
            kitchen.forget_lunches(on)
            kitchen.forget_what_was_said()
            with store.reading() as connection:
                kept = [(one, list(connection.execute(select(one)).mappings())) for one in METADATA.sorted_tables]
    return kitchen.id, kitchen.children, [(table, [dict(row) for row in some]) for table, some in kept if some]


def empty_kitchen(store: Store, url: str) -> Kitchen:
    """A household that has nothing yet."""
    with store.writing() as connection:
        household = create_household(connection, HouseholdSettings().model_dump(mode="json"))
    return Kitchen(store, url, household)
