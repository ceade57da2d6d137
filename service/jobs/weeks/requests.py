"""What a person says of a week of one child's lunches, as strict models; the parts of a lunch are those of a lunch check."""

from datetime import date, timedelta
from typing import Annotated, Any, Literal, Self

from pydantic import Field, PrivateAttr, field_validator, model_validator
from typing_extensions import TypeAliasType

from service.domain.errors import BadInput
from service.domain.messages import message
from service.jobs.requests.fields import (
    CURRENCY_CODE,
    ISO_WEEK,
    MOST_ITEMS,
    MOST_OFFERED,
    WHOLE,
    Asked,
    Day,
    KeptOr,
    Name,
    Region,
    ShortName,
    Text,
    conflict,
    every_region,
    needs_standard,
)
from service.jobs.requests.foods import (
    MOST_PACKETS,
    PACKETS,
    SALTS_COOKING_WATER,
    DeclaredAllergen,
    LabelCredit,
    NutritionFacts,
    Packet,
)
from service.jobs.requests.lunches import HoldingConditions, LunchItem, Offered
from service.jobs.requests.people import YARDSTICKS, Avoids, Child, Setting, Yardsticks
from service.jobs.word_lists import LunchKind

MOST_WEEKS = 26
MOST_DAYS = MOST_WEEKS * 7

SchoolFoodGroup = TypeAliasType(
    "SchoolFoodGroup",
    Annotated[
        Literal[
            "starchy",
            "wholegrain_starchy",
            "starchy_in_fat",
            "vegetable",
            "fruit",
            "fruit_dessert",
            "protein_non_dairy",
            "vegetarian_protein",
            "meat_or_poultry",
            "oily_fish",
            "meat_product",
            "dairy",
            "fried",
            "pastry",
            "snack",
            "confectionery",
            "cake_or_biscuit",
            "savoury_cracker",
            "condiment",
            "juice",
            "combination_drink",
            "seed_or_nut",
            "grain_food",
            "vegetable_or_fruit",
            "protein_food",
            "main",
        ],
        Field(description="A food group of school food rules. Open: more may be added."),
    ],
)


Week = Annotated[str, Field(pattern=ISO_WEEK, examples=["2026-W49"])]
"""An ISO 8601 week, Monday to Sunday."""


def monday_of(week: str) -> date:
    """The first day of an ISO week; ``BadInput`` for a week 53 that the year does not have.

    >>> monday_of("2026-W49")
    datetime.date(2026, 11, 30)
    """
    try:
        return date.fromisocalendar(int(week[:4]), int(week[6:]), 1)
    except ValueError as fault:
        raise BadInput(
            pointer="/week",
            value=week,
            problem=message("fault.no-such-week"),
        ) from fault


def week_of(on: date) -> str:
    """The ISO week a day lies in.

    >>> from datetime import date
    >>> week_of(date(2027, 1, 1))
    '2026-W53'
    """
    year, week, _day = on.isocalendar()
    return f"{year}-W{week:02d}"


class WeekItem(LunchItem):
    """One item of a day; for a food from a label or a composition table you may say what it counts as."""

    groups: Annotated[list[SchoolFoodGroup], Field(max_length=12)] | None = Field(
        None, description="What it counts as in a week; left out: known for lunch foods and recipes, else unknown."
    )
    kind: ShortName | None = Field(None, description="What kind it is among fruit, vegetables or mains, e.g. plum.")


class Uneaten(Asked):
    """What came back of one item."""

    item: Annotated[int, Field(ge=0, lt=MOST_ITEMS), WHOLE] = Field(description="Place of the item, from 0.")
    share: Annotated[float, Field(ge=0, le=1)] = Field(description="The share of it that was not eaten.")


