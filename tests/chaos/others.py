"""Those who use the household beside the writers: a child that takes lunches over the pages, and one who exports, imports and backs up."""

import json
import random
import threading
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from service.domain.errors import AnyFault
from service.store.backup import read_backup, write_backup
from service.store.database import connect
from tests.chaos.asking import Caller, Heard, NoAnswer
from tests.chaos.clock import Clock
from tests.chaos.family import Device
from tests.chaos.findings import Notes
from tests.chaos.records import Known
from tests.chaos.server import PAGES
from tests.chaos.writers import RecordWriter, Working
from tests.web.reading import Page

FORM = {"Content-Type": "application/x-www-form-urlencoded"}
BOUNDARY = "chaoschaos"
MOST_TAPS = 12


class Taker(Working):
    """Takes lunches on a child's page, tap by tap, and looks whether they were logged once, as taken. ``known``: as a writer's."""

    def __init__(
        self,
        browser: Caller,
        api: Caller,
        clock: Clock,
        child: str,
        offer: str,
        today: date,
        notes: Notes,
        stop: threading.Event,
    ) -> None:
        super().__init__("taker", notes, stop)
        self.clock = clock
        self.browser, self.api, self.child, self.offer = browser, api, child, offer
        self.days = [today - timedelta(day) for day in range(1, 150)]
        self.draw = random.Random(7)  # noqa: S311 - tiles to tap
        self.known: dict[str, Known] = {}
        self.unsure: list[Known] = []

    def step(self) -> None:
        """Take a lunch of a day; now and then look at other pages, and remove a lunch so that its day is free again."""
        heard = self.browser.until_answered("GET", self.draw.choice(PAGES))
        if heard.status not in (200, 303):
            self.notes.found(f"a page answers {heard.status}", heard.told())
        if not self.days or self.draw.random() < 0.3:
            self._remove()
            return
        day = self.days.pop(0)
        address = f"/take/{self.child}?day={day}&offer={self.offer}"
        page = self._page(address)
        if page is None:
            self.days.append(day)
            return
        for _ in range(MOST_TAPS):
            form = next((one for one in page.forms if one.method == "get" and one.action.startswith("/take/")), None)
            if form is None:
                break
            taken = {value.split("~")[0] for name, value in form.fields if name == "take"}
            free = [value for _name, value, _text, on in form.buttons if on and value.split("~")[0] not in taken]
            if not free:
                break
            query = urlencode([*form.fields, ("tapped", self.draw.choice(free))])
            page = self._page(f"/take/{self.child}?{query}") or page
        self._finish(day, page)

    def _page(self, address: str) -> Page | None:
        clock = self.clock.state
        heard = self.browser.until_answered("GET", address)
        if heard.status == 303 and heard.headers.get("location") == "/sign-in":
            self._signed_out(clock, heard)
            self.stop.wait(0.5)
            return None
        if heard.status != 200:
            self.notes.found(f"the page of taking answers {heard.status}", f"{address}\n-> {heard.told()}")
            return None
        return Page(heard.body.decode())

    def _finish(self, day: date, page: Page) -> None:
        form = next((one for one in page.forms if one.method == "post" and one.action.startswith("/take/")), None)
        if form is None:
            self.notes.count("pages of taking without a form to finish")
            return
        sent = {"child": self.child, "date": day.isoformat(), "kind": "packed", "offer": self.offer}
        pending = Known("lunches", "", "", sent)
        self.unsure.append(pending)
        clock = self.clock.state
        heard = self.browser.until_answered("POST", form.action, urlencode(form.fields).encode(), FORM)
        if heard.status == 303 and heard.headers.get("location") != "/sign-in":
            self._see_logged(day, sent, sum(name == "take" for name, _value in form.fields))
            self.unsure.remove(pending)
            return
        if heard.status in (303, 401):
            self._signed_out(clock, heard)
        elif heard.status == 409:
            self.notes.count("lunches not taken")  # an apple alone may be left out of an offer's rules
        else:
            self.notes.found(f"finishing on the page answers {heard.status}", heard.told())
        if heard.unsure:
            return  # it stays unsure
        self.unsure.remove(pending)
        self.days.append(day)

    def _signed_out(self, clock: tuple[int, bool], heard: Heard) -> None:
        """It may be so while the clock is off, and at no other time."""
        self.notes.count("pages that asked to sign in")
        if clock == self.clock.state and not self.clock.is_off:
            self.notes.found("a device is signed out while the clock is right", heard.told())

    def _see_logged(self, day: date, sent: dict[str, Any], items: int) -> None:
        self.notes.count("writes acknowledged")
        self.notes.count("  lunches taken on the page")
        heard = self.api.until_answered("GET", f"/v1/lunches?child={self.child}&date={day}")
        there = heard.json["items"] if heard.status == 200 else []
        if len(there) != 1 or len(there[0]["items"]) != items:
            self.notes.found(
                "a lunch taken on the page is not logged once, as taken", f"{day}, {items} items\n-> {heard.told()}"
            )
            return
        self.known[there[0]["id"]] = Known("lunches", there[0]["id"], f'"{there[0]["version"]}"', sent)

    def _remove(self) -> None:
        if len(self.known) < 5:
            return
        known = self.known.pop(self.draw.choice(list(self.known)))
        self.unsure.append(known)
        heard = self.api.until_answered("DELETE", known.path, None, {"If-Match": known.tag})
        if heard.status in (204, 404):
            self.unsure.remove(known)
            self.days.append(date.fromisoformat(known.sent["date"]))
        if heard.status != 204 and not (heard.status == 404 and heard.unsure):
            self.notes.found(f"removing a lunch that was taken answers {heard.status}", heard.told())


