"""Requests to the pages: every address with ids that are there and that are not, every form as it was shown and changed."""

import json
import random
import re
from typing import Any
from urllib.parse import urlencode

from tests.fuzz.api_requests import ODD_HEADERS, quoted
from tests.fuzz.asking import Asked
from tests.fuzz.kitchen import Family, SignedIn
from tests.fuzz.mutations import ODD_DAYS, ODD_IDS, ODD_TEXTS, ODD_WEEKS, doubled, odd_text
from tests.web.reading import Page, ReadForm
from tests.web.walking import PARAMETER, Route, all_routes

TABLE_OF = {
    "child": "children", "food": "foods", "packet": "packets", "dish": "recipes", "recipe": "recipes", "offer": "offers",
    "price": "prices", "entry": "stock", "plan": "plans", "key": "access_keys", "device": "devices",
    "lunch": "lunches", "school_day": "school_days",
}  # fmt: skip
WITH_FILE = ("/care/import", "/photo", "/bring-in", "/bought", "/meal")
"""Parts of the addresses of forms that take a file."""
MOST_FORMS = 1_500
LEFT_OUT = re.compile(r"^/(sign-out|devices/[^/]+/sign-out|devices/sign-out|static/)")
"""Sent seldom: after them nobody is signed in, and the family has to be put back."""
BOUNDARY = b"fuzzedfuzzed"
PNG = bytes.fromhex(
    "89504e470d0a1a0a0000000d4948445200000001000000010802000000907753de0000000c49444154789c63606060000000040001f61738550000000049454e44ae426082"
)


