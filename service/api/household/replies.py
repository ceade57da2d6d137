"""The published shape of what a household stores, as it is answered: each form with its id and times."""

from typing import Any, Literal, cast

from pydantic import BaseModel, ConfigDict, Field, create_model

from service.api.allergens.replies import ScreeningReply
from service.api.lunch.replies import LunchCheckReply
from service.api.replies import AsCodes, ReplyModel, Said, SaidMessage
from service.jobs.household.requests import (
    KeptChild,
    KeptFood,
    KeptLunch,
    KeptOffer,
    KeptPacket,
    KeptPlan,
    KeptPrice,
    KeptRecipe,
    KeptSchoolDay,
)
from service.jobs.household.settings import KeepInFridge
from service.jobs.household.stock.requests import KeptStockEntry, KeptStockEvent
from service.jobs.requests.fields import Region
from service.jobs.requests.lunches import HoldingConditions
from service.jobs.word_lists import Place, Rights, Threshold


class OfRecord(BaseModel):
    """What every record has besides what was sent; its version is the ETag."""

    model_config = ConfigDict(json_schema_serialization_defaults_required=True, defer_build=True)

    id: str = Field(description="Id of the record, a UUID; the last part of its address.")
    created_at: str = Field(
        description="When it was first kept: moment in UTC (RFC 3339).", json_schema_extra={"format": "date-time"}
    )
    updated_at: str = Field(
        description="When it was last edited: moment in UTC (RFC 3339).", json_schema_extra={"format": "date-time"}
    )


def _record(name: str, form: type[BaseModel], besides: type[OfRecord] = OfRecord) -> type[BaseModel]:
    return cast(type[BaseModel], create_model(name, __base__=(besides, form), __doc__=form.__doc__))


def _page(name: str, record: type[BaseModel]) -> type[BaseModel]:
    items: Any = (list[record], Field(description="The records of this page, in the order they were stored."))  # type: ignore[valid-type]
    following: Any = (str | None, Field(description="Give it as cursor for the next page; null: this was the last."))
    return cast(
        type[BaseModel], create_model(name, __base__=ReplyModel, __doc__="One page.", items=items, next=following)
    )


def _listed(record: type[BaseModel]) -> type[BaseModel]:
    version: Any = (int, Field(description="Its version: as an ETag it is this number in quotes."))
    name = f"Listed{record.__name__}"
    return cast(type[BaseModel], create_model(name, __base__=record, __doc__=record.__doc__, version=version))


ChildRecord = _record("ChildRecord", KeptChild)
FoodRecord = _record("FoodRecord", KeptFood)


class _OfPacket(OfRecord):
    """What a packet has besides."""

    cautions: list[str] = Field(
        description="That a statement on it could not be read, and what to do, in sentences of English; empty: each was read."
    )
    caution_messages: list[SaidMessage] = Field(description="The same as codes and their values, in the same order.")


PacketRecord = _record("PacketRecord", KeptPacket, _OfPacket)
RecipeRecord = _record("RecipeRecord", KeptRecipe)
OfferRecord = _record("OfferRecord", KeptOffer)
PriceRecord = _record("PriceRecord", KeptPrice)
LunchRecord = _record("LunchRecord", KeptLunch)
SchoolDayRecord = _record("SchoolDayRecord", KeptSchoolDay)
PlanRecord = _record("PlanRecord", KeptPlan)


class _OfStockEntry(OfRecord):
    """What an entry of the stock has besides."""

    name: str = Field(description="What its food is called.")
    use_by: str | None = Field(
        description="The last day to use it, YYYY-MM-DD; null: no figure is known, and the rule says what to go by."
    )
    use_by_rule: str = Field(description="Why until that day: class, place, region, figure and source, in English.")
    use_by_rule_message: SaidMessage
    quality_only: bool = Field(description="Whether the day is about quality only, as in the freezer.")
    days_left: int | None = Field(
        description="Days from today until then; less than 0: it is past its date; null: not known."
    )


StockEntryRecord = _record("StockEntryRecord", KeptStockEntry, _OfStockEntry)
StockEventRecord = _record("StockEventRecord", KeptStockEvent)


class FamilyRule(ReplyModel):
    """Whether a lunch was taken as its offer says."""

    kept: bool = Field(description="True: as many were taken from each group as the offer says.")
    reasons: list[str] = Field(description="What was not as the offer says, in sentences of English.")
    reason_messages: AsCodes


