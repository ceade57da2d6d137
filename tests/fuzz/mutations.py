"""What is wrong with a made-up request: values, texts, days, ids and bytes that nobody should send, drawn with a seed."""

import copy
import gzip
import json
import random
from collections.abc import Iterator
from typing import Any

MARK = "<u id=fuzzed>"
"""Stands in many texts; no page may show it as it is."""
ODD_TEXTS: tuple[str, ...] = (
    "", " ", "\t\n", "\x00", "a\x00b", "\u202eabc", "\ud800", "\udfff\ud800", "é", "e\u0301", "🥪" * 40, "İı", "ß" * 200, "\ufeff",
    "\u2028", "a" * 61, "a" * 10_000, "x" * 120_000, "'; DROP TABLE lunches; --", "{{7*7}}", "%s%n%d", "../../../etc/passwd",
    "=1+1", "null", "nan", "true", "-0", "1e999", "٣", "½", "１２", "0x10", "1_000", "+5", " 5 ", "1,5", "1.5.2", "-1", "0",
    MARK, f'">{MARK}', f"x {MARK} y", f"'{MARK}", "</textarea>" + MARK, "\r\nSet-Cookie: a=b", "http://127.0.0.1:9/", "//example.org",
    "javascript:alert(1)", "urn:uuid:01900000-0000-7000-8000-000000000003", "apple", "egg-hard-boiled", "fluid_ounce", "en", "es",
)  # fmt: skip
ODD_NUMBERS: tuple[Any, ...] = (
    0, -0.0, -1, 1, 2, 0.1, 1e-9, 5e-324, 1e15, 1e16, 1e300, 1.7976931348623157e308, -1e300, 2**31, 2**53 + 1, 2**63, 2**64, 10**30,
    10**400, 0.30000000000000004, 99999, 100000.5, 1e7,
    float("nan"), float("inf"), float("-inf"),
)  # fmt: skip
ODD_DAYS: tuple[str, ...] = (
    "0001-01-01", "0000-00-00", "9999-12-31", "10000-01-01", "1999-12-31", "2024-02-29", "2023-02-29", "2026-11-27", "2026-11-30",
    "2026-12-01", "2026-1-1", "20261130", "2026-W48-1", "2026-11-30T00:00:00Z", "2100-01-01", "1900-01-01", "2026-11-31",
)  # fmt: skip
ODD_WEEKS: tuple[str, ...] = ("2026-W48", "2026-W49", "2026-W53", "2025-W53", "2026-W00", "0001-W01", "9999-W52", "9999-W53", "W48", "2026W48")  # fmt: skip
ODD_IDS: tuple[str, ...] = (
    "00000000-0000-0000-0000-000000000000", "ffffffff-ffff-ffff-ffff-ffffffffffff", "01900000-0000-7000-8000-00000000000Z",
    "01900000000070008000000000000003", "{01900000-0000-7000-8000-000000000003}", "01900000-0000-7000-8000-000000000003 ", "1", "-1",
    "apple", "nothing-of-this-name",
)  # fmt: skip


def any_odd(draw: random.Random, ids: list[str]) -> Any:
    """A value of any kind."""
    return draw.choice(
        (
            lambda: draw.choice(ODD_TEXTS),
            lambda: draw.choice(ODD_NUMBERS),
            lambda: draw.choice(ODD_DAYS),
            lambda: draw.choice(ODD_WEEKS),
            lambda: draw.choice(ODD_IDS),
            lambda: draw.choice(ids) if ids else "",
            lambda: draw.choice((None, True, False, [], {}, [[]], {"": None}, [None], [1] * 300)),
            lambda: nested(draw.choice((5, 40, 90))),
        )
    )()


def odd_text(draw: random.Random, ids: list[str]) -> str:
    """The same as text, for a query, a header or a field of a form."""
    found = any_odd(draw, ids)
    return found if isinstance(found, str) else json.dumps(found) if draw.random() < 0.5 else str(found)[:5_000]


def nested(depth: int) -> Any:
    """Lists in lists."""
    inner: Any = 1
    for _ in range(depth):
        inner = [inner]
    return inner