class PageRequests:
    """Makes the requests; ``saw`` gathers the forms and links of the pages that are answered."""

    def __init__(self, family: Family) -> None:
        self.family = family
        self.routes = all_routes()
        self.pages = [one for one in self.routes if one.method == "GET"]
        self.posts = [one for one in self.routes if one.method == "POST"]
        self.forms: dict[str, ReadForm] = {}
        self.links: list[str] = []

    def forget(self) -> None:
        """What was shown is of a family that is no longer so."""
        self.links.clear()

    def saw(self, html: str) -> None:
        """Keep the forms and links of a page."""
        page = Page(html)
        for form in page.forms:
            if len(self.forms) > MOST_FORMS:
                self.forms.clear()
            self.forms[re.sub(r"[0-9a-f-]{36}|\d{4}-\d\d-\d\d|\d{4}-W\d\d", "*", form.action)] = form
        self.links = [*self.links, *(link for link, _words in page.links if link.startswith("/"))][-2_000:]

    def make(self, draw: random.Random, ids: list[str]) -> Asked:
        """One request: a page of the routers, a link that was shown, or a form."""
        rights = draw.choice(("keep",) * 8 + ("pack", "take"))
        device = self.family.devices[rights]
        chance = draw.random()
        if chance < 0.45 and self.forms:
            return self._form(draw, ids, device)
        if chance < 0.5:
            return self._bare_post(draw, ids, device)
        if chance < 0.62 and self.links:
            target = draw.choice(self.links).partition("#")[0]
            if draw.random() < 0.5:
                path, _, query = target.partition("?")
                more = urlencode(
                    doubled([], [part.partition("=")[0] for part in query.split("&")], draw, ids), errors="replace"
                )
                target = f"{path}?{query}&{more}" if draw.random() < 0.5 else f"{path}?{more}"
            return self._asked("GET", target, device, b"", [], target.partition("?")[0], draw)
        return self._page(draw, ids, device)

    def _page(self, draw: random.Random, ids: list[str], device: SignedIn) -> Asked:
        route = draw.choice(self.pages)
        target = self._address(route, draw, ids)
        query = [(name, draw.choice(ids)) for name in route.needed] if draw.random() < 0.9 else []
        if route.query and draw.random() < 0.6:
            for _ in range(draw.choice((1, 1, 2, 4))):
                query = self._query(query, [*route.query], draw, ids)
        if query:
            target += "?" + "&".join(f"{quoted(name)}={quoted(value[:4_000])}" for name, value in query)
        return self._asked("GET", target, device, b"", [], route.path, draw)

    @staticmethod
    def _query(
        query: list[tuple[str, str]], names: list[str], draw: random.Random, ids: list[str]
    ) -> list[tuple[str, str]]:
        name = draw.choice(names)
        near = {"day": ODD_DAYS, "on": ODD_DAYS, "from": ODD_DAYS, "week": ODD_WEEKS}.get(name, ids)
        return [*query, (name, draw.choice(near))] if draw.random() < 0.5 and near else doubled(query, names, draw, ids)

    def _address(self, route: Route, draw: random.Random, ids: list[str]) -> str:
        def part(found: re.Match[str]) -> str:
            name, chance = found[1], draw.random()
            if chance > 0.93:
                return quoted(
                    draw.choice(
                        (draw.choice(ODD_IDS), draw.choice(ODD_TEXTS)[:2_000], draw.choice(ids), draw.choice(ODD_DAYS))
                    )
                )
            if name in ("day", "date", "on"):
                return self.family.on.isoformat() if chance < 0.6 else draw.choice(ODD_DAYS)
            if name == "week":
                year, week, _day = self.family.on.isocalendar()
                return f"{year}-W{week:02}" if chance < 0.6 else draw.choice(ODD_WEEKS)
            there = self.family.ids.get(TABLE_OF.get(name, ""))
            return draw.choice(there) if there and chance < 0.8 else quoted(draw.choice(ids))

        return PARAMETER.sub(part, route.path)

    def _form(self, draw: random.Random, ids: list[str], device: SignedIn) -> Asked:
        form = self.forms[draw.choice(list(self.forms))]
        data = [*form.fields]
        pressed = [one for one in form.buttons if one[0]]
        if pressed and draw.random() < 0.8:
            name, value, _text, _on = draw.choice(pressed)
            data.append((name, value))
        for _ in range(draw.choice((0, 0, 1, 1, 1, 2, 4))):
            data = self._changed(data, draw, ids)
        action = form.action
        if draw.random() < 0.05:
            action = re.sub(r"[0-9a-f-]{36}", lambda _found: draw.choice(ids), action)
        if form.method == "get":
            joiner = "&" if "?" in action else "?"
            target = action + joiner + urlencode(data, errors="surrogatepass")
            return self._asked("GET", target, device, b"", [], action.partition("?")[0], draw)
        return self._sent(action, data, draw, device)

    def _bare_post(self, draw: random.Random, ids: list[str], device: SignedIn) -> Asked:
        """To an address that takes a form, with the token and little or nothing else."""
        route = draw.choice(self.posts)
        names = ("version", "name", "day", "child", "do", "repeat", "food")
        more = [(draw.choice(names), odd_text(draw, ids)) for _ in range(draw.choice((0, 1, 3)))]
        data = [("token", device.token), *more]
        return self._sent(self._address(route, draw, ids), data, draw, device)

    @staticmethod
    def _changed(data: list[tuple[str, str]], draw: random.Random, ids: list[str]) -> list[tuple[str, str]]:
        data = [*data]
        typed = [place for place, (name, _value) in enumerate(data) if name != "token" or draw.random() < 0.03]
        way = draw.randrange(7)
        if not typed or way == 0:
            return [*data, (draw.choice([name for name, _value in data] or ["more"]), odd_text(draw, ids))]
        place = draw.choice(typed)
        name, value = data[place]
        if way == 1:
            del data[place]
        elif way == 2:
            data.append((name, value))
        elif way == 3:
            data[place] = (
                name,
                draw.choice((value + "1", value * 2, f" {value} ", value.upper(), "-" + value, value[:-1])),
            )
        elif way == 4:
            data[place] = (name, draw.choice(ids) if ids else "")
        else:
            data[place] = (name, odd_text(draw, ids))
        return data

    def _sent(self, action: str, data: list[tuple[str, str]], draw: random.Random, device: SignedIn) -> Asked:
        if LEFT_OUT.match(action) and draw.random() < 0.9:
            action = "/language"
        with_file = any(part in action for part in WITH_FILE)
        if draw.random() < (0.5 if with_file else 0.04):
            body = _multipart(data, draw)
            media = b"multipart/form-data; boundary=" + (BOUNDARY if draw.random() < 0.95 else b"other")
        else:
            body = urlencode(data, errors="surrogatepass").encode()
            media = b"application/x-www-form-urlencoded"
        if draw.random() < 0.02:
            body = body[: draw.randrange(len(body) + 1)]
        if draw.random() < 0.02:
            media = draw.choice(
                (
                    b"application/json",
                    b"text/plain",
                    b"multipart/form-data",
                    b"",
                    b"application/x-www-form-urlencoded; charset=utf-16",
                )
            )
        headers = [(b"content-type", media), (b"content-length", str(len(body)).encode())]
        return self._asked("POST", action, device, body, headers, action.partition("?")[0], draw)

    @staticmethod
    def _asked(
        method: str,
        target: str,
        device: SignedIn,
        body: bytes,
        headers: list[tuple[bytes, bytes]],
        template: str,
        draw: random.Random,
    ) -> Asked:
        found = {b"host": b"localhost", b"accept": b"text/html", b"cookie": device.cookie, **dict(headers)}
        if method == "POST":
            found[b"sec-fetch-site"] = b"same-origin"
        if draw.random() < 0.04:
            name, values = draw.choice(ODD_HEADERS)
            found[name.lower().encode()] = draw.choice(values)
        if draw.random() < 0.03:
            del found[draw.choice([name for name in found if name not in (b"host", b"content-length")])]
        if draw.random() < 0.1:
            found[b"accept-language"] = b"es"
        if draw.random() < 0.01:
            method = draw.choice(("HEAD", "PUT", "OPTIONS", "DELETE", "PATCH"))
        target = re.sub(r"[^\x21-\x7e]", lambda one: quoted(one[0]), target)
        return Asked(method, target, tuple(found.items()), body, _template(template), False)


