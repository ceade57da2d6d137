"""The cookie of a device that is signed in: read by the gate, set and taken away by the pages.

Over TLS its name begins with ``__Host-``: a browser then takes it over TLS only, and from this very host (RFC 6265bis
section 4.1.3.2). Without TLS, as at home, no browser would take such a name. Both are read, the stricter first, so
that a device that signed in before stays signed in.
"""

from starlette.requests import Request
from starlette.responses import Response

COOKIE = "packed_lunch_device"
COOKIE_OVER_TLS = f"__Host-{COOKIE}"
MAX_AGE_S = 400 * 24 * 3600
"""As long as a browser keeps any cookie (RFC 6265bis section 5.5); the store ends a device's time long before."""

_NAMES = (COOKIE_OVER_TLS.encode(), COOKIE.encode())


def device_secret(cookies: bytes) -> bytes | None:
    """The device's secret in a Cookie header, or None."""
    found: dict[bytes, bytes] = {}
    for pair in cookies.split(b";"):
        name, _, value = pair.strip().partition(b"=")
        if name in _NAMES:
            found.setdefault(name, value)
    return next((found[name] for name in _NAMES if name in found), None)


def sent_device_secret(request: Request) -> bytes:
    """The device's secret that came with a request; empty if none did."""
    return device_secret(request.headers.get("cookie", "").encode("latin-1")) or b""


def set_device_cookie(response: Response, secret: str, *, secure: bool) -> None:
    """Sign the browser in. ``secure``: whether the request came over TLS."""
    name = COOKIE_OVER_TLS if secure else COOKIE
    response.set_cookie(name, secret, max_age=MAX_AGE_S, path="/", secure=secure, httponly=True, samesite="strict")


def take_device_cookie(response: Response, *, secure: bool) -> None:
    """Sign the browser out, by whichever name it was signed in."""
    for name in (COOKIE_OVER_TLS, COOKIE) if secure else (COOKIE,):
        response.delete_cookie(name, path="/", secure=secure, httponly=True, samesite="strict")
