"""POST /v1/lunch-checks against a bare route: requests per second, one worker, one connection, same run.

The two servers run side by side and are asked in turns, so that a change of the machine's mood meets both.
"""

import tempfile
from collections.abc import Iterator
from pathlib import Path
from statistics import median

from tests.benchmarks.figure import Figure
from tests.benchmarks.server import SERVED, connect, free_port, http_request, read_reply, requests_per_second, serving

ROUNDS = 40
SECONDS = 0.25
"""Many short turns: the figure is the median of the ratios of neighbouring turns, so a busy moment spoils one of them."""

BODY = b"""{"standard": "gb-sct-school-lunch", "on": "2026-12-01",
 "child": {"age_years": 8, "avoids": [{"allergen": "peanut"}]},
 "lunch": {"items": [
  {"food": "bread-whole-wheat", "quantity": 2, "unit": "slice"},
  {"food": "cheese-cheddar", "quantity": 28, "unit": "g"},
  {"food": "carrots-baby-raw", "quantity": 60, "unit": "g", "form": "strip"},
  {"food": "apple", "quantity": 1, "unit": "apple"},
  {"food": "yogurt-plain-low-fat", "quantity": 113, "unit": "g"},
  {"food": "milk-1-percent", "quantity": 1, "unit": "cup"}],
  "holding": {"insulated": true, "cold_sources": 2, "minutes_until_eaten": 240}},
 "max_changes": 0}"""


def figures() -> Iterator[Figure]:
    """The ratio, with both rates."""
    ours, bare = free_port(), free_port()
    with tempfile.TemporaryDirectory() as folder, serving(SERVED, ours):
        request = http_request(BODY)
        our_connection = connect(ours)
        our_connection.sendall(request)
        status, reply = read_reply(our_connection)
        if status != 200:
            raise RuntimeError(reply.decode())
        ready = Path(folder) / "reply.json"
        ready.write_bytes(reply)
        with serving("tests.benchmarks.bare_app:app", bare, {"BENCHMARK_REPLY": str(ready)}):
            bare_connection = connect(bare)
            for connection in (our_connection, bare_connection):
                requests_per_second(connection, request, 0.5)
            our_rates, bare_rates = [], []
            for _ in range(ROUNDS):
                our_rates.append(requests_per_second(our_connection, request, SECONDS))
                bare_rates.append(requests_per_second(bare_connection, request, SECONDS))
    our, yardstick = median(our_rates), median(bare_rates)
    ratio = median(one / other for one, other in zip(our_rates, bare_rates, strict=True))
    detail = f"{our:.0f}/s against {yardstick:.0f}/s, reply {len(reply)} bytes"
    yield Figure("lunch check: requests against a bare route", ratio, 0.50, detail=detail)
