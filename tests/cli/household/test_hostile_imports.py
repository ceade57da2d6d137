"""Promise: whatever file an import or a command is given, it ends in time, in words, and in a few times the file's memory.

Attacks: zip bombs and lying heads of zips (APPNOTE 6.3.10), deep and wide JSON (RFC 8259, section 9), pipes and devices.
"""

import io
import json
import os
import random
import struct
import subprocess
import sys
import zipfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner

from service.cli.main import app
from service.domain.errors import BadInput, LunchError
from service.jobs.household.packets.photographs import as_kept, is_as_kept
from service.jobs.household.transfer.csv import as_tables
from service.jobs.household.transfer.import_household import export_of
from service.jobs.household.transfer.json import as_json, as_value
from service.jobs.household.transfer.whole_household import fields_of
from service.reference.fault_words import fault_sentence
from tests.refused import refused
from tests.store.whole_households import one_of_each
from tests.strategies import LAW

WHOLE = one_of_each()
PLAIN = as_json(WHOLE)
TABLES = as_tables(WHOLE)
MOST_MEMORY = 12
"""Times the size of what is taken in, unpacked, that the README says."""
BASE = 150_000_000
"""Bytes of a program that takes in next to nothing, with room."""


def _zipped(tables: dict[str, bytes], packing: int = zipfile.ZIP_DEFLATED) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", packing) as archive:
        for name, content in tables.items():
            archive.writestr(name, content)
    return out.getvalue()


def _set(content: bytes, place: int, value: bytes) -> bytes:
    return content[:place] + value + content[place + len(value) :]


def _entry(content: bytes) -> int:
    return content.index(b"PK\x01\x02")


TEXT = PLAIN.decode()
VALUE = as_value(WHOLE)
MOMENT, VERSION = VALUE["household"]["created_at"], '"version": '
TEXTS: dict[str, Callable[[], bytes]] = {
    "empty": lambda: b"",
    "line ends": lambda: b"\n" * 100_000,
    "brackets": lambda: b"[" * 100_000,
    "deep": lambda: b"[" * 1_000 + b"]" * 1_000,
    "deep body": lambda: TEXT.replace('"body": {', '"body": {"x": ' + "[" * 500 + "]" * 500 + ", ", 2).encode(),
    "deep body, escaped": lambda: TEXT.replace('"body": {', '"body": {"\\u0078": ' + "[" * 1_000 + "]" * 1_000 + ", ").encode(),
    "many digits": lambda: TEXT.replace(VERSION, VERSION + "9" * 1_000_000, 1).encode(),
    "no number": lambda: TEXT.replace(VERSION, VERSION + "NaN, ", 1).encode(),
    "half a character": lambda: TEXT.replace('"nickname": "', '"nickname": "\\ud800', 1).encode(),
    "first moment of all": lambda: TEXT.replace(MOMENT, "0001-01-01T00:00:00+23:59").encode(),
    "UTF-16": lambda: TEXT.encode("utf-16"),
    "NUL": lambda: PLAIN.replace(b"a", b"\x00", 3),
    "twice": lambda: TEXT.replace('"body": {', '"body": {"name": "x", "name": "y", ', 1).encode(),
    "a list": lambda: json.dumps({**VALUE, "household": [1]}).encode(),
    "an object": lambda: json.dumps({**VALUE, "children": {"a": 1}}).encode(),
    "nothing": lambda: json.dumps({**VALUE, "lunches": [None]}).encode(),
    "newer": lambda: json.dumps({**VALUE, "favourites": []}).encode(),
    "another shape": lambda: json.dumps({**VALUE, "packed_lunch_export": 2}).encode(),
}  # fmt: skip
"""Each is made by the test that needs it: some are large."""

