"""A lunch as a person asks for its check: its items, how it is kept, the child and the standard."""

from typing import Annotated

from pydantic import (
    Discriminator,
    Field,
    Tag,
    field_validator,
)

from service.jobs.requests.fields import (
    BY_ID,
    BY_ITEM,
    MOST_ITEMS,
    MOST_OFFERED,
    WHOLE,
    Amount,
    Asked,
    Day,
    Form,
    KeptOr,
    Name,
    Region,
    ShortName,
    every_region,
    needs_standard,
)
from service.jobs.requests.foods import PACKETS, SALTS_COOKING_WATER, AnyFood, Packet
from service.jobs.requests.people import YARDSTICKS, Child, Setting, Yardsticks
from service.jobs.word_lists import Held


class LunchItem(Asked):
    """One item of a lunch: a food of the tables by id, a label food, or a recipe, in an amount."""

    id: ShortName | None = Field(None, description="Your own name for the item; answers that speak of it carry it.")
    food: AnyFood = Field(description="A food: its id, see GET /v1/foods; or in full from its label, or as a recipe.")
    quantity: Amount = Field(1.0, description="How many of `unit`.")
    unit: Name | None = Field(None, description="g, or a household unit of the food; left out: its usual portion.")
    form: Form | None = Field(None, description="How it is cut; left out: the usual form of the food.")
    credit_as: Name | None = Field(None, description="For foods that credit in two ways: vegetable or meat alternate.")
    held: Held | None = Field(None, description="How it is kept; left out: cold.")


def _offered_tag(value: object) -> str | None:
    if isinstance(value, str):
        return BY_ID
    return BY_ITEM if isinstance(value, LunchItem | dict) else None


Offered = Annotated[
    Annotated[Name, Tag(BY_ID)] | Annotated[LunchItem, Tag(BY_ITEM)],
    Discriminator(_offered_tag, custom_error_type="no_offer", custom_error_message="is not a food"),
]


class HoldingConditions(Asked):
    """How the lunch is kept until it is eaten."""

    insulated: bool | None = Field(None, description="Whether the bag is insulated; left out: not known.")
    cold_sources: Annotated[int, Field(ge=0, le=20), WHOLE] | None = Field(
        None, description="How many cold packs or frozen drinks go along; left out: not known."
    )
    minutes_until_eaten: Annotated[int, Field(ge=0, le=1440), WHOLE] | None = Field(
        None, description="Minutes from packing to eating; left out: not known."
    )
    ambient_c: Annotated[float, Field(ge=-40, le=60)] | None = Field(
        None, description="Temperature around the bag in °C; left out: not known."
    )
    flask_preheated: bool | None = Field(
        None, description="Whether the flask was filled with boiling water first; left out: not known."
    )
    flask_filled_at_c: Annotated[float, Field(ge=0, le=100)] | None = Field(
        None, description="Temperature of the food when it was filled in, in °C; left out: not known."
    )


class Lunch(Asked):
    """The items of one lunch and how it is kept."""

    items: Annotated[list[LunchItem], Field(min_length=1, max_length=MOST_ITEMS)] = Field(
        description="What is in the lunch, an entry for each item."
    )
    holding: HoldingConditions | None = Field(
        None, description="How the lunch is kept until it is eaten; left out: not known."
    )


class LunchCheckWithIds(Asked):
    """One lunch of one child against one standard on one day; child, lunch and foods may be ids of stored records."""

    on: Day = Field(description="The day the lunch is eaten; the rules in force on it are used.")
    child: KeptOr[Child] = Field(description="With a household's key also the id of a stored child.")
    standard: Name | None = Field(
        None,
        description="Standard id, see GET /v1/standards; left out for a stored child: the child's own.",
        validate_default=True,
    )
    setting: Setting = Field(default_factory=Setting, description="Left out for a stored child: its school's bans.")
    lunch: KeptOr[Lunch] = Field(description="With a household's key also the id of a stored lunch.")
    offer: Annotated[list[Offered], Field(max_length=MOST_OFFERED)] = Field(
        default_factory=list, description="Foods at hand, for the changes; left out: the lunch foods."
    )
    max_changes: Annotated[int, Field(ge=0, le=5), WHOLE] = Field(5, description="How many single changes to look for.")
    regions: Annotated[list[Region], Field(min_length=1, max_length=20)] = Field(
        default_factory=lambda: list(every_region()), description="Whose handling guidance to use; the stricter counts."
    )

    packets: list[Packet] = PACKETS
    salts_cooking_water: bool | None = SALTS_COOKING_WATER
    yardsticks: Yardsticks = YARDSTICKS

    _known_standard = field_validator("standard")(needs_standard)


class LunchCheckRequest(LunchCheckWithIds):
    """One lunch of one child against one standard on one day."""

    child: Child = Field(description="Id of the child.")
    standard: Name = Field(description="Standard id, see GET /v1/standards.")
    lunch: Lunch = Field(description="The lunch.")
