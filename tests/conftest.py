"""Fixtures for all tests, and how laws are tried."""

import os

from hypothesis import Phase, settings

from tests.stores import (  # noqa: F401 - pytest finds fixtures by their names here
    backend,
    empty_url,
    postgres_server,
    postgres_url,
    shared_database,
    sqlite_template,
    store,
    store_url,
)

# Tests start many processes of the service: each would compile its code anew. They and the workers have their environment from here.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

# Without the phase that explains failures: it traces every line of every example, and CPython 3.11 has crashed and hung in it.
# The same examples each time, so that a change is judged by what it changed; a search with LAW_EXAMPLES draws new ones.
settings.register_profile(
    "laws",
    phases=[Phase.explicit, Phase.reuse, Phase.generate, Phase.target, Phase.shrink],
    derandomize="LAW_EXAMPLES" not in os.environ,
)
settings.load_profile("laws")