GOOD, CHILDREN = _zipped(TABLES), TABLES["children.csv"]
HEAD = CHILDREN.split(b"\r\n")[0]
ENTRY = _entry(GOOD)
ZIPS: dict[str, Callable[[], bytes]] = {
    "password": lambda: _set(GOOD, ENTRY + 8, b"\x01"),
    "unknown packing": lambda: _set(GOOD, ENTRY + 10, struct.pack("<H", 77)),
    "LZMA": lambda: _zipped(TABLES, zipfile.ZIP_LZMA),
    "size that is not": lambda: _set(GOOD, ENTRY + 24, struct.pack("<I", 5)),
    "place that is not": lambda: _set(GOOD, ENTRY + 42, struct.pack("<I", 2**31)),
    "bytes changed": lambda: _set(GOOD, 200, b"\xff" * 60),
    "in a zip": lambda: _zipped({"a.zip": GOOD}),
    "many files": lambda: _zipped({f"file {number}": b"" for number in range(120_000)}),
    "grows": lambda: _zipped({**TABLES, "children.csv": b"a,b\r\n" * 5_000_000}),
    "commas": lambda: _zipped({**TABLES, "children.csv": HEAD + b"\r\n" + b"," * 6_000_000}),
    "one cell": lambda: _zipped({**TABLES, "children.csv": HEAD + b'\r\n"' + b"a" * 6_000_000}),
    "ragged": lambda: _zipped({**TABLES, "children.csv": HEAD + b"\r\n" + b"a\r\n" * 100_000}),
    "NUL": lambda: _zipped({**TABLES, "children.csv": HEAD + b"\r\na\x00b"}),
    "UTF-16": lambda: _zipped({**TABLES, "children.csv": CHILDREN.decode().encode("utf-16")}),
    "no JSON": lambda: _zipped({**TABLES, "children.csv": HEAD + b"\r\n'#{" + b"," * HEAD.count(b",")}),
    "newer": lambda: _zipped({**TABLES, "favourites.csv": b"a"}),
    "semicolons": lambda: _zipped({**TABLES, "children.csv": CHILDREN.replace(b",", b";")}),
}


@pytest.mark.parametrize("what", TEXTS)
def test_json_that_is_no_export_is_told(what: str) -> None:
    with pytest.raises(LunchError) as told:
        export_of("file.json", TEXTS[what]())
    assert len(fault_sentence(told.value)) < 2_000


@pytest.mark.parametrize("what", ZIPS)
def test_zips_that_are_no_export_are_told(what: str) -> None:
    with pytest.raises(LunchError) as told:
        export_of("file.zip", ZIPS[what]())
    assert len(fault_sentence(told.value)) < 2_000


def test_files_that_are_not_looked_at_do_no_harm(tmp_path: Path) -> None:
    """Names that lead out of a folder are no names of an export; nothing is written anywhere."""
    strange = {"../../x.jpg": b"", "/etc/x": b"", "__MACOSX/._children.csv": b"", "C:\\x": b""}
    assert export_of("file.zip", _zipped({**TABLES, **strange})) == WHOLE
    assert list(tmp_path.iterdir()) == []


def test_a_mark_at_the_beginning_is_read_over() -> None:
    """As editors put it before UTF-8."""
    assert export_of("file.json", b"\xef\xbb\xbf" + PLAIN) == WHOLE


def test_an_older_export_takes_the_values_of_now() -> None:
    """Every column that has a default may be missing, as in files of before it was there."""
    older = {}
    for name, content in TABLES.items():
        lines = content.decode().split("\r\n")
        needed = fields_of(name.removesuffix(".csv"))
        if len(lines) == 2:  # no rows
            older[name] = "\r\n".join(
                [",".join(one for one in lines[0].split(",") if needed.get(one, True)), ""]
            ).encode()
        else:
            older[name] = content
    assert older != TABLES
    assert export_of("file.zip", _zipped(older)) == WHOLE