def _template(path: str) -> str:
    return re.sub(r"[0-9a-f-]{36}", "{id}", re.sub(r"\d{4}-(\d\d-\d\d|W\d\d)", "{day}", path))[:80]


def _multipart(data: list[tuple[str, str]], draw: random.Random) -> bytes:
    """The fields and a file in parts (RFC 7578)."""
    parts = [
        b'Content-Disposition: form-data; name="' + name.encode("utf-8", "surrogatepass").replace(b'"', b"%22")
        + b'"\r\n\r\n' + value.encode("utf-8", "surrogatepass")
        for name, value in data
    ]  # fmt: skip
    name = draw.choice(("file", "file", "photo", "token"))
    called = draw.choice(("a.json", "a.zip", "a.png", "a.jpg", "a.html", "a.csv", "", "../a", "é.txt", "a" * 500))
    parts.append(
        f'Content-Disposition: form-data; name="{name}"; filename="{called}"\r\nContent-Type: image/png\r\n\r\n'.encode()
        + _file(draw)
    )
    whole = b"".join(b"--" + BOUNDARY + b"\r\n" + part + b"\r\n" for part in parts)
    return whole + (b"--" + BOUNDARY + b"--\r\n" if draw.random() < 0.95 else b"")


def _file(draw: random.Random) -> bytes:
    lunch: Any = {"format": "packed-lunch", "version": 1, "household": {"name": "x"}, "children": [{"id": 1}]}
    recipe = {
        "@context": "https://schema.org",
        "@type": "Recipe",
        "name": "x",
        "recipeIngredient": ["1 cup oats", "", "½ x", None, 3],
    }
    page = f'<html><script type="application/ld+json">{json.dumps(recipe)}</script></html>'
    return draw.choice(
        (
            b"", PNG, PNG[:40], PNG[:20] + b"\xff" * 30, b"\xff\xd8\xff\xe0" + b"\x00" * 40, b"PK\x03\x04" + b"\x00" * 40, b"GIF89a" + b"\xff" * 20,
            json.dumps(lunch).encode(), json.dumps([lunch]).encode(), b"[" * 20_000, b"{}", b"null", page.encode(), page.encode("utf-16"),
            b"name,energy_kcal\nx,1\n", b"RIFF\x00\x00\x00\x00WEBP", b"\x00" * 100_000,
        )
    )  # fmt: skip
