"""One request to the application in this process: plain ASGI, so that any bytes can be sent and a thousand take seconds."""

import asyncio
import gzip
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import unquote

from fastapi import FastAPI

LONGEST = 300.0
"""Seconds after which a request is given up: something hangs."""
SHOWN = 1_500
"""Bytes of a body that are printed."""
ENDLESS = "/events"


@dataclass(frozen=True)
class Asked:
    """A request. ``target``: path and query, percent-encoded. ``template``: the address in the document (or of the page) it was made for."""

    method: str
    target: str
    headers: tuple[tuple[bytes, bytes], ...]
    body: bytes
    template: str
    of_api: bool

    @property
    def path(self) -> str:
        """The path as the application sees it."""
        return unquote(self.target.partition("?")[0])

    @property
    def by_browser(self) -> bool:
        """Whether it asks for a page, as a browser does: at addresses that both people and programs read it is answered one."""
        return any(name == b"accept" and b"text/html" in value for name, value in self.headers)

    def shown(self) -> str:
        """The request, enough to send it again."""
        headers = "\n".join(f"      {name.decode('latin-1')}: {value[:300]!r}" for name, value in self.headers)
        more = f" ... {len(self.body):,} bytes" if len(self.body) > SHOWN else ""
        target = (
            self.target if len(self.target) < SHOWN else f"{self.target[:SHOWN]}... {len(self.target):,} characters"
        )
        return f"    {self.method} {target}   ({self.template})\n{headers}\n      {self.body[:SHOWN]!r}{more}"


@dataclass
class Answer:
    """What came. ``fault``: what the application raised instead of answering."""

    status: int = 0
    headers: dict[str, str] = field(default_factory=dict)
    body: bytes = b""
    fault: str = ""

    @property
    def media(self) -> str:
        """The media type, without its parameters."""
        return self.headers.get("content-type", "").partition(";")[0]


async def ask(app: FastAPI, asked: Asked) -> Answer:
    """Send it and gather the answer; what the application raises is noted, never raised."""
    path, _, query = asked.target.partition("?")
    scope: dict[str, Any] = {
        "type": "http", "asgi": {"version": "3.0", "spec_version": "2.3"}, "http_version": "1.1", "scheme": "http",
        "method": asked.method, "path": unquote(path), "raw_path": path.encode("ascii", "replace"), "root_path": "",
        "query_string": query.encode("ascii", "replace"), "headers": [*asked.headers],
        "client": ("127.0.0.1", 50_000), "server": ("127.0.0.1", 8087), "state": {},
    }  # fmt: skip
    answer, sent, begun = Answer(), False, asyncio.Event()

    async def receive() -> dict[str, Any]:
        nonlocal sent
        if not sent:
            sent = True
            return {"type": "http.request", "body": asked.body, "more_body": False}
        if asked.path != ENDLESS:
            await asyncio.Event().wait()  # the caller stays until it has its answer
        await begun.wait()
        return {"type": "http.disconnect"}

    async def send(message: Any) -> None:
        if message["type"] == "http.response.start":
            answer.status = message["status"]
            begun.set()
            for name, value in message["headers"]:
                answer.headers[name.decode("latin-1").lower()] = value.decode("latin-1")
        elif message["type"] == "http.response.body":
            answer.body += message.get("body", b"")

    try:
        await asyncio.wait_for(app(scope, receive, send), LONGEST)
    except TimeoutError:
        answer.fault = f"no answer in {LONGEST:.0f} s"
    except Exception as fault:  # whatever it is, it is a finding
        answer.fault = f"raised {type(fault).__name__}: {fault}"
    if answer.headers.get("content-encoding") == "gzip" and answer.body:
        answer.body = gzip.decompress(answer.body)
    return answer
