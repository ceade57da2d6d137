"""The shape of the files about a week: lengths of weeks, frequencies, a day's references, school food groups (strict)."""

from decimal import Decimal
from typing import Literal

from pydantic import Field, model_validator

from service.reference.files import FileModel, Noted, Sourced
from service.reference.lunch.standard_models import Dated, StandardHead


class Unscaled(Noted):
    """Targets whose bounds stay in weeks of any length."""

    targets: list[str] = Field(min_length=1)


class PrintedRow(Noted):
    """A bound as printed for so many school days."""

    targets: list[str] = Field(min_length=1)
    age_groups: list[str] = Field(min_length=1)
    days: int = Field(ge=1, le=7)
    at_least: Decimal | None = None
    at_most: Decimal | None = None

    @model_validator(mode="after")
    def _a_bound(self) -> "PrintedRow":
        if self.at_least is None and self.at_most is None:
            raise ValueError("give a bound: at_least or at_most")
        return self


class GuideRow(Noted):
    """The upper end of a printed range that nobody enforces."""

    target: str
    age_group: str
    days: int = Field(ge=1, le=7)
    at_most: Decimal = Field(gt=0)


class WeekLengthFile(FileModel):
    """How one standard's totals go with the length of the school week."""

    standard: str
    usual_days: int = Field(ge=1, le=7)
    proportional: Noted
    unscaled: Unscaled
    printed: list[PrintedRow] = []
    guide: list[GuideRow] = []


class FrequencyFileRow(Dated):
    """One rule of frequencies."""

    id: str = Field(pattern=r"^[a-z][a-z0-9-]*$")
    label: str
    counts: str = ""
    unit: Literal["portions", "items", "days", "kinds", "grams_each", "ml_each", "accompanied", "kitchen"]
    period: Literal["day", "week", "three_weeks"]
    at_least: int | None = Field(None, ge=1)
    at_most: int | None = Field(None, ge=0)
    whole_day: bool
    kitchen_only: str = ""
    accompanied_by: list[str] = Field([], alias="with")
    for_whom: Literal["everyone", "vegetarian", "not_vegetarian"] = Field("everyone", alias="for")
    age_groups: list[str] = Field(min_length=1)

    @model_validator(mode="after")
    def _whole(self) -> "FrequencyFileRow":
        if (self.unit == "kitchen") != bool(self.kitchen_only):
            raise ValueError("the unit kitchen goes with the reason kitchen_only, and only with it")
        if (self.unit == "kitchen") == bool(self.counts):
            raise ValueError("name what it counts, unless only a kitchen can keep it")
        if (self.unit == "accompanied") != bool(self.accompanied_by):
            raise ValueError("the unit accompanied goes with the groups it has to be with")
        bounds = sum(bound is not None for bound in (self.at_least, self.at_most))
        if bounds != (0 if self.unit in ("kitchen", "accompanied") else 1):
            raise ValueError("give one bound, at_least or at_most (none for kitchen and accompanied)")
        if self.unit in ("grams_each", "ml_each") and (self.period != "day" or self.at_most is None):
            raise ValueError("the size of a portion has an upper bound and is looked at each day")
        return self


class FrequencyFile(StandardHead):
    """One standard of frequencies; ``for_lunch_boxes``: advice for lunches from home, not rules for schools."""

    single_lunches: str
    for_lunch_boxes: bool = False
    frequency: list[FrequencyFileRow] = Field(min_length=1)


class ShareOfDay(Noted):
    """The share of a day that a lunch is held against."""

    numerator: int = Field(ge=1)
    denominator: int = Field(ge=1)


class DayReferenceRow(Sourced):
    """What a child of an age needs of one nutrient in a day."""

    jurisdiction: str
    measure: str
    kind: Literal["RDA", "AI", "RNI"]
    from_age_months: int = Field(ge=0)
    below_age_months: int = Field(gt=0)
    sex: Literal["", "girl", "boy"]
    amount: Decimal = Field(gt=0)


class DayReferenceFile(FileModel):
    """A day's references."""

    share: ShareOfDay
    reference: list[DayReferenceRow] = Field(min_length=1)


class FoodGroupRow(FileModel):
    """A group and its foods: whole categories and single foods, less the exceptions; or all foods of other groups."""

    id: str = Field(pattern=r"^[a-z][a-z_]*$")
    label: str
    categories: list[str] = []
    foods: list[str] = []
    exceptions: list[str] = Field([], alias="except")
    of: list[str] = []


class PortionRow(Noted):
    """Grams of one portion of a group, for some of its foods or for all; ``secondary``: None where they are not known."""

    group: str
    categories: list[str] = []
    foods: list[str] = []
    primary: Decimal = Field(gt=0)
    secondary: Decimal | None = Field(None, gt=0)


class DensityRow(Sourced):
    """Grams of one millilitre of a drink."""

    group: str
    grams_per_ml: Decimal = Field(gt=0)


class FoodGroupFile(Sourced):
    """School food groups, portions, and foods of one kind."""

    counts_as_nothing: list[str]
    not_vegetarian: list[str]
    group: list[FoodGroupRow] = Field(min_length=1)
    portion: list[PortionRow]
    density: list[DensityRow]
    kinds: dict[str, list[str]]
