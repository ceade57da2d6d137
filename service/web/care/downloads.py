"""Files that a page gives to be kept: the household written out, and the backup of the whole store."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack

from fastapi import Response
from starlette.responses import StreamingResponse

from service.jobs.files import working_folder
from service.web.pages import HEADERS

AT_ONCE = 1 << 20
"""Bytes."""


def file_to_keep(content: bytes, name: str, media: str) -> Response:
    """A file that the browser offers to save."""
    return Response(content, media_type=media, headers=_headers(name))


def written_to_keep(write: Callable[[str], object], name: str, media: str) -> Response:
    """A large file: written whole to the disk first by ``write``, which is given its path, then sent piece by piece.

    Raises ``LunchError`` where the store cannot be read or there is no room for the file: then nothing is sent.
    """
    with ExitStack() as kept:
        file = kept.enter_context(working_folder()) / name
        write(str(file))
        folder = kept.pop_all()

    def pieces() -> Iterator[bytes]:
        with folder, file.open("rb") as written:
            while piece := written.read(AT_ONCE):
                yield piece

    return StreamingResponse(pieces(), media_type=media, headers=_headers(name))


def _headers(name: str) -> dict[str, str]:
    return {**HEADERS, "Cache-Control": "no-store", "Content-Disposition": f'attachment; filename="{name}"'}
