"""What freezing does, and how long things take to thaw: ``stock/freezing.toml``."""

from functools import lru_cache

from pydantic import Field

from service.domain.errors import ReferenceFault
from service.domain.foods.food import Food
from service.domain.stock.freezing import Freezing, Thawing, freezing_of, thaw_hours
from service.reference.files import FileModel, Noted, data_path, read_toml
from service.reference.foods.lunch_foods import lunch_foods
from service.reference.lunch.handling import storage_classes


class AdviceRow(Noted):
    """What to do with some dishes when they are frozen, or with cut fruit."""

    id: str
    of: str
    sentence: str


class ThawingRow(Noted):
    """How long some classes take to thaw in the fridge; no classes: everything else."""

    id: str
    classes: list[str]
    hours: int = Field(gt=0)


class FreezingFile(FileModel):
    """All that is known of freezing and thawing beside the columns of the foods."""

    title: str = ""
    note: str = ""
    advice: list[AdviceRow]
    thawing: list[ThawingRow] = Field(min_length=1)


@lru_cache(maxsize=1)
def freezing_file() -> FreezingFile:
    """The file, read once; ``ReferenceFault`` for a name that is nowhere."""
    file = read_toml(data_path("stock/freezing.toml"), FreezingFile)
    for name in {name for row in file.thawing for name in row.classes}:
        if name not in storage_classes():
            raise _not_listed("classes", name, "storage class")
    if [row.id for row in file.thawing if not row.classes] != [file.thawing[-1].id]:
        raise _not_listed("thawing", "(rows)", "last row without classes")
    return file


def how_it_freezes(food: Food) -> Freezing:
    """How well a food freezes, and what speaks against it."""
    return freezing_of(food, freezing_notes())


def thaw_hours_of(food: Food) -> Thawing:
    """How long a food takes to thaw in the fridge.

    >>> from service.reference.foods.catalogue import find_food
    >>> thaw_hours_of(find_food("sandwich-ham")).hours, thaw_hours_of(find_food("chicken-breast-roasted")).hours
    (12, 24)
    """
    file = freezing_file()
    by_class = {name: Thawing(row.hours, row.source, row.status) for row in file.thawing for name in row.classes}
    last = file.thawing[-1]
    return thaw_hours(food, by_class, Thawing(last.hours, last.source, last.status))


@lru_cache(maxsize=1)
def freezing_notes() -> dict[str, str]:
    """Food id -> what freezing does to it, as its row says; only where it says anything."""
    return {name: row["freezing_note"] for name, row in lunch_foods().rows().items() if row["freezing_note"]}


def _not_listed(where: str, value: str, kind: str) -> ReferenceFault:
    return ReferenceFault(
        pointer=f"stock/freezing.toml#/{where}",
        value=value,
        problem=f"is not a {kind}",
        remedy="Give one that is there, or add it.",
    )
