"""Where a request was sent to and where it comes from: the host it names, the page that sent it, the machine.

A browser takes any name that leads to this machine for another site's (DNS rebinding): so only names that are known
here are answered. It sends cookies along whatever page asks: so a request with a cookie that changes anything must come
from a page of ours.
"""

from collections.abc import Sequence
from functools import lru_cache
from ipaddress import ip_address, ip_network

from starlette.types import Scope

LOOPBACK_NAME = "localhost"
ALL_ADDRESSES = frozenset({"", "0.0.0.0", "::"})  # noqa: S104 - compared, never bound
CHANGING = frozenset({"POST", "PUT", "PATCH", "DELETE"})
PORTS = {"http": "80", "https": "443"}
FORWARDED = frozenset({b"forwarded", b"x-forwarded-for"})


class Headers:
    """The headers that say who sends a request, and to whom; each the first of its name, None where there is none.

    ``keys``: how many Authorization headers there are.
    """

    __slots__ = ("authorization", "cookie", "fetch_site", "forwarded", "host", "keys", "origin")

    def __init__(self, scope: Scope) -> None:
        self.authorization: bytes | None = None
        self.cookie: bytes | None = None
        self.fetch_site: bytes | None = None
        self.host: bytes | None = None
        self.origin: bytes | None = None
        self.forwarded = False
        self.keys = 0
        for name, value in scope["headers"]:
            if name in _WANTED:
                self.keys += name == b"authorization"
                if getattr(self, _WANTED[name]) is None:
                    setattr(self, _WANTED[name], value)
            elif name in FORWARDED:
                self.forwarded = True


_WANTED = {
    b"authorization": "authorization",
    b"cookie": "cookie",
    b"sec-fetch-site": "fetch_site",
    b"host": "host",
    b"origin": "origin",
}


class KnownHosts:
    """The hosts that a request may name.

    Loopback's, the one listened on, and those of the settings. A service that listens on all addresses is also asked by
    any of them: an address, unlike a name, cannot be made to lead here by whoever has a page elsewhere.
    """

    def __init__(self, listened_on: str, named: list[str]) -> None:
        self._names = frozenset({LOOPBACK_NAME, listened_on.lower(), *(name.lower() for name in named)}) - ALL_ADDRESSES
        self._any_address = listened_on in ALL_ADDRESSES
        self.has = lru_cache(maxsize=256)(self._has)

    def _has(self, host: bytes | None) -> bool:
        """Whether a Host header (RFC 9110 section 7.2) names one of them, whatever the port."""
        name = host_name(host or b"")
        if name in self._names:
            return True
        try:
            address = ip_address(name)
        except ValueError:
            return False
        return address.is_loopback or self._any_address


class Proxies:
    """The proxies in front, by address or network: only what these say of a caller is believed."""

    def __init__(self, named: Sequence[str]) -> None:
        self.named = list(named)
        self._networks = [ip_network(one) for one in named]
        self.has = lru_cache(maxsize=1024)(self._has)

    def __bool__(self) -> bool:
        """Whether there is any."""
        return bool(self._networks)

    def _has(self, address: str) -> bool:
        """Whether an address is one of theirs."""
        try:
            asked = ip_address(address)
        except ValueError:
            return False
        return any(asked in network for network in self._networks)


def host_name(host: bytes) -> str:
    """The name or address in a Host header, in lower case, without port and brackets; empty if it has no such form.

    >>> host_name(b"[::1]:8087"), host_name(b"Kitchen.local:8087"), host_name(b"a b")
    ('::1', 'kitchen.local', '')
    """
    text = host.decode("latin-1").lower()
    if text.startswith("["):
        name, closed, port = text[1:].partition("]")
        return name if closed and (not port or (port[0] == ":" and port[1:].isdecimal())) else ""
    name, colon, port = text.partition(":")
    good = all(char.isalnum() or char in "-._" for char in name) and (not colon or port.isdecimal())
    return name.removesuffix(".") if good else ""


def names_this_machine(name: str) -> bool:
    """Whether a host's name or address is one by which a machine calls itself, and nobody else does."""
    return name == LOOPBACK_NAME or _on_this_machine(name)


def from_our_page(scope: Scope, headers: Headers | None = None) -> bool:
    """Whether a page of this very origin sent a request.

    Browsers say so themselves (Sec-Fetch-Site: W3C Fetch Metadata); where one does not, its Origin is compared (RFC 6454).
    """
    headers = headers or Headers(scope)
    if headers.fetch_site is not None:
        return headers.fetch_site == b"same-origin"
    if headers.origin is None or headers.host is None:
        return False
    scheme = scope.get("scheme", "http")
    return _origin(headers.origin.decode("latin-1")) == _origin(f"{scheme}://{headers.host.decode('latin-1')}")


def _origin(text: str) -> str:
    """An origin without the port that its scheme has anyway."""
    text = text.lower()
    return text.removesuffix(f":{PORTS.get(text.partition(':')[0], '')}")


def from_elsewhere(scope: Scope, headers: Headers) -> bool:
    """Whether a request comes from another machine; one over a local socket or in this process does not.

    One that a proxy on this machine hands on does: then the proxy says so in a header.
    """
    client = scope.get("client")
    return headers.forwarded or (client is not None and not _on_this_machine(client[0]))


@lru_cache(maxsize=1024)
def _on_this_machine(address: str) -> bool:
    try:
        return ip_address(address).is_loopback
    except ValueError:
        return True
