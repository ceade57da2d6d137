"""The address under which another device reaches this service."""

import socket
from dataclasses import dataclass
from typing import NamedTuple

from fastapi import Request
from markupsafe import Markup

from service.api.senders import host_name, names_this_machine
from service.settings import LOOPBACK, Settings
from service.web.devices.qr import qr_code

NOWHERE = ("192.0.2.1", 9)
"""An address of no machine (RFC 5737). Asking which way leads there sends nothing."""
EVERY_ADDRESS = frozenset({"", "0.0.0.0", "::"})  # noqa: S104 - compared, never bound


class Reach(NamedTuple):
    """``address``: scheme, host and port; ``known``: whether others reach it; ``listens``: whether others are listened to."""

    address: str
    known: bool
    listens: bool


@dataclass(frozen=True)
class ShownOnce:
    """An address that is shown this once: as a link, and as a code to scan; how others reach it."""

    link: str
    code: Markup
    reach: Reach


def address_and_code(reach: Reach, path: str) -> tuple[str, Markup, Reach]:
    """What ``ShownOnce`` has of a path of this service."""
    return reach.address + path, qr_code(reach.address + path), reach


def reach_of(request: Request, chosen: Settings) -> Reach:
    """How another device reaches the service: as this one does, unless this is the computer that it runs on."""
    host = request.headers.get("host", "")
    scheme = request.url.scheme
    listens = bool(chosen.proxies()) or chosen.host not in LOOPBACK
    if not names_this_machine(host_name(host.encode("latin-1"))):
        return Reach(f"{scheme}://{host}", known=True, listens=True)
    own = home_address() if chosen.host in EVERY_ADDRESS else chosen.host
    if not listens or chosen.proxies() or own is None:
        return Reach(f"{scheme}://{host}", known=False, listens=listens)
    return Reach(f"{scheme}://{f'[{own}]' if ':' in own else own}:{chosen.port}", known=True, listens=True)


def home_address() -> str | None:
    """This computer's address in the home network; None where it is in none."""
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
            way.connect(NOWHERE)
            return str(way.getsockname()[0])
    except OSError:
        return None