@pytest.mark.parametrize(
    "words", [["import"], ["restore"], ["check"], ["screen"], ["offer"], ["plan"], ["recipe", "read"]]
)
def test_nothing_waits_for_a_pipe(words: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nor is a device read that never ends, nor a link that leads round in a circle."""
    from service.settings import settings as of_now

    monkeypatch.setenv("PACKED_LUNCH_DATABASE_URL", f"sqlite:///{tmp_path / 'one.sqlite3'}")
    of_now.cache_clear()
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "circle").symlink_to("circle")
    for file in (tmp_path / "pipe", Path("/dev/zero"), tmp_path / "circle", tmp_path / "none"):
        done = CliRunner().invoke(app, [*words, str(file)])
        assert done.exit_code == 2, done.output
        assert str(file) in done.stderr
    of_now.cache_clear()


MEASURED = """
import sys
from service.domain.errors import LunchError
from service.jobs.household.transfer.import_household import read_export
try:
    read_export(sys.argv[1])
except LunchError as fault:
    print("refused")
"""


def _strings(size: int) -> bytes:
    return b"[" + b'"abcd",' * (size // 7) + b"1]"


def _children(size: int) -> bytes:
    """An export of many children, written without a space."""
    value = as_value(WHOLE)
    child = value["children"][0]
    one = len(json.dumps(child, separators=(",", ":")))
    many = [{**child, "id": f"00000000-0000-0000-0001-{number:012x}"} for number in range(size // one)]
    return json.dumps({**value, "children": many}, separators=(",", ":")).encode()


@pytest.mark.skipif(sys.platform != "linux", reason="the most memory of a process is read from /proc")
@pytest.mark.parametrize("make", [_strings, _children])
def test_the_memory_that_is_taken_is_as_the_readme_says(make: Callable[[int], bytes], tmp_path: Path) -> None:
    """The most of a process that takes in 20 MB: measured by the system."""
    file = tmp_path / "file.json"
    file.write_bytes(make(20_000_000))
    # not getrusage: after a fork its figure begins with that of the process that runs the tests
    script = (
        f"{MEASURED}\nprint(next(line.split()[1] for line in open('/proc/self/status') if line.startswith('VmHWM')))"
    )
    done = subprocess.run([sys.executable, "-c", script, str(file)], capture_output=True, text=True, check=True)
    most = int(done.stdout.split()[-1]) * 1024
    assert most < BASE + MOST_MEMORY * 20_000_000


@pytest.mark.property
@given(seed=st.integers(0, 2**32))
@settings(LAW)
def test_a_damaged_export_is_refused_or_whole(seed: int) -> None:
    """Bytes changed, left out, doubled or cut, in JSON, in a zip, and in the tables of a zip that is whole."""
    chance = random.Random(seed)  # noqa: S311 - where to damage
    tables = dict(TABLES)
    kind = chance.choice(["json", "zip", "tables"])
    if kind == "tables":
        name = chance.choice(sorted(tables))
        tables[name] = _damaged(tables[name], chance)
    content = PLAIN if kind == "json" else _zipped(tables)
    with suppress(LunchError):
        export_of("file", _damaged(content, chance) if kind != "tables" else content)


def _damaged(content: bytes, chance: random.Random) -> bytes:
    made = bytearray(content)
    for _ in range(chance.randint(1, 3)):
        place, length = chance.randrange(len(made)), chance.randint(1, 40)
        how = chance.choice(["bytes", "sign", "gone", "twice", "cut"])
        if how == "bytes":
            made[place : place + length] = chance.randbytes(length)
        elif how == "sign":
            made[place : place + 1] = chance.choice(
                [b'"', b"{", b"}", b"[", b"]", b",", b":", b"\n", b"0", b"-", b"\x00", b"\xff"]
            )
        elif how == "gone":
            del made[place : place + length]
        elif how == "twice":
            made[place:place] = made[place : place + length]
        else:
            del made[max(1, place) :]
    return bytes(made)


@pytest.mark.property
@given(seed=st.integers(0, 2**32))
@settings(LAW)
def test_a_damaged_photograph_is_refused_or_an_image(seed: int) -> None:
    """Whatever the library says of it."""
    from PIL import Image

    chance = random.Random(seed)  # noqa: S311 - where to damage
    out = io.BytesIO()
    kind = chance.choice(["JPEG", "PNG", "WEBP"])
    Image.new("RGB", (64, 48), "red").save(out, kind)
    sent = _damaged(out.getvalue(), chance)
    is_as_kept(sent)
    with suppress(BadInput):
        assert as_kept(sent).startswith(b"\xff\xd8\xff")


def test_a_photograph_that_says_it_is_huge_is_refused() -> None:
    """Its head alone says so: 65,000 by 65,000 pixels would take 12 GB."""
    from PIL import Image

    out = io.BytesIO()
    Image.new("RGB", (64, 48)).save(out, "JPEG")
    place = out.getvalue().index(b"\xff\xc0") + 5
    huge = _set(out.getvalue(), place, struct.pack(">HH", 65_000, 65_000))
    assert not is_as_kept(huge)
    with refused(BadInput, match="more than 50 million pixels"):
        as_kept(huge)
