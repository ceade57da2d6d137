"""Walks over every page and form there is: found in the routers, filled in with what a household really stores."""

import hashlib
import hmac
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from html.parser import HTMLParser
from itertools import product
from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from fastapi.dependencies.models import Dependant
from fastapi.routing import APIRoute

from service.api.gate.device_cookie import COOKIE
from service.jobs.household.access.access_keys import NewKey, list_keys, make_key
from service.jobs.household.access.calendar_feeds import NewFeed, list_feeds, make_feed
from service.jobs.household.access.devices import DeviceName, list_devices, rename
from service.jobs.household.settings import edit_settings
from service.jobs.household.transfer.export_household import read_household
from service.jobs.household.transfer.json import as_json
from service.store.database import Store
from service.store.household.records import Connection
from service.web.routers import ROUTERS
from service.web.viewer import TOKEN_FOR, a_packer, a_parent, signed_in
from tests.web.kitchens import Browser, Kitchen, empty_kitchen

ALL, PACKERS, PARENTS = frozenset({"keep", "pack", "take"}), frozenset({"keep", "pack"}), frozenset({"keep"})
PARAMETER = re.compile(r"\{(\w+)(?::path)?\}")
DAYS = frozenset({"day", "date", "on"})
WEEKS = frozenset({"week"})


@dataclass(frozen=True)
class Route:
    """A page or form: its address with parameters, its method, and who may use it; ``rights`` None: anybody at all."""

    path: str
    method: str
    rights: frozenset[str] | None
    query: tuple[str, ...]
    needed: tuple[str, ...] = ()
    """What the query cannot be without."""

    @property
    def parameters(self) -> list[str]:
        """The names of the parts of the address that are filled in."""
        return PARAMETER.findall(self.path)

    def addresses(self, ids: list[str], on: date) -> Iterator[str]:
        """The address with each of these ids in the place of each parameter that is not a day or a week."""
        year, week, _day = on.isocalendar()
        fixed = {**{name: [on.isoformat()] for name in DAYS}, **{name: [f"{year}-W{week:02}"] for name in WEEKS}}
        for values in product(*(fixed.get(name, ids) for name in self.parameters)):
            given = iter(values)
            address = PARAMETER.sub(lambda _found, given=given: next(given), self.path)
            if not self.needed:
                yield address
            for one in ids if self.needed else ():
                yield f"{address}?{urlencode(dict.fromkeys(self.needed, one))}"


def all_routes() -> list[Route]:
    """Every page and form of the web routers, except the files of the pages."""
    found = []
    for router in ROUTERS:
        for route in router.routes:
            assert isinstance(route, APIRoute), route
            if route.path.startswith("/static/"):
                continue
            query = tuple(one.alias for one in route.dependant.query_params)
            needed = tuple(one.alias for one in route.dependant.query_params if one.field_info.is_required())
            rights = _rights(route.dependant)
            found += [Route(route.path, method, rights, query, needed) for method in sorted(route.methods)]
    return found


def _rights(dependant: Dependant) -> frozenset[str] | None:
    asked = set(_calls(dependant))
    if a_parent in asked:
        return PARENTS
    if a_packer in asked:
        return PACKERS
    return ALL if signed_in in asked else None


def _calls(dependant: Dependant) -> Iterator[Any]:
    yield dependant.call
    for inner in dependant.dependencies:
        yield from _calls(inner)


@dataclass
class FullKitchen(Kitchen):
    """A household with a record of every kind, each with a text in every place where one can be typed."""

    ids: dict[str, str] = field(default_factory=dict)

    @property
    def all_ids(self) -> list[str]:
        """The ids of everything."""
        return list(self.ids.values())

    def stored(self) -> bytes:
        """All that is stored, and who gets in."""
        whole = as_json(read_household(self.store, self.id))
        with self.store.reading() as connection:
            devices = [{**one, "last_used_at": "", "ends_at": ""} for one in list_devices(connection, self.id)]
            keys = list_keys(connection, self.id)
            feeds = [{**one, "last_used_at": ""} for one in list_feeds(connection, self.id)]
        return whole + repr((devices, keys, feeds)).encode()