class Menu(Asked):
    """A bought lunch as the school's menu gives it; a figure left out is unknown."""

    name: Name = Field("bought lunch", description="Its name, one line of plain text.")
    facts: NutritionFacts = Field(
        default_factory=NutritionFacts, description="The figures as printed; left out: none is known."
    )
    credits: Annotated[list[LabelCredit], Field(max_length=14)] | None = Field(
        None, description="US school-meal credits of the lunch, per_serving; left out: not known."
    )
    contains: Text | None = Field(None, description="The allergen statement, as printed.")
    may_contain: Text | None = Field(None, description="The precautionary statement, as printed.")
    allergens: Annotated[list[DeclaredAllergen], Field(max_length=60)] = Field(
        default_factory=list, description="Allergens as somebody who read the label declares them."
    )
    groups: Annotated[list[SchoolFoodGroup], Field(max_length=20)] | None = Field(
        None, description="What was in it, for standards of frequencies: each counts as one portion."
    )


class WeekDayAsked(Asked):
    """One day: packed at home, bought at school, or none (no school, or no lunch)."""

    date: Day = Field(description="The day, YYYY-MM-DD.")
    kind: LunchKind = Field(description="What kind of lunch it was.")
    items: Annotated[list[WeekItem], Field(max_length=MOST_ITEMS)] = Field(
        default_factory=list, description="What was packed, in the order that places of items count."
    )
    uneaten: Annotated[list[Uneaten], Field(max_length=MOST_ITEMS)] = Field(
        default_factory=list, description="What came back."
    )
    menu: Menu | None = Field(None, description="For a bought lunch whose figures are known.")
    holding: HoldingConditions | None = Field(
        None, description="How the lunch is kept until it is eaten; left out: not known."
    )
    salts_cooking_water: bool | None = Field(
        None, description="Whether its foods were cooked in salted water; left out: as the request says."
    )
    packets: Annotated[list[Packet], Field(max_length=MOST_PACKETS)] | None = Field(
        None, description="The packets to judge this day by, and no others; left out: as the request says."
    )
    avoids: Avoids | None = Field(
        None, description="What to look for on this day; left out: what the child of the request avoids."
    )
    setting: Setting | None = Field(
        None, description="What the classroom or school banned on this day; left out: as the request says."
    )

    @model_validator(mode="after")
    def _fits_its_kind(self) -> "WeekDayAsked":
        if self.kind == "packed" and not self.items:
            raise conflict(message("fault.packed-day-empty"))
        if self.kind == "none" and (self.items or self.menu):
            raise conflict(message("fault.items-on-none-day"))
        if self.menu is not None and (self.items or self.kind != "bought"):
            raise conflict(message("fault.menu-and-items"))
        places = [one.item for one in self.uneaten]
        if len(set(places)) < len(places) or any(place >= len(self.items) for place in places):
            raise conflict(message("fault.uneaten-twice"))
        return self


Currency = Annotated[str, Field(pattern=CURRENCY_CODE, examples=["USD"])]
MOST_MINOR = 100_000_000
Minor = Annotated[int, Field(ge=0, le=MOST_MINOR), WHOLE]
PackGrams = Annotated[float, Field(ge=0.001, le=100_000)]
UNTIL: Any = Field(
    None,
    description="Last day on which it applies, YYYY-MM-DD: a pack that is no longer sold, a meal that is no longer free. No older "
    "price comes back after it. Left out: until the next price of the same.",
)


def see_it_begins(first: date, last: date | None) -> None:
    """Raise for a price that ends before it begins."""
    if last is not None and last < first:
        raise conflict(message("fault.price-ends-before"), ("until",), last)


class PriceFrom(Asked):
    """What every price says: how much, in which currency, and on which days.

    It is in the currency in which costs are told; only a stored price may be in another (``in_other_currency``).
    """

    _elsewhere: bool = PrivateAttr(default=False)

    amount_minor: Minor = Field(description="In whole minor units of the currency, e.g. cents; 0: it costs nothing.")
    currency: Currency = Field(description="ISO 4217 code, e.g. EUR.")
    from_: Day = Field(alias="from", description="First day on which it applies, YYYY-MM-DD.")
    until: Day | None = UNTIL

    @model_validator(mode="after")
    def _ends_after_it_begins(self) -> "PriceFrom":
        see_it_begins(self.from_, self.until)
        return self

    @property
    def elsewhere(self) -> bool:
        """Whether it is not counted, because costs are told in another currency."""
        return self._elsewhere

    def in_other_currency(self) -> Self:
        """The same price, of which it is known that costs are told in another currency."""
        price = self.model_copy()
        price._elsewhere = True
        return price


