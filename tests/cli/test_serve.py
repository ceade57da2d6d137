"""Promise: ``packed-lunch serve`` starts a server on this machine, says where, answers, and stops when told to."""

import json
import socket

from tests.api.clients import LUNCH
from tests.contract.example_files import example_files
from tests.served import GENEROUS, served


def test_a_server_answers_and_stops() -> None:
    """The reply over a socket is the reply in this process; its last line says where it listens; it ends at Ctrl+C."""
    example = next(one for one in example_files() if one.id() == "check-lunch/keeps-the-rules")
    with served() as server:
        status, body = server.ask("POST", "/v1/lunch-checks", json.dumps(example.request).encode())
        assert (status, json.loads(body)) == (200, example.reply())
        assert server.ask("GET", "/docs")[0] == 200
        assert server.ask("HEAD", "/v1/foods/apple") == (200, b"")
        assert server.ask("GET", "/v1/foods/aple")[0] == 404
    assert server.code in (0, 130, -2), server.output
    listening = server.output.splitlines()[-1]
    assert f"http://127.0.0.1:{server.port}" in listening
    assert "/docs" in listening


def test_a_server_with_a_key_asks_for_it() -> None:
    """Key and origin from the environment; more than the limit is refused while it is still being sent."""
    key = "kitchen-door-0123456789"
    with served(PACKED_LUNCH_ACCESS_KEY=key, PACKED_LUNCH_MAX_BODY_BYTES="2000") as server:
        body = json.dumps(LUNCH).encode()
        assert server.ask("POST", "/v1/lunch-checks", body)[0] == 401
        assert server.ask("POST", "/v1/lunch-checks", body, {"Authorization": f"Bearer {key}"})[0] == 200
        head = f"POST /v1/lunch-checks HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nAuthorization: Bearer {key}\r\n"
        for announced in (
            "Content-Length: 50000000\r\n\r\n",
            "Transfer-Encoding: chunked\r\n\r\n" + ("3e8\r\n" + "x" * 1000 + "\r\n") * 3,
        ):
            with socket.create_connection(("127.0.0.1", server.port), timeout=GENEROUS) as connection:
                connection.sendall((head + announced).encode())
                assert connection.recv(200).startswith(b"HTTP/1.1 413 ")
    assert key not in server.output
