"""The live source of branded foods: off until a household switches it on with its own key, which is shown nowhere."""

import re
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID

from service.domain.errors import BadInput
from service.domain.messages import message
from service.store.access.live_source_keys import (
    live_source_key,
    put_live_source_key,
    remove_live_source_key,
)
from service.store.household.records import Connection, now

if TYPE_CHECKING:
    from service.lookup.live.source import LiveSource

CACHE_NAME = "food-data-cache.sqlite3"
KEYS_IN_USE = 64
KEY = re.compile(r"[A-Za-z0-9_-]{8,200}", re.ASCII)
"""What a key can be: letters, digits, hyphens and underscores."""


def live_source_state(connection: Connection, household: UUID) -> dict[str, Any]:
    """Whether the household has switched the source on, and since when; never the key."""
    key = live_source_key(connection, household)
    return {
        "on": key is not None,
        "since": None if key is None else key.created_at.isoformat(timespec="seconds"),
    }


def switch_on(connection: Connection, household: UUID, api_key: str) -> dict[str, Any]:
    """Store the household's key, in the place of the one there was: the source is asked from now on.

    ``BadInput`` for what cannot be a key; the fault does not have what was typed, which may be most of one.
    """
    if not KEY.fullmatch(api_key):
        raise BadInput(field="api_key", value="", problem=message("fault.no-live-source-key"))
    put_live_source_key(connection, household, api_key, now())
    return live_source_state(connection, household)


def switch_off(connection: Connection, household: UUID) -> dict[str, Any]:
    """Delete the household's key: the source is asked no more."""
    remove_live_source_key(connection, household)
    return live_source_state(connection, household)


def live_source_of(connection: Connection, household: UUID, base_url: str, cache_file: str = "") -> "LiveSource | None":
    """The source with the household's key; None where it is off. ``cache_file``: where answers are kept, if that is set."""
    key = live_source_key(connection, household)
    return None if key is None else _source(key.api_key, base_url, cache_file)


@lru_cache(maxsize=KEYS_IN_USE)
def _source(api_key: str, base_url: str, cache_file: str) -> "LiveSource":
    """One for each key: it knows how many questions the key has left."""
    from service.lookup.live.source import LiveSource

    return LiveSource(api_key, base_url, Path(cache_file) if cache_file else _default_cache())


def _default_cache() -> Path:
    from platformdirs import user_data_path

    return user_data_path("packed-lunch", appauthor=False) / CACHE_NAME