class PriceAsked(PriceFrom):
    """The price of a pack from a day on, until it ends or the next price of a pack of the same food and weight."""

    food: Name = Field(description="Food id, or the name of a food from a label or a recipe.")
    pack_grams: PackGrams = Field(description="What the pack weighs, in grams.")


class MealPriceAsked(PriceFrom):
    """The price of a school meal from a day on, for every child or for one: a free, reduced or sibling's price."""

    child: Annotated[int, Field(ge=0, lt=200), WHOLE] | None = Field(
        None,
        description="Whose own price it is: the place among the children, counted from 0 (0 where the request has one child). "
        "It counts in place of the menu's. Left out: the menu's price, for every child without one of its own.",
    )


class WeekWithIds(Asked):
    """An ISO week of one child, as ``WeekRequest``; child and foods may be ids of stored records."""

    child: KeptOr[Child] = Field(description="With a household's key also the id of a stored child.")
    standard: Name | None = Field(
        None,
        description="Standard id, see GET /v1/standards; left out for a stored child: the child's own.",
        validate_default=True,
    )
    week: Week = Field(description="The ISO week, e.g. 2026-W49.")
    setting: Setting = Field(default_factory=Setting, description="What the classroom or school bans.")
    vegetarian: bool = Field(
        False,
        description="Whether the rules for vegetarians on meat and fish are used; no meat or fish is then suggested.",
    )
    dislikes: Annotated[list[Name], Field(max_length=200)] = Field(
        default_factory=list, description="Food ids, or words of food names, that are not to be suggested."
    )
    dislikes_in_dishes: bool = Field(True, description="Whether no dish with such a food is suggested either.")
    school_days: Annotated[list[Day], Field(max_length=7)] | None = Field(
        None, description="The school days of the week; left out: Monday to Friday and any other day with a lunch."
    )
    days: Annotated[list[WeekDayAsked], Field(max_length=MOST_DAYS)] = Field(
        description="The days with lunches, those of earlier weeks too."
    )
    prices: Annotated[list[PriceAsked], Field(max_length=1000)] = Field(
        default_factory=list, description="What packs of foods cost."
    )
    school_meal: Annotated[list[MealPriceAsked], Field(max_length=60)] = Field(
        default_factory=list, description="What the school's meal costs."
    )
    offer: Annotated[list[Offered], Field(max_length=MOST_OFFERED)] = Field(
        default_factory=list, description="Foods at hand, for the changes; left out: the everyday lunch foods."
    )
    max_changes: Annotated[int, Field(ge=0, le=3), WHOLE] = Field(3, description="How many single changes to look for.")
    regions: Annotated[list[Region], Field(min_length=1, max_length=20)] = Field(
        default_factory=lambda: list(every_region()), description="Whose handling guidance to use; the stricter counts."
    )

    packets: list[Packet] = PACKETS
    salts_cooking_water: bool | None = SALTS_COOKING_WATER
    yardsticks: Yardsticks = YARDSTICKS

    _known_standard = field_validator("standard")(needs_standard)

    @model_validator(mode="after")
    def _own_prices_of_the_child(self) -> "WeekWithIds":
        for place, one in enumerate(self.school_meal):
            if one.child:
                raise conflict(message("fault.no-such-child", number=1), ("school_meal", place, "child"), one.child)
        return self

    def first_day(self) -> date:
        """Monday of the week."""
        return monday_of(self.week)

    def last_day(self) -> date:
        """Sunday of the week."""
        return monday_of(self.week) + timedelta(days=6)


class WeekRequest(WeekWithIds):
    """An ISO week of one child; days of earlier weeks serve the trend, new foods and rules over three weeks."""

    child: Child = Field(description="Id of the child.")
    standard: Name = Field(description="Standard id, see GET /v1/standards.")
