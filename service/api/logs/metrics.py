"""What is counted of requests, for Prometheus: by template of the route, never by what was sent. Off unless a key is set."""

from collections.abc import Mapping
from functools import cache, partial
from typing import Protocol

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

PATH = "/metrics"
STORE_FAULT = "store-fault"
SECONDS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0, 30.0, 60.0)
"""Upper ends of the histogram's classes: from a look-up to a plan."""


class Waiting(Protocol):
    """A queue of jobs."""

    @property
    def inside(self) -> int:
        """How many are worked on or wait."""


class Metrics:
    """The counts of one application. ``queues``: by name, each asked for its length when the counts are read."""

    def __init__(self, queues: Mapping[str, Waiting]) -> None:
        from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram

        self.registry = CollectorRegistry()
        self._requests = Counter(
            "packed_lunch_requests", "Requests answered.", ["method", "route", "status"], registry=self.registry
        )
        self._seconds = Histogram(
            "packed_lunch_request_seconds",
            "Seconds until the whole answer was sent.",
            ["route"],
            buckets=SECONDS,
            registry=self.registry,
        )
        self._store_faults = Counter(
            "packed_lunch_store_faults", "Requests refused because the store did not answer.", registry=self.registry
        )
        self._of = cache(lambda method, route, status: self._requests.labels(method, route, str(status)))
        self._duration_of = cache(self._seconds.labels)  # both are looked for with every request
        jobs = Gauge("packed_lunch_jobs", "Jobs that are worked on or wait.", ["queue"], registry=self.registry)
        for name, queue in queues.items():
            jobs.labels(name).set_function(partial(_inside, queue))

    def answered(self, method: str, route: str, status: int, seconds: float, problem: str) -> None:
        """One more request."""
        self._of(method, route, status).inc()
        self._duration_of(route).observe(seconds)
        if problem == STORE_FAULT:
            self._store_faults.inc()

    def route(self) -> Route:
        """The address that they are read at; the gate (``access.py``) looks at the key."""
        from prometheus_client import CONTENT_TYPE_LATEST, generate_latest

        async def metrics(_request: Request) -> Response:
            return Response(generate_latest(self.registry), headers={"Content-Type": CONTENT_TYPE_LATEST})

        return Route(PATH, metrics)


def _inside(queue: Waiting) -> float:
    return queue.inside
