"""What a household stores, as strict models: children, own foods and recipes, prices, offers, lunches, school days, plans.

Wherever a food id is accepted, the id of an own food or recipe (a UUID as text) is accepted too. Whatever needs the
reference data or the store (names, ids) is looked at in the jobs.
"""

import re
from datetime import date as Date  # noqa: N812 - a field of a lunch is called date
from datetime import timedelta
from typing import Annotated
from uuid import UUID

from pydantic import AfterValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from service.domain.errors import BadInput, OutsideAgeGroups
from service.domain.messages import message
from service.jobs.offers.requests import OfferIn
from service.jobs.plan.weeks.requests import PlanDecisions, PlanFound, PlanLocks, PlanWithIds
from service.jobs.requests.fields import (
    LINES,
    MOST_ITEMS,
    ONE_LINE,
    Asked,
    Day,
    KeptId,
    Name,
    Nickname,
    StorageClassId,
    conflict,
    every_region,
)
from service.jobs.requests.foods import MOST_INGREDIENTS, MOST_PACKETS, LabelFood, OwnFood, Packet, Recipe
from service.jobs.requests.lunches import HoldingConditions
from service.jobs.requests.people import (
    MOST_MONTHS,
    YARDSTICKS,
    Avoids,
    Child,
    NeedActivity,
    NeedHeight,
    NeedSex,
    NeedWeight,
    Setting,
    Yardsticks,
)
from service.jobs.weeks.requests import UNTIL, Currency, Menu, Minor, PackGrams, Uneaten, WeekItem, see_it_begins
from service.jobs.word_lists import Freezes, LunchKind, PricedThing, Threshold, Verdict
from service.store.household.pack_prices import of_pack

MONTH = re.compile(r"(199[0-9]|[2-9][0-9]{3})-(0[1-9]|1[0-2])")
"""From 1990 on: whoever was born before is no child any more."""


def _month(value: str) -> str:
    if not MONTH.fullmatch(value):
        raise PydanticCustomError("no_month", "is not a month of a child's birth")
    return value


BirthMonth = Annotated[str, Field(json_schema_extra={"pattern": f"^{MONTH.pattern}$"}), AfterValidator(_month)]
"""A month as YYYY-MM."""


OWN_MEAL = "school_meal:"
"""Before the id of a child: the school's meal for this child alone, as what a price is of."""


def meal_of(child: UUID) -> str:
    """What the price of the school's meal for one child is of."""
    return f"{OWN_MEAL}{child}"


def _months_between(birth_month: str, day: Date) -> int:
    """Calendar months from that of the birth to that of a day; below 0 for a day before it."""
    return (day.year - int(birth_month[:4])) * 12 + day.month - int(birth_month[5:])


def see_born(birth_month: str | None, here: Date) -> None:
    """``BadInput`` for a month that has not begun anywhere."""
    if birth_month is not None and _months_between(birth_month, here + timedelta(days=1)) < 0:
        raise BadInput(value=birth_month, problem=message("fault.month-to-come"))


