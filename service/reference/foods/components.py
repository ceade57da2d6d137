"""The components that foods credit as, from reference_data/crediting/components.toml, read once when asked for."""

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from pydantic import Field

from service.domain.errors import ReferenceFault, raise_all
from service.domain.foods.crediting import Component
from service.domain.measures import CREDIT_IDS
from service.reference.files import FileModel, Noted, data_path, read_toml


class ComponentRow(Noted):
    """One component: how much of each measure one unit of it counts."""

    id: str = Field(pattern=r"^[a-z][a-z_]*$")
    counts: dict[str, Decimal | int] = Field(min_length=1)


class ComponentFile(FileModel):
    """All components."""

    id: str
    source: str
    component: list[ComponentRow] = Field(min_length=1)


@lru_cache(maxsize=1)
def components() -> Mapping[str, Component]:
    """Component id -> the measures it counts in, and how much of each for one unit."""
    file = read_toml(data_path("crediting/components.toml"), ComponentFile)
    raise_all(
        [
            ReferenceFault(
                pointer=f"components.toml#/component/{place}/counts",
                value=measure,
                problem="is not a credit",
                remedy="Give one of " + ", ".join(CREDIT_IDS) + ".",
            )
            for place, row in enumerate(file.component)
            for measure in row.counts
            if measure not in CREDIT_IDS
        ]
    )
    return {row.id: tuple((one, Fraction(part)) for one, part in row.counts.items()) for row in file.component}
