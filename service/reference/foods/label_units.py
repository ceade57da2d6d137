"""Other units of labels (salt, kilojoules) and what no food can hold, from reference_data/labels."""

from functools import lru_cache

from pydantic import Field

from service.domain.foods.impossible import LabelLimits
from service.reference.files import FileModel, Sourced, data_path, read_toml


class KilojouleRow(Sourced):
    """How many kilojoules are a kilocalorie."""

    per_kcal: float = Field(gt=0)


class SaltRow(Sourced):
    """How much sodium labels count in a gram of salt."""

    sodium_mg_per_g: float = Field(gt=0)


class DoubtRow(Sourced):
    """From when on a figure cannot be right."""

    most_macros_percent: float = Field(ge=100)
    most_kcal_per_100_g: float = Field(ge=900)
    most_sodium_mg_per_g: float = Field(gt=0)
    heaviest_ml_g: float = Field(ge=1)
    rounding_g: float = Field(ge=0)
    rounding_kcal: float = Field(ge=0)
    kilojoules_from: float = Field(gt=1)
    kilojoules_to: float = Field(gt=1)


class LabelUnitsFile(FileModel):
    """Units of labels."""

    title: str
    kilojoules: KilojouleRow
    salt: SaltRow
    doubt: DoubtRow


@lru_cache(maxsize=1)
def label_units() -> LabelUnitsFile:
    """The units of labels that are turned into ours, and when a figure is doubted."""
    return read_toml(data_path("labels/other-units.toml"), LabelUnitsFile)


@lru_cache(maxsize=1)
def label_limits() -> LabelLimits:
    """From when on a figure of a label cannot be right."""
    return LabelLimits(**label_units().doubt.model_dump(exclude={"source", "status"}))
