"""The sizes of label sheets: reference_data/plan/label_sheets.toml."""

from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache

from pydantic import Field

from service.domain.errors import ReferenceFault
from service.domain.plan.label_sheet import LabelSheet
from service.reference.files import FileModel, Sourced, data_path, read_toml

WHERE = "plan/label_sheets.toml"


class PaperRow(Sourced):
    """A size of paper, in millimetres."""

    id: str
    width: Decimal = Field(gt=0)
    height: Decimal = Field(gt=0)


class SheetRow(FileModel):
    """A division of a paper into labels, in millimetres."""

    id: str
    paper: str
    across: int = Field(gt=0)
    down: int = Field(gt=0)
    width: Decimal = Field(gt=0)
    height: Decimal = Field(gt=0)
    left: Decimal = Field(ge=0)
    top: Decimal = Field(ge=0)
    step_across: Decimal = Field(gt=0)
    step_down: Decimal = Field(gt=0)


class SheetsFile(Sourced):
    """The whole file."""

    paper: list[PaperRow]
    sheet: list[SheetRow]


@lru_cache(maxsize=1)
def label_sheets() -> Mapping[str, LabelSheet]:
    """All sheets by id; raises ``ReferenceFault`` for one whose labels overlap or leave the paper."""
    file = read_toml(data_path(WHERE), SheetsFile)
    papers = {row.id: row for row in file.paper}
    found = {}
    for place, row in enumerate(file.sheet):
        paper = papers.get(row.paper)
        if paper is None:
            raise _fault(place, row.paper, "is not a paper of the file", "Add it as a [[paper]].")
        sheet = LabelSheet(
            row.id, row.paper, float(paper.width), float(paper.height), row.across, row.down, float(row.width),
            float(row.height), float(row.left), float(row.top), float(row.step_across), float(row.step_down),
        )  # fmt: skip
        if not sheet.fits():
            raise _fault(place, row.id, "has labels that overlap or leave the paper", "Correct its measures.")
        found[row.id] = sheet
    return found


def _fault(place: int, value: str, problem: str, remedy: str) -> ReferenceFault:
    return ReferenceFault(pointer=f"{WHERE}#/sheet/{place}", value=value, problem=problem, remedy=remedy)
