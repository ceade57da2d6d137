"""Promise: the lock file holds every dependency within its bounds, with hashes, and can be told as a bill of materials."""

import json
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

from tests.served import ROOT

LOCK = ROOT / ".ci" / "requirements.lock"
TEXT = LOCK.read_text("utf-8")
LOCKED = [Requirement(line.removesuffix(" \\")) for line in TEXT.splitlines() if not line.startswith(" ")]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
DIRECT = sorted(
    {
        *PROJECT["build-system"]["requires"],
        *PROJECT["project"]["dependencies"],
        *(one for some in PROJECT["project"]["optional-dependencies"].values() for one in some),
    }
)
DOCUMENT = (ROOT / "DEVELOPERS.md").read_text("utf-8")
MENDED = re.findall(r"^\| ([\w-]+) \| (CVE-[\d-]+[^|]*) \| ([\d.]+) \| memory \|$", DOCUMENT, re.MULTILINE)


def versions_of(name: str) -> list[Version]:
    """The releases that are locked of a package: one, or one for each span of Python versions."""
    wanted = canonicalize_name(name)
    return [Version(str(one.specifier)[2:]) for one in LOCKED if canonicalize_name(one.name) == wanted]


def test_the_file_holds_releases_and_hashes_alone() -> None:
    """No address of an index, no path, no release without a hash."""
    blocks = re.split(r"\n(?! )", TEXT.rstrip("\n"))
    form = re.compile(r"[a-z0-9-]+==[\w.]+( ; [^\\/]+)?( \\\n    --hash=sha256:[0-9a-f]{64})+")
    assert [block for block in blocks if not form.fullmatch(block)] == []
    assert len(blocks) == len(LOCKED) > 100


@pytest.mark.parametrize("wanted", DIRECT)
def test_every_direct_dependency_is_locked_within_its_bounds(wanted: str) -> None:
    requirement = Requirement(wanted)
    locked = versions_of(requirement.name)
    assert locked
    assert all(version in requirement.specifier for version in locked)


def test_the_review_has_rows() -> None:
    """The test below sees them."""
    assert len(MENDED) > 8


@pytest.mark.parametrize(("name", "_advisory", "mended_in"), MENDED, ids=[one[0] for one in MENDED])
def test_what_was_mended_elsewhere_is_locked_as_mended(name: str, _advisory: str, mended_in: str) -> None:
    """Each advisory of the review by hand names the release that mends it."""
    locked = versions_of(name)
    assert locked
    assert min(locked) >= Version(mended_in)


def test_the_bill_of_materials_is_cyclonedx(tmp_path: Path) -> None:
    """The command of DEVELOPERS.md; held against the JSON schema of CycloneDX, which the library brings."""
    from cyclonedx.schema import SchemaVersion  # takes seconds
    from cyclonedx.validation.json import JsonStrictValidator

    command = re.search(r"^cyclonedx-py (requirements .*) -o (\S+)$", DOCUMENT, re.MULTILINE)
    assert command is not None
    file = tmp_path / command[2]
    told = [sys.executable, "-W", "ignore", "-m", "cyclonedx_py", *command[1].split(), "-o", str(file)]
    subprocess.run(told, cwd=ROOT, check=True, capture_output=True)
    written = file.read_text("utf-8")
    bill = json.loads(written)
    assert JsonStrictValidator(SchemaVersion.from_version(bill["specVersion"])).validate_str(written) is None
    assert {one["purl"] for one in bill["components"]} == {
        f"pkg:pypi/{one.name}@{str(one.specifier)[2:]}" for one in LOCKED
    }
