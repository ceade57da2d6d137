"""Requests to the JSON API: the examples of each operation of the document, as they are and changed in many ways."""

import random
import re
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import quote

from service.api.docs.examples import parts_of
from tests.contract.example_files import Operation, example_files, operations
from tests.fuzz.asking import Asked
from tests.fuzz.kitchen import Family
from tests.fuzz.mutations import (
    ODD_DAYS,
    ODD_IDS,
    ODD_TEXTS,
    ODD_WEEKS,
    any_odd,
    as_bytes,
    changed_json,
    doubled,
    odd_text,
    spoiled,
)

TABLE_OF = {
    "child_id": "children", "food_id": "foods", "packet_id": "packets", "recipe_id": "recipes", "offer_id": "offers",
    "price_id": "prices", "lunch_id": "lunches", "school_day_id": "school_days", "stock_entry_id": "stock",
    "plan_id": "plans", "key_id": "access_keys",
}  # fmt: skip
HEAVY = re.compile(
    r"/v1/(plans|offer-designs|offer-audits|portion-needs|weekly-summaries|prep-sheets|shopping-lists|label-sheets|export)"
)
"""What works for a while: asked for once where others are asked for eight times."""
SOME = 0.15
"""The part of requests that nothing is changed in, so that there is always something new stored."""
MEDIA = ("application/json", "application/merge-patch+json", "application/fhir+json")
ODD_HEADERS: tuple[tuple[str, tuple[bytes, ...]], ...] = (
    ("If-Match", (b'"1"', b'"2"', b"*", b'W/"1"', b"1", b'"1", "2"', b'"', b'"' + b"9" * 400 + b'"', b"\xff", b"")),
    ("If-None-Match", (b"*", b'"1"', b'W/"x"', b'"', b"\xe9", b",,,")),
    ("Accept", (b"*/*", b"text/html", b"application/json;q=0", b"text/csv", b"application/zip", b"application/vnd.apache.parquet", b";;;q=", b"text/*;q=nan", b"\xff\xfe", b"a" * 9_000)),
    ("Content-Type", (*(one.encode() for one in MEDIA), b"text/plain", b"application/x-www-form-urlencoded", b"multipart/form-data", b"application/json; charset=utf-16", b"application/json; charset=latin-1", b"", b"\xff", b"APPLICATION/JSON ; a=b")),
    ("Idempotency-Key", (b"one", b"", b"\xff\x00", b"k" * 300, b'"quoted"', b"two words", "é".encode())),
    ("Range", (b"bytes=0-1", b"bytes=-1", b"bytes=9999999999-", b"items=x")),
    ("Host", (b"localhost", b"127.0.0.1:8087", b"[::1]", b"kitchen.example", b"", b"\xff", b"a" * 5_000, b"localhost:99999999999")),
    ("Origin", (b"null", b"https://kitchen.example", b"http://localhost:8087", b"\xff")),
    ("Content-Encoding", (b"gzip", b"br", b"identity")),
    ("Content-Length", (b"0", b"-1", b"999999999999", b"abc", b"\xb2", "٣".encode())),
    ("Accept-Language", (b"es", b"en-GB,en;q=0.9", b"xx", b"\xff", b"es;q=nan", b"*", b"-" * 3_000)),
    ("Accept-Encoding", (b"gzip", b"identity;q=0", b"\xff")),
    ("Sec-Fetch-Site", (b"same-origin", b"cross-site", b"none", b"\xff")),
    ("X-Forwarded-For", (b"192.0.2.9", b"\xff", b"")),
    ("X-Forwarded-Proto", (b"https", b"\xff")),
    ("Cookie", (b"packed_lunch_device=", b"packed_lunch_device=\xff", b"a=b; packed_lunch_device=" + b"x" * 43, b";;;=", b"language=\xff")),
    ("Authorization", (b"Bearer", b"Bearer ", b"Basic YTpi", b"Bearer \xff\xfe", b"Bearer " + b"A" * 43, b"Bearer x y", b"bearer")),
)  # fmt: skip
LATIN_1 = "latin-1"


@dataclass
class Operated:
    """An operation with its examples, each by its parts (path, query, headers, body), and the names of its parameters."""

    id: str
    of: Operation
    examples: list[dict[str, Any]] = field(default_factory=list)
    query: list[str] = field(default_factory=list)


def operated(document: dict[str, Any]) -> list[Operated]:
    """Every operation of the document; one without examples of its own has those of the making of its record."""
    known = operations(document)
    found = {name: Operated(name, one) for name, one in known.items()}
    for example in example_files():
        one = found[example.operation]
        one.examples.append(parts_of(example.request, bare=one.of.bare))
    for template, methods in document["paths"].items():
        for operation in methods.values():
            named = [part["name"] for part in operation.get("parameters", []) if part.get("in") == "query"]
            found[operation["operationId"]].query = named
        bodies = [
            one for operation in methods.values() for one in found[operation["operationId"]].examples if "body" in one
        ]
        above = template.rpartition("/{")[0]
        of_all = document["paths"].get(above, {}).get("post")
        if of_all is not None:
            bodies += [one for one in found[of_all["operationId"]].examples if "body" in one]
        for operation in methods.values():
            one = found[operation["operationId"]]
            if not one.examples:
                one.examples = bodies if one.of.media else []
            one.examples = one.examples or [{}]
    return list(found.values())