def places(part: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The path of every part of a JSON value, the whole too."""
    yield path
    inside = part.items() if isinstance(part, dict) else enumerate(part) if isinstance(part, list) else ()
    for name, inner in inside:
        yield from places(inner, (*path, name))


def at(whole: Any, path: tuple[Any, ...]) -> Any:
    """The part at a path."""
    for name in path:
        whole = whole[name]
    return whole


def changed_json(whole: Any, draw: random.Random, ids: list[str]) -> Any:
    """A copy of a JSON value with one part changed."""
    whole = copy.deepcopy(whole)
    path = draw.choice(list(places(whole)))
    if not path:
        return (
            any_odd(draw, ids) if draw.random() < 0.2 or not isinstance(whole, dict) else _with_more(whole, draw, ids)
        )
    holder, name = at(whole, path[:-1]), path[-1]
    part = holder[name]
    way = draw.randrange(10)
    if way == 0:
        del holder[name]
    elif way == 1:
        holder[name] = None
    elif way == 2:
        holder[name] = {"value": part} if draw.random() < 0.5 else [part]
    elif way == 3 and isinstance(part, list) and part:
        holder[name] = (part * draw.choice((2, 3, 50, 400)))[: draw.choice((1, 2, 20, 61, 1_000))]
    elif way == 4 and isinstance(part, dict):
        holder[name] = _with_more(part, draw, ids)
    elif way == 5:
        other = draw.choice(list(places(whole)))
        holder[name] = copy.deepcopy(at(whole, other))  # what stands elsewhere in it
    elif isinstance(part, bool):
        holder[name] = draw.choice((not part, "yes", 0, 1, None))
    elif isinstance(part, int | float):
        near = (part * 10, part + 1, -part, part - 0.25, str(part)) if abs(part) < 1e300 else (-part, str(part)[:40])
        holder[name] = draw.choice((*near, draw.choice(ODD_NUMBERS)))
    elif isinstance(part, str):
        holder[name] = _other_text(part, draw, ids)
    else:
        holder[name] = any_odd(draw, ids)
    return whole


def _with_more(part: dict[str, Any], draw: random.Random, ids: list[str]) -> dict[str, Any]:
    name = draw.choice(("extra", "id", "version", "__proto__", "", "note", *part))
    return {**part, (name if draw.random() < 0.7 else name.upper()): any_odd(draw, ids)}


def _other_text(part: str, draw: random.Random, ids: list[str]) -> str | Any:
    near = (part + "x", part.upper(), f" {part} ", part[:-1], part * 2)
    kinds = (near, ODD_TEXTS, tuple(ids) or near, ODD_DAYS if part[:2] == "20" else ODD_IDS, ODD_WEEKS)
    return draw.choice(draw.choice(kinds)) if draw.random() < 0.9 else any_odd(draw, ids)


def as_bytes(body: Any, draw: random.Random) -> bytes:
    """A JSON value as it is sent; lone surrogates as escapes, numbers that are none as JavaScript writes them."""
    try:
        return json.dumps(body, ensure_ascii=draw.random() < 0.5).encode()
    except UnicodeEncodeError:
        return json.dumps(body).encode()


def spoiled(body: bytes, draw: random.Random) -> bytes:
    """Bytes that are no longer quite what they were."""
    way = draw.randrange(9)
    if way == 0:
        return body[: draw.randrange(len(body) + 1)]
    if way == 1 and body:
        place = draw.randrange(len(body))
        return body[:place] + bytes([draw.randrange(256)]) + body[place + 1 :]
    if way == 2:
        return b"\xef\xbb\xbf" + body
    if way == 3:
        return body.decode("utf-8", "replace").encode("utf-16")
    if way == 4:
        return gzip.compress(body)
    if way == 5:
        return body.replace(b":", b": {", 1)
    if way == 6 and body[:1] == b"{" and len(body) > 2:
        return b'{"items": 1, "items": 2, ' + body[1:]  # a name twice
    if way == 7:
        return b"[" * draw.choice((10, 3_000, 100_000))
    return body + draw.choice((b"\x00", b"{}", b",", b"\xff\xfe"))


def doubled(
    query: list[tuple[str, str]], names: list[str], draw: random.Random, ids: list[str]
) -> list[tuple[str, str]]:
    """A query with a parameter changed, added, doubled or taken away."""
    query = list(query)
    way = draw.randrange(5)
    if way == 0 and query:
        query.append(draw.choice(query))
    elif way == 1 and query:
        query.pop(draw.randrange(len(query)))
    elif way == 2 and query:
        place = draw.randrange(len(query))
        query[place] = (query[place][0], odd_text(draw, ids))
    else:
        query.append((draw.choice((*names, "extra", "limit", "cursor", "")), odd_text(draw, ids)))
    return query
