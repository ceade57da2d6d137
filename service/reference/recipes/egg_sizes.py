"""What an egg of a size weighs by country: reference_data/recipes/egg_sizes.toml."""

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Literal, NamedTuple

from pydantic import Field, model_validator

from service.domain.errors import ReferenceFault
from service.reference.files import FileModel, Noted, Sourced, data_path, read_toml

WHERE = "recipes/egg_sizes.toml"

EggSize = Literal["small", "medium", "large", "extra-large", "jumbo"]


class Shell(Sourced):
    """The share of an egg that is thrown away, in percent of its weight."""

    percent: Decimal = Field(gt=0, lt=100)


class SizeRow(FileModel):
    """One size, by the grams of an egg with its shell; at least one end is given."""

    id: EggSize
    from_g: Decimal | None = Field(None, gt=0)
    below_g: Decimal | None = Field(None, gt=0)

    @model_validator(mode="after")
    def _an_end(self) -> "SizeRow":
        if self.from_g is None and self.below_g is None:
            raise ValueError("give from_g or below_g")
        if self.from_g is not None and self.below_g is not None and self.from_g >= self.below_g:
            raise ValueError("give a from_g less than below_g")
        return self


class Scheme(Noted):
    """The sizes of some countries."""

    id: str
    countries: list[str] = Field(min_length=1)
    usual: EggSize
    size: list[SizeRow] = Field(min_length=2)


class EggSizesFile(FileModel):
    """The whole file. ``foods``: those that are an egg; ``elsewhere``: the US size where the country's sizes are not known."""

    title: str
    foods: list[str]
    elsewhere: EggSize
    shell: Shell
    scheme: list[Scheme]


class Eggs(NamedTuple):
    """The eggs of a country: its scheme, the usual size, and the milligrams of an egg of each size without its shell."""

    scheme: str
    usual: EggSize
    sizes: Mapping[EggSize, Fraction]


@lru_cache(maxsize=1)
def egg_sizes_file() -> EggSizesFile:
    """The whole file."""
    return read_toml(data_path(WHERE), EggSizesFile)


@lru_cache(maxsize=1)
def _by_country() -> Mapping[str, Eggs]:
    found: dict[str, Eggs] = {}
    file = egg_sizes_file()
    for scheme in file.scheme:
        sizes = {row.id: _middle(scheme, row) * (100 - Fraction(file.shell.percent)) * 10 for row in scheme.size}
        for country in scheme.countries:
            if country in found or scheme.usual not in sizes:
                raise ReferenceFault(
                    pointer=f"{WHERE}#/{scheme.id}",
                    value=country,
                    problem="has sizes twice, or a usual size that is not listed",
                    remedy="Leave one of them, or list the size.",
                )
            found[country] = Eggs(scheme.id, scheme.usual, sizes)
    return found


def _middle(scheme: Scheme, row: SizeRow) -> Fraction:
    """Grams with the shell of an egg in the middle of its size."""
    if row.from_g is not None and row.below_g is not None:
        return (Fraction(row.from_g) + Fraction(row.below_g)) / 2
    end = row.from_g if row.from_g is not None else row.below_g
    beside = next(
        other
        for other in scheme.size
        if other.from_g is not None and other.below_g is not None and end in (other.from_g, other.below_g)
    )
    assert end is not None and beside.from_g is not None and beside.below_g is not None  # noqa: S101, PT018 - chosen so
    half = (Fraction(beside.below_g) - Fraction(beside.from_g)) / 2
    return Fraction(end) + (half if row.below_g is None else -half)


def eggs_of(country: str | None) -> Eggs | None:
    """The eggs that are sold in a country; None where its sizes are not known, and for those of the US.

    >>> eggs = eggs_of("DE")
    >>> eggs.usual, float(eggs.sizes["medium"] / 1000)
    ('medium', 51.04)
    >>> eggs_of("AU") is None
    True
    """
    return None if country is None else _by_country().get(country)


def is_egg(food_id: str) -> bool:
    """Whether a food is a whole egg."""
    return food_id in egg_sizes_file().foods
