"""How the server listens: a longer queue of the system, and TLS handshakes that the door counts from the first moment.

asyncio accepts a connection, waits for its handshake for a minute, and tells nobody of it before that is done. Here a connection comes in
as any other does, and TLS begins in it.
"""

import asyncio
import socket
import ssl
from collections.abc import Callable
from typing import Any

from service.cli.server.connections import BoundedProtocol

HANDSHAKE_S = 10
"""How long a handshake may take."""
QUEUE = 1_024
"""Connections that the system holds until they are accepted."""


class Handshake(asyncio.Protocol):
    """A connection until its handshake is done; then it is ``protocol``'s, with whatever came meanwhile."""

    at_work = body_is_coming = False
    address: str
    since: float
    transport: asyncio.Transport

    def __init__(self, protocol: BoundedProtocol, context: ssl.SSLContext) -> None:
        self.protocol, self.context = protocol, context
        self._came: list[bytes] = []

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin."""
        peer = transport.get_extra_info("peername")
        self.address = str(peer[0]) if peer else ""
        self.transport = transport
        loop = asyncio.get_running_loop()
        self.since = loop.time()
        transport.pause_reading()
        self._task = loop.create_task(self._shake_hands(loop))
        self.protocol.door.come(self)

    def data_received(self, data: bytes) -> None:
        """Keep what comes with the last part of the handshake."""
        self._came.append(data)

    async def _shake_hands(self, loop: asyncio.AbstractEventLoop) -> None:
        try:
            made = await loop.start_tls(
                self.transport, self, self.context, server_side=True, ssl_handshake_timeout=HANDSHAKE_S
            )
        except OSError:  # too slow, gone, or no TLS; the connection is closed
            return
        finally:
            self.protocol.door.go(self)
        if made is None or made.is_closing():
            return
        made.set_protocol(self.protocol)
        self.protocol.connection_made(made)
        for data in self._came:
            self.protocol.data_received(data)


class Loop(asyncio.SelectorEventLoop):
    """An event loop that counts handshakes, and with a queue of our own: asyncio has one number for how many connections the system
    queues and how many are accepted at once.
    """

    async def create_server(self, protocol_factory: Callable[[], Any], *given: Any, **named: Any) -> asyncio.Server:
        """The server; where it speaks TLS, with ``Handshake`` in front of its protocol."""
        context = named.pop("ssl", None)

        def shaking_hands() -> Handshake:
            return Handshake(protocol_factory(), context)

        server = await super().create_server(protocol_factory if context is None else shaking_hands, *given, **named)
        for one in server.sockets:
            with socket.fromfd(one.fileno(), one.family, one.type) as listening:
                listening.listen(QUEUE)
        return server
