"""Promise: photographs of packets go out with a CSV export and come back as they were; nothing but pixels is taken in.

Images are made and looked into with Pillow, metadata with it too.
"""

import io
from datetime import date
from pathlib import Path
from uuid import UUID

import pytest
from PIL import Image

from service.domain.errors import BadInput
from service.jobs.household.kinds import PACKETS
from service.jobs.household.packets.photographs import LONGEST_SIDE, MEDIA_TYPE, as_kept
from service.jobs.household.records import keep_record, read_asked
from service.jobs.household.transfer.export_household import export_household
from service.jobs.household.transfer.import_household import import_household, read_export
from service.store.access.households import create_household, remove_household
from service.store.database import Store
from service.store.household.packet_photos import keep_photo, photos_of, remove_photo
from tests.refused import refused

FORMS = ("folder", "one.zip")


def photograph(
    colour: str, size: tuple[int, int] = (64, 48), kind: str = "PNG", exif: Image.Exif | None = None
) -> bytes:
    written = io.BytesIO()
    Image.new("RGB", size, colour).save(written, kind, **({} if exif is None else {"exif": exif}))
    return written.getvalue()


@pytest.fixture
def household(store: Store) -> UUID:
    """A household with three packets, two of them photographed."""
    with store.writing() as connection:
        made = create_household(connection, {"name": "Hazel"})
        for day, colour in (("2026-11-01", "red"), ("2026-11-02", "green"), ("2026-11-03", "")):
            asked = read_asked(
                PACKETS, b'{"food": "hummus", "read_on": "%s", "ingredients": "Chickpeas."}' % day.encode()
            )
            packet = keep_record(connection, PACKETS, made, asked, (date.min, date.max)).record.id
            if colour:
                keep_photo(connection, made, packet, MEDIA_TYPE, as_kept(photograph(colour)))
    return made


def _photographs(store: Store, household: UUID) -> dict[UUID, bytes]:
    with store.reading() as connection:
        return dict(photos_of(connection, household))


@pytest.mark.parametrize("form", FORMS)
def test_they_come_back_as_they_were(store: Store, household: UUID, tmp_path: Path, form: str) -> None:
    """The same bytes, of the same packets, and the second export is the first."""
    before = _photographs(store, household)
    assert len(before) == 2
    export_household(store, household, str(tmp_path / form), as_csv=True)
    with store.writing() as connection:
        remove_household(connection, household)
    assert import_household(store, read_export(str(tmp_path / form))) == household
    assert _photographs(store, household) == before
    export_household(
        store, household, str(tmp_path / "again" if form == "folder" else tmp_path / "again.zip"), as_csv=True
    )
    if form == "folder":
        first, again = (
            {file.relative_to(folder): file.read_bytes() for file in folder.rglob("*.*")}
            for folder in (tmp_path / "folder", tmp_path / "again")
        )
        assert first == again
        assert len([file for file in first if file.suffix == ".jpg"]) == 2
    else:
        assert (tmp_path / form).read_bytes() == (tmp_path / "again.zip").read_bytes()


def test_one_that_is_gone_is_not_left_in_the_folder(store: Store, household: UUID, tmp_path: Path) -> None:
    """Of a second export to the same folder; a picture of somebody else's that lies there stays."""
    export_household(store, household, str(tmp_path), as_csv=True)
    gone, stays = sorted(_photographs(store, household))
    own = tmp_path / "photographs" / "birthday.jpg"
    own.write_bytes(b"a picture of somebody")
    with store.writing() as connection:
        remove_photo(connection, household, gone)
    export_household(store, household, str(tmp_path), as_csv=True)
    assert {file.name for file in (tmp_path / "photographs").iterdir()} == {f"{stays}.jpg", "birthday.jpg"}
    assert own.read_bytes() == b"a picture of somebody"


def test_what_was_not_written_by_an_export_is_made_small_and_plain(
    store: Store, household: UUID, tmp_path: Path
) -> None:
    """A large image with place and camera, put in the place of a photograph."""
    export_household(store, household, str(tmp_path), as_csv=True)
    packet = min(_photographs(store, household))
    exif = Image.Exif()
    exif[0x010F] = "a camera"  # Make, Exif 2.32, table 4
    (tmp_path / "photographs" / f"{packet}.jpg").write_bytes(photograph("blue", (3000, 2000), "JPEG", exif))
    taken_in = read_export(str(tmp_path)).photographs[packet]
    assert b"a camera" not in taken_in
    with Image.open(io.BytesIO(taken_in)) as image:
        assert max(image.size) == LONGEST_SIDE
        assert not image.getexif()


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("00000000-0000-4000-8000-000000000000", None, "the id of no packet"),
        ("birthday", None, "the id of no packet"),
        ("", b"no image", "cannot be opened as a photograph"),
    ],
)
def test_a_file_that_does_not_fit_is_named(
    store: Store, household: UUID, tmp_path: Path, name: str, content: bytes | None, says: str
) -> None:
    """Of no packet, or no image: the file is named, and what to do."""
    export_household(store, household, str(tmp_path), as_csv=True)
    file = tmp_path / "photographs" / f"{name or min(_photographs(store, household))}.jpg"
    file.write_bytes(photograph("red", kind="JPEG") if content is None else content)
    with refused(BadInput, match=says) as told:
        read_export(str(tmp_path))
    assert told.value.pointer.endswith(f"photographs/{file.name}")
