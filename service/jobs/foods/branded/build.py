"""Builds the index of branded foods from an archive that was downloaded by hand."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from service.jobs.foods.branded.look_up import index_path


def build_branded(archive: str, asked: str, progress: Callable[[int, int], None]) -> dict[str, Any]:
    """Build the index and say what is in it.

    ``archive``: path of the zip. ``asked``: path of the index, where one is set. ``progress``: called with the bytes read so far and
    all that are to be read. Raises ``BadInput`` and ``StoreFault`` as ``build_index`` does; the old index is then unchanged.
    """
    from service.lookup.branded.build import build_index

    to = index_path(asked)
    built = build_index(Path(archive), to, progress)
    return {
        "file": str(to),
        "foods": built.foods,
        "versions": built.versions,
        "entries_without_code": built.refused,
        "foods_without_values": built.without_values,
        "release": built.release.isoformat(),
    }
