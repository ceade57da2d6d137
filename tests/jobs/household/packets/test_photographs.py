"""Promise: a photograph is kept upright, small, and without anything that the camera wrote into it; what is none is refused.

The images are made here. What is read back is read by Pillow, which also writes them.
"""

import io
import struct
import zlib
from datetime import date
from uuid import UUID, uuid4

import pytest
from PIL import Image, PngImagePlugin

from service.domain.errors import BadInput, NotThere
from service.jobs.household.kinds import PACKETS
from service.jobs.household.packets.packet_photos import mark_of_photo, put_photo, show_photo, take_photo_away
from service.jobs.household.packets.photographs import LONGEST_SIDE, MOST_PIXELS, as_kept
from service.jobs.household.records import keep_record, read_asked, remove_record
from service.store.access.households import create_household
from service.store.database import Store
from tests.refused import refused

ORIENTATION, MAKE, GPS = 0x0112, 0x010F, 0x8825


def written(image: Image.Image, kind: str, **said: object) -> bytes:
    file = io.BytesIO()
    image.save(file, kind, **said)
    return file.getvalue()


def photo(kind: str = "JPEG", size: tuple[int, int] = (40, 30), **said: object) -> bytes:
    """Left half red, right half blue."""
    image = Image.new("RGB", size, "blue")
    image.paste("red", (0, 0, size[0] // 2, size[1]))
    return written(image, kind, **said)


def opened(kept: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(kept))
    image.load()
    return image


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_each_kind_is_kept_as_jpeg(kind: str) -> None:
    image = opened(as_kept(photo(kind)))
    assert (image.format, image.mode, image.size) == ("JPEG", "RGB", (40, 30))


@pytest.mark.parametrize(
    ("size", "kept"), [((3200, 800), (1600, 400)), ((900, 3000), (480, 1600)), ((1600, 9), (1600, 9))]
)
@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_the_longer_side_has_at_most_1600_pixels(kind: str, size: tuple[int, int], kept: tuple[int, int]) -> None:
    assert LONGEST_SIDE == 1600
    assert opened(as_kept(photo(kind, size))).size == kept


def test_it_is_turned_upright_and_nothing_of_the_camera_is_left() -> None:
    exif = Image.Exif()
    exif[ORIENTATION] = 6  # the camera was held on its side. Source: Exif 2.32 section 4.6.4, tag 274; status: memory
    exif[MAKE] = "Invented camera of the Hazel family"
    exif.get_ifd(GPS)[2] = (51.0, 30.0, 0.0)
    kept = as_kept(photo(exif=exif.tobytes(), comment=b"Hazel family, 12 Mill Lane"))
    image = opened(kept)
    assert image.size == (30, 40)
    red, _green, blue = image.getpixel((15, 2))  # what was at the left is at the top
    assert red > 200
    assert blue < 60
    assert not image.getexif()
    assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert b"Hazel" not in kept


def test_the_texts_of_a_png_are_gone_and_what_is_clear_is_white() -> None:
    texts = PngImagePlugin.PngInfo()
    texts.add_text("Author", "Hazel")
    kept = as_kept(written(Image.new("RGBA", (10, 10), (0, 0, 0, 0)), "PNG", pnginfo=texts))
    assert b"Hazel" not in kept
    assert min(opened(kept).getpixel((5, 5))) > 250


def heic() -> bytes:
    return struct.pack(">I", 24) + b"ftypheic" + bytes(4) + b"mif1heic" + bytes(40)


def png_that_says(width: int, height: int) -> bytes:
    """A small file whose head promises an enormous image."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    chunks = [(b"IHDR", head), (b"IDAT", zlib.compress(bytes(3 * width))), (b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data)) for name, data in chunks
    )


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        (b"", "cannot be opened"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>", "cannot be opened"),
        (photo("GIF"), "cannot be opened"),
        (photo("TIFF"), "cannot be opened"),
        (photo()[:300], "cannot be opened"),
        (photo("PNG")[:60], "cannot be opened"),
        (heic(), "JPEG"),
        (png_that_says(8_000, MOST_PIXELS // 8_000 + 1), "50 million pixels"),
        (png_that_says(10_000, 10_000), "50 million pixels"),
        (png_that_says(60_000, 60_000), "50 million pixels"),
    ],
    ids=["empty", "svg", "gif", "tiff", "jpeg cut off", "png cut off", "heic", "just too large", "large", "enormous"],
)
def test_what_is_no_photograph_is_refused_with_what_to_do(sent: bytes, says: str) -> None:
    with refused(BadInput, match=says) as told:
        as_kept(sent)
    assert told.value.pointer == "/photo"


@pytest.fixture
def household(store: Store) -> UUID:
    """A household."""
    with store.writing() as connection:
        return create_household(connection, {"name": "Hazel"})


@pytest.fixture
def packet(store: Store, household: UUID) -> str:
    """A packet of it."""
    asked = read_asked(PACKETS, b'{"food": "hummus", "read_on": "2026-11-01", "ingredients": "Chickpeas, tahini."}')
    with store.writing() as connection:
        return str(keep_record(connection, PACKETS, household, asked, (date.min, date.max)).record.id)


def test_a_photograph_is_replaced_removed_and_goes_with_its_packet(store: Store, household: UUID, packet: str) -> None:
    first, second = as_kept(photo()), as_kept(photo(size=(50, 50)))
    with store.writing() as connection:
        put_photo(connection, household, packet, first)
        before = show_photo(connection, household, packet)
        put_photo(connection, household, packet, second)
        after = show_photo(connection, household, packet)
        assert (before.media_type, before.image, after.image) == ("image/jpeg", first, second)
        assert before.mark != after.mark == mark_of_photo(connection, household, UUID(packet))
        take_photo_away(connection, household, packet)
        assert mark_of_photo(connection, household, UUID(packet)) is None
        with refused(NotThere, match="no photograph"):
            show_photo(connection, household, packet)
        put_photo(connection, household, packet, first)
        remove_record(connection, PACKETS, household, packet, lambda _version: None)
        assert mark_of_photo(connection, household, UUID(packet)) is None


def test_another_household_reaches_neither_packet_nor_photograph(store: Store, household: UUID, packet: str) -> None:
    with store.writing() as connection:
        put_photo(connection, household, packet, as_kept(photo()))
        other = create_household(connection, {"name": "Rowan"})
        for change in (
            lambda: show_photo(connection, other, packet),
            lambda: put_photo(connection, other, packet, b"other"),
            lambda: take_photo_away(connection, other, packet),
            lambda: show_photo(connection, household, str(uuid4())),
        ):
            with pytest.raises(NotThere):
                change()
        assert mark_of_photo(connection, other, UUID(packet)) is None
        assert show_photo(connection, household, packet).image[:2] == b"\xff\xd8"
