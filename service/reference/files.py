"""Reads files of reference_data: TOML with exact decimals, checked by a strict model.

A fault names the file, the place in it, the value and the remedy.
"""

import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Literal, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from service.domain.errors import ManyFaults, ReferenceFault

DataStatus = Literal["read", "second_hand", "memory", "estimated", "proposed"]
"""How well a figure is founded: see reference_data/README.md."""

Model = TypeVar("Model", bound=BaseModel)


class FileModel(BaseModel):
    """A strict table of a reference file: unknown keys refused."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)


class Sourced(FileModel):
    """What says where it is from, and how well it is founded."""

    source: str
    status: DataStatus


class Noted(Sourced):
    """The same, with a note where there is more to say."""

    note: str = ""


BESIDE_THE_PACKAGE = Path(__file__).resolve().parents[2]
"""Where ``service`` lies: the checkout, or site-packages, with reference_data and openapi_examples next to it."""


def data_path(relative: str) -> Path:
    """A file or folder of reference_data by its path below it, installed or in a checkout."""
    return BESIDE_THE_PACKAGE / "reference_data" / relative


def paths_by_id(folder: str) -> dict[str, str]:
    """Id -> path under reference_data of each TOML file in the folders of a folder (one a jurisdiction), in order of ids."""
    found = {
        path.name.removesuffix(".toml"): f"{folder}/{inner.name}/{path.name}"
        for inner in data_path(folder).iterdir()
        if inner.is_dir()
        for path in inner.iterdir()
        if path.name.endswith(".toml")
    }
    return dict(sorted(found.items()))


def read_toml(path: Path, model: type[Model]) -> Model:
    """Read one TOML file into its model; raises ``ReferenceFault`` (or several) on any fault."""
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8"), parse_float=Decimal)
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as fault:
        raise ReferenceFault(
            pointer=path.name, value=path.name, problem=f"is not valid TOML: {fault}", remedy="Correct the line named."
        ) from fault
    return checked(path.name, raw, model)


def checked(where: str, raw: object, model: type[Model]) -> Model:
    """Hold parsed data against a model, telling every fault with its place."""
    try:
        return model.model_validate(raw)
    except ValidationError as fault:
        faults = [
            ReferenceFault(
                pointer=f"{where}#/" + "/".join(str(part) for part in error["loc"]),
                value=error["input"],
                problem=f"is wrong: {error['msg']}",
                remedy="Compare with a neighbouring row and the file formats in DEVELOPERS.md.",
            )
            for error in fault.errors()
        ]
        raise (faults[0] if len(faults) == 1 else ManyFaults(faults)) from fault