class KeptChild(Asked):
    """A child of the household: what is needed to check its lunches, and no more."""

    nickname: Nickname = Field(description="To tell children apart; no full name is needed. Never logged.")
    standard: Name = Field(description="Standard its weeks and lunches are checked against, see GET /v1/standards.")
    lunch_standard: Name | None = Field(
        None,
        description="Where the standard counts portions over a week and cannot judge one lunch: the standard for single "
        "lunches and offers; left out: the one that usually goes with it.",
    )
    yardsticks: Yardsticks = YARDSTICKS
    birth_month: BirthMonth | None = Field(None, description="YYYY-MM; its age on a day follows from it.")
    age_group: Name | None = Field(None, description="Age group id of the standard, to override the one by age.")
    avoids: Avoids = Field(default_factory=list)
    dislikes: Annotated[list[Name], Field(max_length=200)] = Field(
        default_factory=list, description="Food ids, or words of food names."
    )
    dislikes_in_dishes: bool = Field(
        True,
        description="Whether the child also leaves a dish that has such a food in it; false: only the food by itself.",
    )
    vegetarian: bool = Field(
        False,
        description="A wish, not an allergy: a standard's rules for vegetarians are used, no meat or fish is suggested, and "
        "none is taken from an offer. A lunch with meat or fish may still be packed.",
    )
    bans: Annotated[list[Name], Field(max_length=50)] = Field(
        default_factory=list, description="Allergen ids that its school or classroom bans."
    )
    ban_threshold: Threshold = Field(
        "contains", description="Whether the ban speaks of precautionary statements (may_contain) too."
    )
    sex: NeedSex = None
    height_cm: NeedHeight = None
    weight_kg: NeedWeight = None
    activity: NeedActivity = None

    @model_validator(mode="after")
    def _an_age(self) -> "KeptChild":
        if self.birth_month is None and self.age_group is None:
            raise conflict(message("fault.no-age-of-child"))
        return self

    def months_on(self, day: Date) -> int | None:
        """Age in whole months on a day, taken as born at the end of the birth month; None without a birth month.

        A month too young rather than too old: choking rules are stricter for the younger.
        """
        if self.birth_month is None:
            return None
        return max(0, _months_between(self.birth_month, day) - 1)

    def child_on(self, day: Date) -> Child:
        """The child as a check takes it.

        Raises ``OutsideAgeGroups`` for a day on which it is too old for any check, or before the month of its birth.
        """
        if self.birth_month is not None and _months_between(self.birth_month, day) < 0:
            raise OutsideAgeGroups(
                value=day.isoformat(), problem=message("fault.not-born-that-day", birth_month=self.birth_month)
            )
        months = self.months_on(day)
        if months is not None and months >= MOST_MONTHS:
            raise OutsideAgeGroups(value=day.isoformat(), problem=message("fault.too-old-that-day"))
        return Child(
            nickname=self.nickname,
            age_months=months,
            age_group=self.age_group,
            avoids=self.avoids,
            sex=self.sex,
            height_cm=self.height_cm,
            weight_kg=self.weight_kg,
            activity=self.activity,
        )

    def setting(self) -> Setting:
        """What its school bans."""
        return Setting(bans=self.bans, ban_threshold=self.ban_threshold)


class KeptFood(LabelFood):
    """An own food, as its label gives it."""


class KeptRecipe(Recipe):
    """An own recipe; its ingredients may be own foods by their id. Its ``portions`` are those of one batch."""

    batch_fractions: bool = Field(
        False, description="Whether parts of a batch can be made; false: whole batches only (a cake, a tray)."
    )
    keeps: StorageClassId | None = Field(
        None,
        description="Id of the class of foods that it keeps like, see `storage` of GET /v1/foods/{food_id}; left out: what is in it "
        "says how long it keeps.",
    )
    freezes: Freezes | None = Field(None, description="How well it freezes; left out: what is in it says how well.")
    thaw_hours: Annotated[float, Field(gt=0, le=96)] | None = Field(
        None, description="Hours it takes to thaw in the fridge; left out: the usual figure."
    )
    from_address: Annotated[str, Field(max_length=500, pattern=ONE_LINE)] = Field(
        "", description="Where the recipe is from: a text, never fetched; left out: not said."
    )


class KeptPacket(Packet):
    """A packet that was read, for a food of the tables or an own food by its id."""