class TakenFrom(ReplyModel):
    """What a lunch, or a dish that was made, took from one entry of the stock."""

    id: str = Field(description="Id of the entry.")
    place: Place
    portions: float = Field(description="How many portions.")
    grams: float = Field(description="The same in grams.")


class TakenFood(ReplyModel):
    """What a lunch, or a dish that was made, took of one food."""

    food: str = Field(description="Id of the food.")
    name: str = Field(description="What it is called.")
    taken_grams: float = Field(description="How much was taken, in grams.")
    short_grams: float = Field(
        description="How much more was packed, or went in, than the stock had, in grams; 0: all was there."
    )
    sources: list[TakenFrom] = Field(alias="from", description="The entries it was taken from, in this order.")


class TakenFromStock(ReplyModel):
    """What a lunch, or a dish that was made, took from the stock: what ends first was taken first, from fridge and cupboard before the freezer."""

    foods: list[TakenFood] = Field(description="The foods of the lunch, or in the dish, that the stock has, or had.")
    notes: list[str] = Field(description="What was not there, in sentences of English; empty: all was.")
    note_messages: AsCodes


class LoggedLunchReply(ReplyModel):
    """A lunch just logged; check and screening are null for lunches that are not packed here, or were not changed."""

    lunch: LunchRecord = Field(description="The lunch as it is kept.")  # type: ignore[valid-type]
    check: LunchCheckReply | None = Field(description="The check of a packed lunch; null: none was made.")
    screening: ScreeningReply | None = Field(
        description="The screening of a packed lunch for allergens; null: none was made."
    )
    family_rule: FamilyRule | None = Field(
        description="Whether the lunch kept the family's rule; null: the lunch names no offer."
    )
    stock: TakenFromStock | None = Field(
        description="What it took from the stock; null: nothing of it was ever there, or what was packed is as before."
    )


class SettingsShown(ReplyModel):
    """What a household says of itself."""

    name: str = Field(description="What it is called.")
    retention_months: int = Field(description="Months that lunches are kept; older ones are removed.")
    salts_cooking_water: bool | None = Field(
        description="Whether it salts the water in which it cooks pasta, rice, pulses and vegetables; null: it has not said, "
        "and no salt is counted."
    )
    holding: HoldingConditions | None = Field(
        description="How its lunches are usually kept until they are eaten; null: it has not said."
    )
    regions: list[Region] | None = Field(
        description="Whose guidance on choking, holding and keeping it goes by, where a request names none; of several the stricter "
        "counts; null: that of all."
    )
    keep_in_fridge: list[KeepInFridge] = Field(
        description="What is always to be in the fridge, filled up from the freezer."
    )


class KeyShown(ReplyModel):
    """An access key without its secret."""

    id: str = Field(description="Id of the key, a UUID; DELETE /v1/keys/{key_id} revokes it.")
    name: str = Field(description="Where the key is used, as it was named.")
    rights: Rights = Field(description="What it may do.")
    created_at: str = Field(
        description="When it was made: moment in UTC (RFC 3339).", json_schema_extra={"format": "date-time"}
    )
    ends_at: str | None = Field(
        description="When it ends: moment in UTC (RFC 3339); null: it works until it is revoked.",
        json_schema_extra={"format": "date-time"},
    )
    ended: bool = Field(description="Whether it has ended: it is answered 401 from then on.")
    last_used_at: str | None = Field(
        description="When it was last used, noted once an hour at most: moment in UTC (RFC 3339); null: never.",
        json_schema_extra={"format": "date-time"},
    )
    revoked_at: str | None = Field(
        description="When it was revoked: moment in UTC (RFC 3339); null: it was not.",
        json_schema_extra={"format": "date-time"},
    )


class NewKeyShown(KeyShown):
    """An access key just made."""

    secret: str | None = Field(description="Shown in this answer only; null where the request was repeated.")


class ExportedRecord(ReplyModel):
    """One record of an export."""

    id: str = Field(description="Id of the record, a UUID.")
    version: int = Field(description="Version of the record, counted up from 1 with each edit.")
    created_at: str = Field(
        description="When it was first kept: moment in UTC (RFC 3339).", json_schema_extra={"format": "date-time"}
    )
    updated_at: str = Field(
        description="When it was last edited: moment in UTC (RFC 3339).", json_schema_extra={"format": "date-time"}
    )
    body: dict[str, Any] = Field(description="The fields of the record, as they were sent and kept.")


