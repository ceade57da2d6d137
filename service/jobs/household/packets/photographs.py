"""Photographs as they are kept: opened, turned upright, made small, and written again without anything else in the file."""

import io
import struct
import zlib
from typing import Any

from service.domain.errors import BadInput
from service.domain.messages import Message, message

MEDIA_TYPE = "image/jpeg"
LONGEST_SIDE = 1600
"""Pixels; our choice: the small print of a packet can still be read."""
MOST_PIXELS = 50_000_000
"""Of the image as sent; our choice: what phones take, and 200 MB of memory at most."""
QUALITY = 80
FORMATS = ("JPEG", "PNG", "WEBP")
HEIC_BRANDS = frozenset({b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"})
"""Brands of HEIF files that hold HEVC images. Source: ISO/IEC 23008-12; status: memory."""


DAMAGED = (OSError, SyntaxError, ValueError, EOFError, LookupError, TypeError, OverflowError, struct.error, zlib.error)
"""What the library raises for files that are no image, or are damaged somewhere."""
PLAIN_JPEG = frozenset({"jfif", "jfif_version", "jfif_unit", "jfif_density"})
"""What Pillow tells of a JPEG that holds its pixels and nothing else."""


def as_kept(sent: bytes) -> bytes:
    """The JPEG that is kept of a photograph: at most 1600 pixels on its longer side, and no metadata.

    ``BadInput`` with field ``photo`` for what is no JPEG, PNG or WebP image, or is too large.
    """
    from PIL import Image, ImageOps

    if sent[4:8] == b"ftyp" and sent[8:12] in HEIC_BRANDS:
        raise _refused(message("fault.photo-heic"))
    try:
        image: Any = Image.open(io.BytesIO(sent), formats=FORMATS)
        if image.width * image.height > MOST_PIXELS:
            raise _too_large()
        image.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))  # a large JPEG is read at a part of its size
        upright = ImageOps.exif_transpose(image)
        upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
        colours = upright.convert("RGBA" if upright.has_transparency_data else "RGB")
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as fault:
        raise _too_large() from fault
    except DAMAGED as fault:
        raise _refused(message("fault.no-photo")) from fault
    kept = Image.new("RGB", colours.size, "white")  # a new image has nothing but pixels: no place, time, camera or text
    kept.paste(colours, mask=colours if colours.mode == "RGBA" else None)
    written = io.BytesIO()
    kept.save(written, "JPEG", quality=QUALITY, optimize=True)
    return written.getvalue()


def is_as_kept(content: bytes) -> bool:
    """Whether this is a photograph in the form that ``as_kept`` gives: it need not be made anew, which would blur it."""
    from PIL import Image

    try:
        image: Any = Image.open(io.BytesIO(content), formats=("JPEG",))
        if max(image.size) > LONGEST_SIDE or image.mode != "RGB" or not set(image.info) <= PLAIN_JPEG:
            return False
        image.load()
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        return False
    except DAMAGED:
        return False
    return {name for name, _content in image.applist} <= {"APP0"}


def _too_large() -> BadInput:
    return _refused(message("fault.photo-too-large", millions=MOST_PIXELS // 1_000_000))


def _refused(problem: Message) -> BadInput:
    return BadInput(field="photo", value="the file", problem=problem)
