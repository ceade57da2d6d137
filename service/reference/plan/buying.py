"""How much is bought for how much eaten, and for how long: reference_data/plan/refuse.toml, buying_yields.toml, freshness.toml."""

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from pydantic import Field

from service.domain.errors import ReferenceFault
from service.domain.plan.as_bought import BoughtAs
from service.reference.files import FileModel, Noted, Sourced, data_path, read_toml
from service.reference.foods.bought_as import RAW_OR_DRY, bought_as
from service.reference.foods.catalogue import find_food
from service.reference.lunch.handling import storage_classes

REFUSE, YIELDS, FRESHNESS = "plan/refuse.toml", "plan/buying_yields.toml", "plan/freshness.toml"


class RefuseRow(FileModel):
    """What is thrown away of a food as it is bought."""

    food: str
    percent: Decimal = Field(gt=0, lt=100)
    what: str


class RefuseFile(Sourced):
    """The whole file."""

    refuse: list[RefuseRow]


class YieldRow(Noted):
    """A row of the buying guide."""

    id: str
    what: str
    unit: str
    serving: Decimal = Field(gt=0)
    serving_unit: str
    units_per_hundred: Decimal = Field(gt=0)
    cooked_of_raw: Decimal | None = Field(None, gt=0, le=1)
    foods: list[str] = []


class YieldsFile(FileModel):
    """The whole file."""

    yields: list[YieldRow] = Field(alias="yield")


class FreshnessFile(Sourced):
    """The whole file."""

    classes: list[str]


class Keeps(NamedTuple):
    """How many days a food keeps from the day it is bought, and where the figure is from."""

    days: int
    title: str
    source: str
    status: str


@lru_cache(maxsize=1)
def buying_yields() -> Mapping[str, YieldRow]:
    """The rows of the buying guide by id."""
    return {row.id: row for row in read_toml(data_path(YIELDS), YieldsFile).yields}


@lru_cache(maxsize=1)
def _refuse() -> tuple[RefuseFile, Mapping[str, RefuseRow]]:
    file = read_toml(data_path(REFUSE), RefuseFile)
    for place, row in enumerate(file.refuse):
        if find_food(row.food) is None:
            raise ReferenceFault(
                pointer=f"{REFUSE}#/refuse/{place}", value=row.food, problem="is not a food", remedy="Correct its id."
            )
    return file, {row.food: row for row in file.refuse}


@lru_cache(maxsize=4096)
def as_bought(food_id: str, sold: frozenset[str] = frozenset()) -> BoughtAs:
    """The form in which a food is bought: raw or dry where that is so, with its peel, core or bones.

    ``sold``: ids of foods that have a price, of which one of the same food is bought as that.

    >>> bought = as_bought("rice-white-cooked")
    >>> bought.food, round(float(bought.per_gram), 2)  # 100 g of cooked rice are bought as 36 g of dry
    ('sr28-20044', 0.36)
    >>> as_bought("apple").waste, as_bought("apple").per_gram == Fraction(10, 9)
    ('core and stem', True)
    """
    for row in buying_yields().values():
        if food_id in row.foods and row.cooked_of_raw is not None:
            # No shop has it cooked: a price is that of the raw one.
            return BoughtAs(food_id, 1 / Fraction(row.cooked_of_raw), "weight lost in cooking", row.source, row.status)
    alike = dict(bought_as().get(food_id, ()))
    raw = next(iter(sorted(alike, key=_raw_first)), None)
    chosen = next((one for one in (food_id, *alike) if one in sold), None)
    if chosen is None:
        chosen = raw if raw is not None and _raw_first(raw) < _raw_first(food_id) else food_id
    factor = alike.get(chosen, Fraction(1))
    file, rows = _refuse()
    refuse = rows.get(chosen)
    if refuse is not None:
        return BoughtAs(chosen, factor * 100 / (100 - Fraction(refuse.percent)), refuse.what, file.source, file.status)
    if factor != 1:
        return BoughtAs(chosen, factor, "", "ours: no source", "estimated")
    return BoughtAs(chosen, Fraction(1), "", "", "")


@lru_cache(maxsize=4096)
def bought_for_eaten(food_id: str) -> Fraction:
    """How much of a food is paid for of one gram that is eaten, where it is sold under its own name: with peel, core or shell.

    >>> bought_for_eaten("banana") == Fraction(100, 64), bought_for_eaten("ham-sliced")
    (True, Fraction(1, 1))
    """
    return as_bought(food_id, frozenset({food_id})).per_gram


def _raw_first(food_id: str) -> int:
    """Foods of the composition tables are the raw or dry ones of a list in foods/bought_as.toml; then the first that is raw."""
    return 0 if food_id.startswith("sr28-") else 1 if food_id.endswith(RAW_OR_DRY) else 2


@lru_cache(maxsize=1)
def _fresh_classes() -> frozenset[str]:
    classes = read_toml(data_path(FRESHNESS), FreshnessFile).classes
    for one in classes:
        if one not in storage_classes():
            raise ReferenceFault(
                pointer=f"{FRESHNESS}#/classes", value=one, problem="is not a storage class", remedy="Correct it."
            )
    return frozenset(classes)


def keeps_from_shopping(storage: str, regions: tuple[str, ...]) -> Keeps | None:
    """How long a class of food keeps in the fridge, or else in the cupboard, from the day it is bought; None: no figure limits it.

    The lower end of the range that the strictest of the regions prints.

    >>> keeps_from_shopping("ham-sliced", ("US", "GB")).days
    3
    """
    if storage not in _fresh_classes():
        return None
    row = storage_classes()[storage]
    for place in ("fridge", "pantry"):
        times = [one for one in row.time if one.place == place and one.region in regions]
        times = times or [one for one in row.time if one.place == place]
        if times:
            least = min(times, key=lambda one: one.days_from or one.days_to)
            return Keeps(int(least.days_from or least.days_to), row.title, least.source, least.status)
    return None