def full_kitchen(store: Store, url: str, text: str, on: date) -> FullKitchen:
    """A household full of a text of at most 36 characters."""
    import orjson

    empty = empty_kitchen(store, url)
    kitchen = FullKitchen(empty.store, empty.url, empty.id)
    keep, ids, day = kitchen.keep, kitchen.ids, on.isoformat()
    with store.writing() as connection:
        edit_settings(connection, kitchen.id, orjson.dumps({"name": text}))
        key, _secret = make_key(connection, kitchen.id, NewKey(name=text, rights="read"))
    ids["key"] = key["id"]
    child = {"standard": "us-school-lunch", "birth_month": f"{on.year - 8}-05", "dislikes": [text]}
    ids["child"] = keep("children", {**child, "nickname": text, "avoids": [{"allergen": "peanut"}]})
    kitchen.children = {text: ids["child"], "second": keep("children", {**child, "nickname": f"2 {text}"})}
    label = {"name": text, "serving": {"name": "bar", "grams": 35}, "facts": {"energy_kcal": 140}, "ingredients": text}
    ids["food"] = keep("foods", label)
    ids["recipe"] = keep(
        "recipes", {"name": f"dish {text}", "ingredients": [{"food": "apple", "grams": 300}], "portions": 4}
    )
    packet = {"food": "hummus", "read_on": day, "ingredients": f"{text}, peanuts", "may_contain": text}
    ids["packet"] = keep("packets", packet)
    ids["price"] = keep("prices", {"what": "food", "food": ids["food"], "amount_minor": 299, "currency": "USD", "pack_grams": 500, "from": day})  # fmt: skip
    groups = [
        {"id": text, "items": [{"food": ids["food"]}, {"food": ids["recipe"], "quantity": 1, "unit": "portion"}]},
        {"id": "fruit", "items": [{"food": "apple"}, {"food": "pear"}]},
    ]
    ids["offer"] = keep("offers", {"name": text, "groups": groups})
    items = [{"food": ids["food"], "quantity": 35, "unit": "g"}, {"food": "apple"}]
    lunch = {"child": ids["child"], "date": day, "kind": "packed", "items": items, "acknowledged": {"reason": text}}
    ids["lunch"] = keep("lunches", lunch)
    menu = {"name": text, "facts": {"energy_kcal": 610}}
    ids["school_day"] = keep("school_days", {"date": day, "offer": ids["offer"], "menu": menu, "buys": []})
    entry = {"portions": 3, "made_on": day, "note": text}
    ids["stock"] = keep("stock", {**entry, "food": ids["food"], "place": "fridge"})
    ids["frozen"] = keep("stock", {**entry, "food": ids["recipe"], "place": "freezer"})
    ids["plan"] = keep("plans", _plan(text, ids, on))
    with store.writing() as connection:
        ids["feed"] = _feed(connection, kitchen.id, text)
        rule = {"keep_in_fridge": [{"food": ids["recipe"], "portions": 1}]}
        edit_settings(connection, kitchen.id, orjson.dumps(rule))
    return kitchen


def _feed(connection: Connection, household: UUID, text: str) -> str:
    """Make an address of the calendar; its id."""
    make_feed(connection, household, NewFeed(name=text, language="en", with_health=True))
    return str(list_feeds(connection, household)[-1]["id"])


def _plan(text: str, ids: Mapping[str, str], on: date) -> dict[str, Any]:
    """A plan of two days, the dish made today and moved tonight; somebody is away and a meal is not bought."""
    day, next_day = on.isoformat(), (on + timedelta(1)).isoformat()
    menu = {"name": text, "contains": f"{text}, peanuts"}
    asked = {
        "days": [day, next_day],
        "prep_days": [day],
        "offers": [{"id": text, "offer": ids["offer"]}],
        "children": [ids["child"], {"nickname": f"3 {text}", "age_years": 8, "standard": "us-school-lunch"}],
        "not_there": [{"child": 1, "days": [day]}],
        "dishes": [{"food": ids["recipe"], "batch_portions": 4, "fridge_days": 2, "minutes": 20}],
        "stock": [{"id": text, "food": ids["food"], "grams": 35, "place": "fridge"}],
        "school_meals": [{"date": day, "menu": menu}],
        "buying": [{"child": 0, "most_a_week": 2}],
    }
    made = {"food": ids["recipe"], "made_on": day, "batches": 1}
    decisions = {"days": [{"day": one, "offer": text} for one in (day, next_day)], "batches": [made]}
    moved = {"evening": day, "food": ids["recipe"], "portions": 1, "for_day": next_day}
    found = {"of": "before it was edited", "before": {"days": [{"day": day, "offer": f"2 {text}"}]}, "moves": [moved]}
    return {"name": text, "asked": asked, "decisions": decisions, "locked": {"days": [day]}, "found": found}


def device_named(kitchen: FullKitchen, browser_rights: str, text: str, child: str | None = None) -> Browser:
    """A device that is signed in and has the text for its name; its id is among those of the kitchen."""
    browser = kitchen.browser(browser_rights, child)
    with kitchen.store.writing() as connection:
        newest = list_devices(connection, kitchen.id)[-1]["id"]
        rename(connection, kitchen.id, newest, DeviceName(name=text))
    kitchen.ids["device"] = newest
    return browser


def token_of(browser: Browser) -> str:
    """What every form of a device carries."""
    return hmac.new(browser.client.cookies[COOKIE].encode(), TOKEN_FOR, hashlib.sha256).hexdigest()


TURNED = "\u202e"
"""RIGHT-TO-LEFT OVERRIDE: what comes after it is written backwards, until something ends it."""
APART = re.compile("\u2068[^\u2068\u2069]*\u2069")
TYPED_IN = frozenset({"textarea", "bdi"})


class Looked(HTMLParser):
    """What is wrong with a page that shows texts of others: ``wrong``, each in words."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.wrong: list[str] = []
        self._open: list[str] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """No style and no script stands in the page itself."""
        found = dict(attrs)
        self.wrong += [f"<{tag} {name}>" for name in found if name.startswith("on") or name == "style"]
        if tag == "style" or (tag == "script" and not (found.get("src") or "").startswith("/static/")):
            self.wrong.append(f"<{tag}> in the page")
        for name in ("href", "src", "action"):
            if re.match(r"\s*(javascript|data|vbscript):", found.get(name) or "", re.IGNORECASE):
                self.wrong.append(f"<{tag} {name}={found[name]!r}>")
        self._open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        """Closes the innermost of that name."""
        if tag in self._open:
            del self._open[len(self._open) - 1 - self._open[::-1].index(tag) :]

    def handle_data(self, data: str) -> None:
        """What turns the direction of writing does so only for itself."""
        if TURNED in APART.sub("", data) and not TYPED_IN & set(self._open):
            self.wrong.append(f"turns what follows: {data!r} in {self._open[-3:]}")