class KeptPrice(Asked):
    """A price from a day on, until it ends or a later one of the same: of a pack of a food, each weight for itself, or of the
    school's meal, for all children or for one."""

    what: PricedThing = Field(description="What it is the price of: a food or the school's meal.")
    food: Name | None = Field(None, description="Food id, or id of an own food; left out for the school's meal.")
    child: KeptId | None = Field(
        None,
        description="Id of the only child that pays this for the school's meal (a free, reduced or sibling's price); it counts for "
        "this child in place of the menu's. Left out: what every child pays that has none of its own.",
    )
    amount_minor: Minor = Field(description="In the smallest unit of the currency, e.g. cents; 0: it costs nothing.")
    currency: Currency = Field(description="ISO 4217 code, e.g. EUR.")
    pack_grams: PackGrams | None = Field(
        None,
        description="Weight of the contents of a pack, in grams. Packs of two weights have each its own price, side by side.",
    )
    from_day: Day = Field(alias="from", description="First day on which it holds, YYYY-MM-DD.")
    until: Day | None = UNTIL

    @model_validator(mode="after")
    def _whole(self) -> "KeptPrice":
        if self.what == "food" and (self.food is None or self.pack_grams is None):
            raise conflict(message("fault.price-without-food"))
        if self.what == "school_meal" and (self.food is not None or self.pack_grams is not None):
            raise conflict(message("fault.meal-price-with-food"))
        if self.what == "food" and self.child is not None:
            raise conflict(message("fault.food-price-with-child"), ("child",), self.child)
        see_it_begins(self.from_day, self.until)
        return self

    def of_what(self) -> str:
        """What the price is of: two prices of the same thing may not start on the same day."""
        if self.food is not None and self.pack_grams is not None:
            return of_pack(self.food, self.pack_grams)
        return "school_meal" if self.child is None else meal_of(UUID(self.child))


class KeptOffer(OfferIn):
    """An offer under a name: choice groups, groups that stand in for each other, and rules between them."""

    name: Name = Field(description="Its name, one line of plain text.")


class KeptSchoolDay(Asked):
    """A school day: the offer that is set out, the school's meal, and the children who buy it."""

    date: Day = Field(description="The day, YYYY-MM-DD.")
    offer: KeptId | None = Field(None, description="Id of the stored offer that is set out; left out: none.")
    menu: Menu | None = Field(
        None, description="The school's meal of the day, as its menu gives it; left out: not known."
    )
    buys: Annotated[list[KeptId], Field(max_length=50)] = Field(
        default_factory=list, description="Ids of the children who buy the school's meal that day."
    )

    @model_validator(mode="after")
    def _once_each(self) -> "KeptSchoolDay":
        if len(set(self.buys)) != len(self.buys):
            raise conflict(message("fault.buyer-twice"))
        return self


class KeptPlan(Asked):
    """A plan of some weeks: what was asked, and what was decided."""

    name: Name | None = Field(
        None, description="Its name, one line of plain text; null: the pages name it by its first and last day."
    )
    asked: PlanWithIds = Field(description="What was asked; edit it, and plan again by POST /v1/plans/{id}/revisions.")
    decisions: PlanDecisions = Field(default_factory=PlanDecisions, description="What was decided.")
    locked: PlanLocks = Field(
        default_factory=PlanLocks, description="Parts of it that stay as they are whenever it is planned again."
    )
    found: PlanFound = Field(
        default_factory=PlanFound,
        description="What the last planning found beside that; left out: nothing is known of it.",
    )
    set_out_on: Day | None = Field(
        None,
        description="The day on which its days were last set out; days from Monday to Friday that it leaves out are days without "
        "school from then on. null: it was not set out, and says nothing of that.",
    )

    @model_validator(mode="after")
    def _by_the_regions_of_the_household(self) -> "KeptPlan":
        # It is stored whole. All regions are what a plan has that names none, and then the household's choice counts.
        if self.asked.regions == list(every_region()):
            self.asked.model_fields_set.discard("regions")
        return self


class Acknowledged(Asked):
    """That somebody packs a lunch although it must not be packed, and why."""

    reason: Annotated[str, Field(min_length=1, max_length=500, pattern=LINES)] = Field(
        description="Why it is packed all the same."
    )


