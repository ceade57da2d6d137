"""A stub of FoodData Central on loopback: what it answers is laid out by each test. All foods are invented."""

import json
import socket
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Event, Thread
from typing import Any
from urllib.parse import parse_qs, urlsplit

KEY = "invented-KEY-0123456789"
CODE = "074312000010"
"""An invented code of 12 digits; the check digit is right."""

NUTRIENTS = {
    1008: ("208", "Energy", "KCAL", 500.0),
    1003: ("203", "Protein", "G", 10.0),
    1004: ("204", "Total lipid (fat)", "G", 20.0),
    1005: ("205", "Carbohydrate, by difference", "G", 70.0),
    1093: ("307", "Sodium, Na", "MG", 400.0),
    1178: ("418", "Vitamin B-12", "UG", 2.4),
    1110: ("324", "Vitamin D (D2 + D3), International Units", "IU", 40.0),
}


def hit(fdc_id: int, code: str = CODE, modified: str = "2025-04-01", **more: Any) -> dict[str, Any]:
    """A version as the search gives it."""
    return {
        "fdcId": fdc_id,
        "description": "INVENTED OAT BARS",
        "dataType": "Branded",
        "gtinUpc": code,
        "publishedDate": "2025-05-01",
        "modifiedDate": modified,
        "brandOwner": "Invented Foods",
        "ingredients": "OATS, HONEY, ALMONDS, SALT.",
        "servingSizeUnit": "GRM",
        "servingSize": 28.0,
        "foodNutrients": [
            {"nutrientId": one, "nutrientNumber": number, "nutrientName": name, "unitName": unit, "value": amount}
            for one, (number, name, unit, amount) in NUTRIENTS.items()
        ],
        **more,
    }


def entry(fdc_id: int, code: str = CODE, modified: str = "4/1/2025", **more: Any) -> dict[str, Any]:
    """A version as its own address gives it; days are written the other way."""
    return {
        "fdcId": fdc_id,
        "description": "INVENTED OAT BARS",
        "dataType": "Branded",
        "gtinUpc": code,
        "publicationDate": "5/1/2025",
        "modifiedDate": modified,
        "availableDate": modified,
        "marketCountry": "United States",
        "brandOwner": "Invented Foods",
        "brandedFoodCategory": "Cereal bars",
        "ingredients": "OATS, HONEY, ALMONDS, SALT.",
        "servingSizeUnit": "g",
        "servingSize": 28.0,
        "householdServingFullText": "1 bar",
        "foodNutrients": [
            {
                "id": 9,
                "amount": amount,
                "nutrient": {"id": one, "number": number, "name": name, "unitName": _said(unit)},
            }
            for one, (number, name, unit, amount) in NUTRIENTS.items()
        ],
        **more,
    }


def _said(unit: str) -> str:
    """A unit as an entry says it."""
    return unit if unit == "IU" else unit.lower().replace("ug", "µg")


@dataclass
class Answer:
    """What is answered, and how."""

    body: Any = None
    status: int = 200
    headers: dict[str, str] = field(default_factory=dict)
    media_type: str = "application/json"
    wait: float = 0.0
    drip: bool = False
    cut: bool = False

    def written(self) -> bytes:
        return self.body if isinstance(self.body, bytes) else json.dumps(self.body).encode()


Lay = Callable[[str, dict[str, str]], Answer]
"""From the path and the query to the answer."""


class Stub:
    """``asked``: path and query of every question; ``keys``: the key of each; ``lay``: what is answered."""

    def __init__(self, lay: Lay) -> None:
        self.lay, self.asked, self.keys, self.methods = lay, list[str](), list[str](), list[str]()
        self.over = Event()
        self.url = ""

    def answers(self, *hits: dict[str, Any], entries: dict[int, Any] | None = None, **more: Any) -> None:
        """From now on a search finds these, and each has its entry; ``more``: as ``Answer`` has it."""

        def lay(path: str, _query: dict[str, str]) -> Answer:
            if path == "/v1/foods/search":
                return Answer({"totalHits": len(hits), "foods": list(hits)}, **more)
            fdc_id = int(path.rsplit("/", 1)[1])
            return Answer(entry(fdc_id) if entries is None else entries[fdc_id], **more)

        self.lay = lay

    def always(self, answer: Answer) -> None:
        """From now on everything is answered so."""
        self.lay = lambda _path, _query: answer


@contextmanager
def stub_server() -> Iterator[Stub]:
    stub = Stub(lambda _path, _query: Answer({"foods": []}))

    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def do_GET(self) -> None:
            address = urlsplit(self.path.removeprefix("/fdc"))
            query = {name: values[0] for name, values in parse_qs(address.query).items()}
            stub.asked.append(f"{address.path}?{query.get('query', '')}".rstrip("?"))
            stub.keys.append(self.headers.get("X-Api-Key", ""))
            stub.methods.append(self.command)
            self._answer(stub.lay(address.path, query))

        def _answer(self, answer: Answer) -> None:
            body = answer.written()
            if answer.wait:
                stub.over.wait(answer.wait)
            try:
                self.send_response(answer.status)
                for name, value in answer.headers.items():
                    self.send_header(name, value)
                self.send_header("Content-Type", answer.media_type)
                self.send_header("Content-Length", str(len(body)))
                self.end_headers()
                if answer.cut:
                    self.wfile.write(body[: len(body) // 2])
                    self.wfile.flush()
                    self.close_connection = True
                    self.connection.shutdown(socket.SHUT_RDWR)
                elif answer.drip:
                    for one in body:
                        self.wfile.write(bytes([one]))
                        if stub.over.wait(0.05):
                            return
                else:
                    self.wfile.write(body)
            except OSError:  # who asked has gone
                self.close_connection = True

        def log_message(self, *_args: Any) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.daemon_threads = True
    stub.url = f"http://127.0.0.1:{server.server_port}/fdc"
    thread = Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
    thread.start()
    try:
        yield stub
    finally:
        stub.over.set()
        server.shutdown()
        server.server_close()
        thread.join()
