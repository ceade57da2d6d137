"""The rules of keeping for some regions: the storage classes, and what holds for prepared and thawed food."""

from functools import lru_cache

from pydantic import Field

from service.domain.errors import ReferenceFault
from service.domain.stock.keeping import CUPBOARD, FREEZER, FRIDGE, KeepingRules, StorageClass, StorageTime
from service.reference.files import FileModel, Noted, data_path, read_toml
from service.reference.lunch.handling import handling_rules, storage_classes
from service.reference.lunch.handling_models import StorageClassRow, StorageTimeRow

PLACES = {"fridge": FRIDGE, "freezer": FREEZER, "pantry": CUPBOARD}
"""What the storage file calls a place, and what the stock does."""


class PreparedRow(Noted):
    """How long prepared or thawed food keeps in the fridge; ``day_one``: the day of making is day 1."""

    region: str
    days: int = Field(gt=0)
    day_one: bool


class CutRow(Noted):
    """That foods of some classes keep like another class once they are cut."""

    classes: list[str]
    keeps_like: str


class KeepingFile(FileModel):
    """Rules of keeping that go by what was done with a food."""

    title: str = ""
    note: str = ""
    prepared: list[PreparedRow]
    thawed: list[PreparedRow]
    cut: list[CutRow]


@lru_cache(maxsize=1)
def keeping_file() -> KeepingFile:
    """The file, read once; ``ReferenceFault`` for a class or region that is nowhere."""
    file = read_toml(data_path("stock/keeping.toml"), KeepingFile)
    named = {name for row in file.cut for name in (*row.classes, row.keeps_like)}
    regions = {row.region for row in (*file.prepared, *file.thawed)}
    for name in sorted((named - storage_classes().keys()) | (regions - set(every_region()))):
        raise ReferenceFault(
            pointer="stock/keeping.toml",
            value=name,
            problem="is not a storage class or region",
            remedy="Give one of handling/storage.toml or handling/choking.toml.",
        )
    return file


def every_region() -> tuple[str, ...]:
    """The regions whose guidance there is; the stricter counts unless some are chosen."""
    return handling_rules().regions


@lru_cache(maxsize=16)
def keeping_rules(regions: tuple[str, ...] = ()) -> KeepingRules:
    """The rules for some regions; empty: for all.

    >>> [one.days for one in keeping_rules(("US",)).classes["leftovers"].times]
    [3, 60]
    """
    chosen = regions or every_region()
    file = keeping_file()
    return KeepingRules(
        classes={row.id: _class(row, chosen) for row in storage_classes().values()},
        made=tuple(_time(one, FRIDGE) for one in file.prepared if one.region in chosen),
        thawed=tuple(_time(one, "thawed") for one in file.thawed if one.region in chosen),
        cut={name: row.keeps_like for row in file.cut for name in row.classes},
    )


def _class(row: StorageClassRow, regions: tuple[str, ...]) -> StorageClass:
    times = []
    for place in PLACES:
        there = [one for one in row.time if one.place == place]
        # A region without a figure of its own goes by the others': a figure from elsewhere is better than none.
        times += [one for one in there if one.region in regions] or there
    return StorageClass(row.id, row.title, tuple(_class_time(one) for one in times))


def _class_time(row: StorageTimeRow) -> StorageTime:
    """The lower end of a range; one figure is printed with 0 before it."""
    return StorageTime(row.region, PLACES[row.place], int(row.days_from or row.days_to), row.source, row.status)


def _time(row: PreparedRow, place: str) -> StorageTime:
    return StorageTime(row.region, place, row.days, row.source, row.status, row.day_one)