class LoggedLunch(Asked):
    """One child's lunch of one day, as it is logged."""

    child: KeptId = Field(description="Id of the child.")
    date: Day = Field(description="The day, YYYY-MM-DD.")
    kind: LunchKind = Field(description="Whether it was packed at home or bought at school, or there was none.")
    items: Annotated[list[WeekItem], Field(max_length=MOST_ITEMS)] = Field(
        default_factory=list, description="What was packed, in the order that places of items count."
    )
    holding: HoldingConditions | None = Field(None, description="How a packed lunch was kept.")
    uneaten: Annotated[list[Uneaten], Field(max_length=MOST_ITEMS)] | None = Field(
        None, description="What came back; left out: not known; an empty list: nothing came back."
    )
    menu: Menu | None = Field(None, description="A meal bought at school, as its menu gives it; left out: not known.")
    offer: KeptId | None = Field(None, description="The offer it was taken from.")
    acknowledged: Acknowledged | None = Field(
        None, description="Needed to log a packed lunch that must not be packed; the reason is kept."
    )

    @model_validator(mode="after")
    def _of_its_kind(self) -> "LoggedLunch":
        if self.kind == "packed" and not self.items:
            raise conflict(message("fault.packed-without-items"))
        if self.kind != "packed" and (self.items or self.holding or self.uneaten or self.offer or self.acknowledged):
            raise conflict(message("fault.not-packed-with-items"))
        if self.kind != "bought" and self.menu is not None:
            raise conflict(message("fault.menu-not-bought"))
        places = [one.item for one in self.uneaten or []]
        if len(set(places)) != len(places) or any(place >= len(self.items) for place in places):
            raise conflict(message("fault.uneaten-not-there"))
        return self


class LunchFound(Asked):
    """What was found when a packed lunch was logged."""

    verdict: Verdict = Field(description="The verdict of the check when it was kept.")
    standard: Name = Field(description="Standard id, see GET /v1/standards.")
    age_group: Name = Field(description="Id of the age group.")
    do_not_pack: Annotated[list[Annotated[str, Field(max_length=2_000, pattern=ONE_LINE)]], Field(max_length=2_000)] = (
        Field(default_factory=list, description="What spoke against packing it, a sentence each.")
    )
    rests_on: Annotated[str, Field(max_length=64)] | None = Field(
        None,
        description="A digest of all that it was judged on: the lunch, the child, its bans and standard, own foods; left "
        "out in older records.",
    )


class OwnFoodThen(Asked):
    """An own food or recipe as it was when a lunch with it was logged."""

    id: KeptId = Field(description="Its id.")
    food: OwnFood = Field(description="The food or recipe as it was then; own foods within a recipe in full.")
    ingredient_ids: Annotated[list[KeptId | None], Field(max_length=MOST_INGREDIENTS)] = Field(
        default_factory=list,
        description="Of a recipe, for each ingredient: the id of the own food, by which its packets are found; null: it is none.",
    )


class JudgedBy(Asked):
    """What a logged lunch is judged by in its week, as it was when the lunch was logged."""

    standard: Name = Field(description="Standard id, see GET /v1/standards.")
    age_group: Name | None = Field(None, description="Id of the age group; null: the standard has none for that age.")
    vegetarian: bool = Field(False, description="Whether the rules for vegetarians are used.")
    foods: Annotated[list[OwnFoodThen], Field(max_length=MOST_ITEMS)] = Field(
        default_factory=list, description="The own foods and recipes packed."
    )
    salts_cooking_water: bool | None = Field(
        None, description="Whether the household salted the water it cooked in; null: it had not said."
    )
    packets: Annotated[list[Packet], Field(max_length=MOST_PACKETS)] | None = Field(
        None,
        description="The packets of the foods packed that held on the day; null in older records: those stored now are used.",
    )
    avoids: Avoids | None = Field(
        None, description="What had to be kept away from the child; null in older records: what is stored now is used."
    )
    setting: Setting | None = Field(
        None, description="What its school banned; null in older records: what is stored now is used."
    )


class KeptLunch(LoggedLunch):
    """A lunch as it is kept: what was logged, what was found, and what it is judged by."""

    judged_by: JudgedBy | None = Field(
        None,
        description="The rules, own foods and packets of that day, and what had to be kept away: later edits do not move a past "
        "week. Any edit of the lunch, even an empty one, takes over what is stored now, unless it only notes what came back.",
    )
    found: LunchFound | None = Field(None, description="What was found when it was kept; null: it was not packed here.")