class HouseholdExport(ReplyModel):
    """Everything a household stores."""

    packed_lunch_export: int = Field(description="Number of this form of export.")
    household: ExportedRecord = Field(description="The household itself.")
    children: list[ExportedRecord] = Field(description="All children that it stores.")
    foods: list[ExportedRecord] = Field(description="All foods that it stores.")
    packets: list[ExportedRecord] = Field(description="All packets that it stores.")
    recipes: list[ExportedRecord] = Field(description="All recipes that it stores.")
    offers: list[ExportedRecord] = Field(description="All offers that it stores.")
    prices: list[ExportedRecord] = Field(description="All prices that it stores.")
    lunches: list[ExportedRecord] = Field(description="All lunches that it stores.")
    school_days: list[ExportedRecord] = Field(description="All school days that it stores.")
    stock: list[ExportedRecord] = Field(description="All entries of its stock.")
    stock_events: list[ExportedRecord] = Field(description="All that happened to them.")
    plans: list[ExportedRecord] = Field(description="All plans that it stores.")


ChildPage = _page("ChildPage", _listed(ChildRecord))
PacketPage = _page("PacketPage", _listed(PacketRecord))
RecipePage = _page("RecipePage", _listed(RecipeRecord))
OfferPage = _page("OfferPage", _listed(OfferRecord))
PricePage = _page("PricePage", _listed(PriceRecord))
LunchPage = _page("LunchPage", _listed(LunchRecord))
SchoolDayPage = _page("SchoolDayPage", _listed(SchoolDayRecord))
ListedStockEntry = _listed(StockEntryRecord)
StockEntryPage = _page("StockEntryPage", ListedStockEntry)
PlanPage = _page("PlanPage", _listed(PlanRecord))
KeyPage = _page("KeyPage", KeyShown)


class StockEventPage(ReplyModel):
    """What happened to an entry of the stock."""

    items: list[StockEventRecord] = Field(description="All of it, oldest first.")  # type: ignore[valid-type]


class StockEventReply(ReplyModel):
    """An entry of the stock after something happened to it."""

    stock: ListedStockEntry = Field(description="The entry as it is now.")  # type: ignore[valid-type]
    moved_to: ListedStockEntry | None = Field(  # type: ignore[valid-type]
        description="Where a part was moved: the entry it is in now; null: nothing was moved, or all of the entry."
    )
    event: StockEventRecord = Field(description="What was kept of it.")  # type: ignore[valid-type]
    used: TakenFromStock | None = Field(
        description="For a dish that was made: what it took from the stock; null: nothing in it was ever there, or it is something else."
    )


class AvoidShown(ReplyModel):
    """An allergen that a child avoids."""

    allergen: str = Field(description="Id of the allergen, see GET /v1/allergens.")
    name: str = Field(description="Name of the allergen, for people.")
    gs1_code: str | None = Field(description="GS1 AllergenTypeCode value; null: GS1 has none.")
    threshold: Threshold = Field(description="From which level on it must not be packed.")


class AvoidsPage(ReplyModel):
    """What a child avoids."""

    items: list[AvoidShown] = Field(description="One for each allergen; what the school bans is not in it.")
    next: None = Field(description="Always null: there is one page.")


class AvoidsTakenOver(AvoidsPage):
    """What a child avoids, now that a list of another program was taken over."""

    removed: list[str] = Field(description="Ids of allergens that are not avoided any more.")
    left_out: list[Said] = Field(description="What of the list was not taken over, and why.")


class Gs1AllergenShown(ReplyModel):
    """What a packet says of one allergen."""

    code: str = Field(description="GS1 AllergenTypeCode.")
    level: Literal["CONTAINS", "MAY_CONTAIN"] = Field(description="GS1 LevelOfContainmentCode; never FREE_FROM.")
    allergen: str = Field(description="Id of the allergen, see GET /v1/allergens.")


class Gs1AllergenPage(ReplyModel):
    """What a packet says of allergens."""

    read_on: str = Field(description="The day it was read, YYYY-MM-DD.", json_schema_extra={"format": "date"})
    items: list[Gs1AllergenShown] = Field(description="Allergens that it names.")
    next: None = Field(description="Always null: there is one page.")
    not_written: list[str] = Field(
        description="Ids of allergens that it names, or may name, and that are not among `items`: GS1 has no code for them, "
        "or the packet has to be read again."
    )
