"""The cookie of a device that is signed in: read by the gate, set and taken away by the pages."""

from starlette.responses import Response

COOKIE = "packed_lunch_device"
MAX_AGE_S = 400 * 24 * 3600
"""As long as a browser keeps any cookie (RFC 6265bis section 5.5); the store ends a device's time long before."""

_NAME = COOKIE.encode()


def device_secret(cookies: bytes) -> bytes | None:
    """The device's secret in a Cookie header, or None."""
    for pair in cookies.split(b";"):
        name, _, value = pair.strip().partition(b"=")
        if name == _NAME:
            return value
    return None


def set_device_cookie(response: Response, secret: str, *, secure: bool) -> None:
    """Sign the browser in. ``secure``: whether the request came over TLS."""
    response.set_cookie(COOKIE, secret, max_age=MAX_AGE_S, path="/", secure=secure, httponly=True, samesite="strict")


def take_device_cookie(response: Response, *, secure: bool) -> None:
    """Sign the browser out."""
    response.delete_cookie(COOKIE, path="/", secure=secure, httponly=True, samesite="strict")