class Carer(Working):
    """Exports all, takes an export into an empty household, makes backups."""

    def __init__(
        self,
        api: Caller,
        writers: list[RecordWriter],
        empty: list[Device],
        url: str,
        folder: Path,
        notes: Notes,
        stop: threading.Event,
    ) -> None:
        super().__init__("carer", notes, stop)
        self.api, self.writers, self.empty, self.url, self.folder = api, writers, [*empty], url, folder
        self.backups = self.steps = 0

    def step(self) -> None:
        """An export and a backup; an import now and then, since every household that is there makes a start longer."""
        self._export()
        if self.steps % 6 == 0:
            self._import()
        self.steps += 1
        self._back_up()
        self.stop.wait(1.0)

    def _export(self) -> None:
        before = {one for writer in self.writers for one in list(writer.known)}
        heard = self.api.until_answered("GET", "/v1/export")
        if heard.status != 200:
            self.notes.found(f"an export answers {heard.status}", heard.told())
            return
        left = {one for writer in self.writers for one in list(writer.known)}
        lost = [one for one in before & left if one.encode() not in heard.body]
        if lost:
            self.notes.found("an export lacks what was acknowledged before it", f"{lost[:5]}, {len(heard.body)} bytes")
        json.loads(heard.body)
        self.notes.count("exports")

    def _import(self) -> None:
        if not self.empty:
            return
        device = self.empty.pop()
        names = [f"oats {number}" for number in range(40)]
        browser = Caller(self.api.port, self.notes, device.headers, self.api.stop)
        content = self._export_of(device, names)
        if content is None:
            return
        parts = [("token", device.token), ("do", "take")]
        body = "".join(
            f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n' for name, value in parts
        )
        body += f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="file"; filename="export.json"\r\n\r\n{content}\r\n--{BOUNDARY}--\r\n'
        try:
            heard = browser.once(
                "POST", "/care/import", body.encode(), {"Content-Type": f"multipart/form-data; boundary={BOUNDARY}"}
            )
            said = heard.status
            if said == 422:
                self.notes.found("an import is refused", Page(heard.body.decode()).text[:800])
        except NoAnswer:
            said = 0
        api = Caller(self.api.port, self.notes, {**device.headers, "Accept": "application/json"}, self.api.stop)
        export = api.until_answered("GET", "/v1/export")
        if export.status != 200:
            self.notes.count("imports not looked at")
            return
        kept = len(export.json.get("foods", []))
        self.notes.count(
            f"imports taken in (of {len(names)} records)" if kept == len(names) else "imports of which nothing is there"
        )
        if kept not in (0, len(names)) or (said == 303 and kept != len(names)):
            self.notes.found(
                "an import is there in part",
                f"answered {said}, {kept} of {len(names)} foods, household {device.household}",
            )

    def _export_of(self, device: Device, names: list[str]) -> str | None:
        """The export of an empty household with foods in it."""
        api = Caller(self.api.port, self.notes, {**device.headers, "Accept": "application/json"}, self.api.stop)
        heard = api.until_answered("GET", "/v1/export")
        if heard.status != 200:
            self.notes.count("imports not tried: not signed in")
            return None
        whole = heard.json
        moment = "2026-01-01T00:00:00+00:00"
        base = int(device.household.int & ((1 << 32) - 1)) << 16
        body = {"serving": {"name": "bar", "grams": 40}, "facts": {"energy_kcal": 170}, "perishable": False}
        whole["foods"] = [
            {
                "id": f"01900000-0000-7000-9000-{(base + number) & ((1 << 48) - 1):012x}",
                "version": 1,
                "created_at": moment,
                "updated_at": moment,
                "body": {"name": name, **body},
            }
            for number, name in enumerate(names)
        ]
        return json.dumps(whole, indent=1)

    def _back_up(self) -> None:
        """As the command does, in a process of its own right: this one."""
        file = self.folder / "chaos.backup"
        try:
            with closing(connect(self.url)) as store:
                made = write_backup(store, file)
        except AnyFault as fault:
            self.notes.count(f"backups refused ({fault.code})")
        else:
            self.notes.count("backups")
            self.backups = made.rows
        left = [one.name for one in self.folder.iterdir() if one.name not in ("chaos.backup",)]
        if left:
            self.notes.found("a backup that was refused left a file behind", str(left))
        if self.backups and read_backup(file).rows != self.backups:
            self.notes.found("a backup is not the last whole one", str(file))
