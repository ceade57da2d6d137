"""Whom a lunch is for, as a person asks: a child, what it avoids, and where it eats."""

from typing import Annotated, Any

from pydantic import (
    Field,
    model_validator,
)

from service.domain.messages import message
from service.jobs.requests.fields import ONE_LINE, WHOLE, Asked, Name, conflict
from service.jobs.word_lists import Activity, Sex, Threshold


class AvoidedAllergen(Asked):
    """An allergen to keep away from, and from which level on it must not be packed."""

    allergen: Name = Field(description="Allergen id or plain name, e.g. peanut, tree_nut, milk; see GET /v1/allergens.")
    threshold: Threshold = Field(
        "may_contain", description="may_contain: precautionary statements count too; contains: only what it contains."
    )


MOST_YARDSTICKS = 5
Yardsticks = Annotated[list[Name], Field(max_length=MOST_YARDSTICKS)]
YARDSTICKS: Any = Field(
    default_factory=list,
    description="Ids of yardsticks to show the figures beside, see GET /v1/standards: their rows are judged and shown apart "
    "and change neither the answer nor the score. A stored child has its own; to judge by one, give it as the standard.",
)
Avoids = Annotated[list[AvoidedAllergen], Field(max_length=50, description="What must be kept away from the child.")]
NeedSex = Annotated[Sex | None, Field(description="Only for the energy need, with height and weight.")]
NeedHeight = Annotated[
    Annotated[float, Field(ge=40, le=220)] | None, Field(description="Height in cm; only for the energy need.")
]
NeedWeight = Annotated[
    Annotated[float, Field(ge=2, le=200)] | None, Field(description="Weight in kg; only for the energy need.")
]
NeedActivity = Annotated[Activity | None, Field(description="How active the child is; only for the energy need.")]

MOST_MONTHS = 228
"""A child is younger: 19 years."""


class Child(Asked):
    """Who the lunch is for. Give age_months, age_years or age_group; nothing else is needed."""

    nickname: Annotated[str, Field(max_length=40, pattern=ONE_LINE)] | None = Field(
        None, description="Only repeated in the reply, to tell children apart; never logged."
    )
    age_years: Annotated[float, Field(ge=0, lt=19)] | None = Field(None, description="Age in years, e.g. 7 or 7.5.")
    age_months: Annotated[int, Field(ge=0, lt=MOST_MONTHS), WHOLE] | None = Field(None, description="Age in months.")
    age_group: Name | None = Field(None, description="Age group id of the standard, to override the one by age.")
    avoids: Avoids = Field(default_factory=list)
    sex: NeedSex = None
    height_cm: NeedHeight = None
    weight_kg: NeedWeight = None
    activity: NeedActivity = None

    @model_validator(mode="after")
    def _one_age(self) -> "Child":
        if self.age_years is not None and self.age_months is not None:
            raise conflict(message("fault.both-of-two", one="age_years", other="age_months"))
        return self

    def months(self) -> int | None:
        """Age in whole months; None where only an age group is given."""
        if self.age_months is not None:
            return self.age_months
        return None if self.age_years is None else int(self.age_years * 12 + 1e-9)


class Setting(Asked):
    """The classroom or school: what it bans."""

    bans: Annotated[list[Name], Field(max_length=50)] = Field(default_factory=list, description="Allergen ids.")
    ban_threshold: Threshold = Field(
        "contains", description="Whether the ban speaks of precautionary statements (may_contain) too."
    )
