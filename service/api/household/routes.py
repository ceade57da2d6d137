"""What a household stores: one router for each kind of record, its keys, its weeks and its export."""

from typing import Annotated, Any

from pydantic import Field

from service.api.answers import OF_IDS, Ids
from service.api.household import (
    avoids,
    export,
    gs1_allergens,
    keys,
    lunch_of_day,
    packets_to_read,
    settings,
    stock,
    weeks,
)
from service.api.household.records import KindOfRecord, PageQuery, record_router
from service.api.household.replies import (
    ChildPage,
    ChildRecord,
    FoodRecord,
    LoggedLunchReply,
    LunchPage,
    LunchRecord,
    OfferPage,
    OfferRecord,
    PacketPage,
    PacketRecord,
    PlanPage,
    PlanRecord,
    PricePage,
    PriceRecord,
    RecipePage,
    RecipeRecord,
    SchoolDayPage,
    SchoolDayRecord,
    StockEntryPage,
    StockEntryRecord,
)
from service.jobs.household.days.lunches import lunches_of
from service.jobs.household.days.school_days import school_days_of
from service.jobs.household.kinds import (
    CHILDREN,
    FOODS,
    LUNCHES,
    OFFERS,
    PACKETS,
    PLANS,
    PRICES,
    RECIPES,
    SCHOOL_DAYS,
    STOCK,
)
from service.jobs.household.records import of_ids
from service.jobs.household.requests import (
    KeptChild,
    KeptFood,
    KeptOffer,
    KeptPacket,
    KeptPlan,
    KeptPrice,
    KeptRecipe,
    KeptSchoolDay,
    LoggedLunch,
)
from service.jobs.household.stock.requests import StockEntry
from service.jobs.requests.fields import Day, KeptId
from service.jobs.weeks.requests import Week


class LunchQuery(PageQuery):
    """Which lunches."""

    child: KeptId | None = Field(None, description="Only those of this child.")
    week: Annotated[Week, Field(description="Only those of this ISO week, e.g. 2026-W49.")] | None = None
    day: Day | None = Field(None, alias="date", description="Only those of this day, YYYY-MM-DD.")
    first: Day | None = Field(None, alias="from", description="Only those of this day or later, YYYY-MM-DD.")
    last: Day | None = Field(None, alias="to", description="Only those of this day or earlier, YYYY-MM-DD.")


class RecipeQuery(PageQuery):
    """Which recipes."""

    ids: Ids | None = Field(None, description=OF_IDS)


class SchoolDayQuery(PageQuery):
    """Which school days."""

    first: Day | None = Field(None, alias="from", description="Only this day or later, YYYY-MM-DD.")
    last: Day | None = Field(None, alias="to", description="Only this day or earlier, YYYY-MM-DD.")


def _school_days_asked(query: SchoolDayQuery) -> list[Any]:
    return school_days_of(query.first, query.last)


def _lunches_asked(query: LunchQuery) -> list[Any]:
    return lunches_of(query.child, query.week, query.day, query.first, query.last)


def _recipes_asked(query: RecipeQuery) -> list[Any]:
    return [] if query.ids is None else of_ids(RECIPES, query.ids.split(","))


RECORDS = (
    KindOfRecord(
        CHILDREN, "child", "children",
        "A child is a nickname, a birth month or age group, its standard, and what it avoids and its school bans; "
        "deleting one deletes all its lunches and takes it out of offers, school days and plans; a plan for no other child goes too.",
        KeptChild, ChildRecord, ChildRecord, ChildPage,
    ),
    KindOfRecord(
        FOODS, "food", "foods", "An own food, as its label gives it; its id is accepted wherever a food's is.",
        KeptFood, FoodRecord, FoodRecord, FoodRecord, read_elsewhere=True,
    ),
    KindOfRecord(
        PACKETS, "packet", "packets",
        "What was read on the packet of a food, and when: used in every check, dish, offer, log and week of the household "
        "for as long as it holds.",
        KeptPacket, PacketRecord, PacketRecord, PacketPage,
    ),
    KindOfRecord(
        RECIPES, "recipe", "recipes",
        "A dish from foods and grams; an ingredient may be an own food by its id, and the recipe's own id is accepted "
        "wherever a food's is.",
        KeptRecipe, RecipeRecord, RecipeRecord, RecipePage,
        query=RecipeQuery, where=_recipes_asked,
    ),
    KindOfRecord(
        OFFERS, "offer", "offers",
        "Choice groups with their rules under a name; POST /v1/offer-audits accepts its id as offer.",
        KeptOffer, OfferRecord, OfferRecord, OfferPage,
    ),
    KindOfRecord(
        PRICES, "price", "prices",
        "What a pack of a food or the school's meal costs from a day on, until it ends or a later price of the same. Packs of one food "
        "in two weights have each their own price; what is eaten is counted at the one that costs least per gram.",
        KeptPrice, PriceRecord, PriceRecord, PricePage,
    ),
    KindOfRecord(
        LUNCHES, "lunch", "lunches",
        "What a child had on a day: packed, bought at school, or none. A packed lunch is checked and screened, and the "
        "answer has what was found; one that must not be packed needs acknowledged.reason, which is stored.",
        LoggedLunch, LunchRecord, LoggedLunchReply, LunchPage,
        query=LunchQuery, where=_lunches_asked, for_packing=True,
    ),
    KindOfRecord(
        SCHOOL_DAYS, "school-day", "school-days",
        "A school day: the offer that is set out, the school's meal as its menu gives it, and the children who buy it. One a day.",
        KeptSchoolDay, SchoolDayRecord, SchoolDayRecord, SchoolDayPage,
        query=SchoolDayQuery, where=_school_days_asked,
    ),
    KindOfRecord(
        STOCK, "stock-entry", "stock",
        "A stock entry: what was made or bought of one food on one day and is kept in one place. How much there is, and "
        "where, changes with POST /v1/stock/{id}/events and with lunches that are logged.",
        StockEntry, StockEntryRecord, StockEntryRecord, StockEntryPage,
    ),
    KindOfRecord(
        PLANS, "plan", "plans",
        "A plan of some weeks: what was asked and what was decided. POST /v1/plans with a name stores one; after an edit of "
        "what was asked, POST /v1/plans/{plan_id}/revisions plans again.",
        KeptPlan, PlanRecord, PlanRecord, PlanPage, made_elsewhere=True,
    ),
)  # fmt: skip
"""The kinds of records, as they are asked over HTTP."""

routers = (
    packets_to_read.router,
    *(record_router(kind) for kind in RECORDS),
    avoids.router,
    gs1_allergens.router,
    lunch_of_day.router,
    stock.router,
    weeks.router,
    keys.router,
    settings.router,
    export.router,
)
