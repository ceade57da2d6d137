"""The session in which the source is asked: what it answered is kept for thirty days, without the key."""

import logging
from collections.abc import Callable
from datetime import timedelta
from itertools import product
from pathlib import Path

from requests import Response
from requests_cache import CachedSession

from service.lookup.live.asking import Asking

KEY_HEADER = "X-Api-Key"
KEPT_FOR = timedelta(days=30)
_KEY_NAMES = ("x-api-key", "api-key", "key", "access-token", "x-access-token", "x-api-token", "x-auth-token")
_OTHER_SECRETS = ("authorization", "proxy-authorization", "cookie", "set-cookie")


def without_key() -> list[str]:
    """Every spelling of the names under which a key can be sent: the library compares them letter by letter.

    A list of one's own replaces the names that the library leaves out by itself, so these are in it as well.
    """
    spelt: set[str] = set()
    for name in (*_KEY_NAMES, *_OTHER_SECRETS):
        parts = [(part, part.upper(), part.capitalize()) for part in name.split("-")]
        for between in ("-", "_", ""):
            spelt.update(between.join(some) for some in product(*parts))
    return sorted(spelt)


def open_session(
    cache_file: Path, key: str, asking: Asking, worth_keeping: Callable[[Response], bool]
) -> CachedSession:
    """A session for one look-up, to be closed after it. The file is made for this user alone (mode 0600).

    Raises ``OSError`` where the file cannot be made, ``sqlite3.Error`` where it is of another kind.
    """
    # What went wrong is said in the answer; the library would write a traceback to the log each time it has to help itself.
    logging.getLogger("requests_cache").setLevel(logging.ERROR)
    cache_file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    cache_file.touch(mode=0o600)
    cache_file.chmod(0o600)
    session = CachedSession(
        str(cache_file),
        backend="sqlite",
        serializer="json",
        expire_after=KEPT_FOR,
        stale_if_error=True,
        allowable_codes=(200,),
        allowable_methods=("GET",),
        filter_fn=worth_keeping,
        ignored_parameters=without_key(),
    )
    session.headers.update({KEY_HEADER: key, "Accept": "application/json", "User-Agent": "packed-lunch"})
    session.mount("https://", asking)
    session.mount("http://", asking)
    return session