class ApiRequests:
    """Makes the requests, one operation after the other in an order that is drawn."""

    def __init__(self, document: dict[str, Any], family: Family) -> None:
        self.family = family
        self.operations = operated(document)
        self.many = [one for one in self.operations for _ in range(1 if HEAVY.match(one.of.template) else 8)]

    def make(self, draw: random.Random, ids: list[str]) -> Asked:
        """One request."""
        one = draw.choice(self.many)
        operation, example = one.of, draw.choice(one.examples)
        as_it_is = draw.random() < SOME
        query = [(name, str(value)) for name, value in example.get("query", {}).items()]
        headers = {name: str(value).encode("utf-8") for name, value in example.get("headers", {}).items()}
        method, body = operation.method, b""
        if operation.media:
            headers.setdefault("Content-Type", operation.media.encode())
            body = self._body(example.get("body", {}), draw, ids, as_it_is)
        if method in ("PUT", "PATCH", "DELETE", "POST") and "{" in operation.template and draw.random() < 0.9:
            headers["If-Match"] = draw.choice((b"*", b"*", b'"1"', b'"2"'))
        if "If-None-Match" in headers and "If-Match" in headers:
            del headers[draw.choice(("If-Match", "If-None-Match"))]
        if draw.random() < 0.9:
            key = self.family.keys[0] if draw.random() < 0.92 else self.family.keys[1]
            headers["Authorization"] = f"Bearer {key}".encode()
        elif draw.random() < 0.3:
            headers["Cookie"] = self.family.devices[draw.choice(("keep", "pack", "take"))].cookie
            headers["Sec-Fetch-Site"] = b"same-origin"
        headers.setdefault("Host", b"localhost")
        if not as_it_is and draw.random() < 0.25:
            for _ in range(draw.choice((1, 1, 2))):
                name, values = draw.choice(ODD_HEADERS)
                headers[name] = draw.choice(values)
        if not as_it_is and draw.random() < 0.02:
            method = draw.choice(("GET", "POST", "PUT", "PATCH", "DELETE", "HEAD", "OPTIONS", "TRACE", "BREW"))
        names = one.query
        if not as_it_is and (draw.random() < 0.1 or (names and draw.random() < 0.7)):
            for _ in range(draw.choice((1, 1, 2, 5))):
                query = doubled(query, names, draw, ids)
        target = self._path(operation, example, draw, ids, as_it_is) + _query_of(query)
        sent = [(name.lower().encode(), value) for name, value in headers.items()]
        if body and not any(name in (b"content-length", b"transfer-encoding") for name, _value in sent):
            sent.append((b"content-length", str(len(body)).encode()))
        return Asked(method, target, tuple(sent), body, operation.template, True)

    def _path(
        self, operation: Operation, example: dict[str, Any], draw: random.Random, ids: list[str], as_it_is: bool
    ) -> str:
        given = example.get("path", {})

        def part(found: re.Match[str]) -> str:
            name = found[1]
            value = str(given.get(name, ""))
            chance = draw.random()
            if not value or chance < 0.4:
                there = self.family.ids.get(TABLE_OF.get(name, ""), [])
                if there:
                    value = draw.choice(there)
                elif name == "date":
                    value = self.family.on.isoformat()
                else:
                    value = value or draw.choice(ids)
            if not as_it_is and chance > 0.9:
                value = draw.choice(
                    (
                        draw.choice(ODD_IDS),
                        draw.choice(ODD_TEXTS)[:2_000],
                        draw.choice(ids),
                        draw.choice(ODD_DAYS),
                        draw.choice(ODD_WEEKS),
                    )
                )
            return quoted(value)

        return re.sub(r"\{(\w+)\}", part, operation.template)

    @staticmethod
    def _body(example: Any, draw: random.Random, ids: list[str], as_it_is: bool) -> bytes:
        if as_it_is:
            return as_bytes(example, draw)
        chance = draw.random()
        if chance < 0.03:
            return as_bytes(any_odd(draw, ids), draw)
        body = example
        for _ in range(draw.choice((0, 1, 1, 1, 2, 3, 6))):
            body = changed_json(body, draw, ids)
        sent = as_bytes(body, draw)
        return spoiled(sent, draw) if chance > 0.93 else sent


def quoted(text: str) -> str:
    """A text as part of an address; what UTF-8 cannot write as the bytes it would have."""
    return quote(text.encode("utf-8", "surrogatepass"), safe="")


def _query_of(query: list[tuple[str, str]]) -> str:
    return "?" + "&".join(f"{quoted(name)}={quoted(value[:4_000])}" for name, value in query) if query else ""


__all__ = ["ApiRequests", "odd_text", "quoted"]
