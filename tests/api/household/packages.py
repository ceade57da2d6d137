"""A data package as a general reader opens it."""

import io
import zipfile
from pathlib import Path

import frictionless

ZIP = "application/zip"


def unpacked(content: bytes, folder: Path) -> Path:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        archive.extractall(folder)
    return folder


def in_order(folder: Path) -> frictionless.Package:
    """The package, found in order by ``frictionless``; every column has a type and says what it means."""
    report = frictionless.validate(str(folder / "datapackage.json"))
    assert report.valid, report.flatten(["title", "note"])
    package = frictionless.Package(str(folder / "datapackage.json"))
    for resource in package.resources:
        assert resource.hash
        assert all(field.description and field.type != "any" for field in resource.schema.fields)
    return package
