"""The figures on cooling, reheating and keeping that go on a prep sheet: reference_data/plan/cooling.toml."""

from collections.abc import Iterable, Sequence
from functools import lru_cache

from service.domain.errors import ReferenceFault
from service.domain.lunch.handling import HoldingLimit
from service.reference.files import Sourced, data_path, read_toml
from service.reference.lunch.handling import handling_rules, storage_classes

WHERE = "plan/cooling.toml"


class CoolingFile(Sourced):
    """The whole file: storage classes, and ids of holding figures."""

    cooked: list[str]
    rice: list[str]
    cooling: list[str]
    cooling_rice: list[str]
    reheating: list[str]
    reheating_rice: list[str]
    fridge: list[str]
    freezer: list[str]


@lru_cache(maxsize=1)
def _file() -> CoolingFile:
    file = read_toml(data_path(WHERE), CoolingFile)
    figures = (file.cooling, file.cooling_rice, file.reheating, file.reheating_rice, file.fridge, file.freezer)
    for names, known, kind in (
        ((*file.cooked, *file.rice), set(storage_classes()), "storage class"),
        ([one for row in figures for one in row], set(handling_rules().holding), "holding figure"),
    ):
        for one in names:
            if one not in known:
                raise ReferenceFault(pointer=WHERE, value=one, problem=f"is not a {kind}", remedy="Correct it.")
    return file


def is_cooked(classes: Iterable[str]) -> bool:
    """Whether something of these storage classes was cooked, so that it has to be cooled."""
    return bool(set(classes) & set(_file().cooked))


def cooling(classes: Iterable[str], regions: Sequence[str]) -> list[HoldingLimit]:
    """How fast cooked food is cooled; with rice in it also the figure for rice.

    >>> [one.id for one in cooling(["rice-cooked"], ["GB"])]
    ['gb-cooling-minutes', 'gb-rice-cooling-minutes']
    """
    with_rice = bool(set(classes) & set(_file().rice))
    return _of([*_file().cooling, *(_file().cooling_rice if with_rice else [])], regions)


def reheating(classes: Iterable[str], regions: Sequence[str]) -> list[HoldingLimit]:
    """How hot food is made again; with rice in it also the figure for rice."""
    with_rice = bool(set(classes) & set(_file().rice))
    return _of([*_file().reheating, *(_file().reheating_rice if with_rice else [])], regions)


def keeping(place: str, regions: Sequence[str]) -> list[HoldingLimit]:
    """How cold the fridge or freezer is; nothing for the cupboard."""
    names = {"fridge": _file().fridge, "freezer": _file().freezer}.get(place, [])
    return _of(names, regions)


def _of(names: Iterable[str], regions: Sequence[str]) -> list[HoldingLimit]:
    """The figures of the regions asked for; of all where none of them has one."""
    rows = [handling_rules().holding[one] for one in names]
    return [one for one in rows if one.region in regions] or rows
