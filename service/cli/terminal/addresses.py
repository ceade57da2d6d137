"""The addresses that commands print for a browser to open."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from service.settings import Settings

EVERYWHERE = {"": "127.0.0.1", "0.0.0.0": "127.0.0.1", "::": "::1"}  # noqa: S104 - compared, never bound
"""Hosts that stand for every address, and the one under which this machine calls itself."""


def base_address(chosen: "Settings", *, tls: bool = False) -> str:
    """Scheme, host and port under which this machine reaches the service."""
    host = EVERYWHERE.get(chosen.host, chosen.host)
    return f"{'https' if tls else 'http'}://{f'[{host}]' if ':' in host else host}:{chosen.port}"
