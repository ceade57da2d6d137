"""What a person asks for, as strict models shared by the HTTP edge and the command line.

Unknown fields are refused, numbers are numbers and finite, text holds no control characters, sizes are
bounded; whatever needs the reference data (names, units, dates) is checked in the jobs.
"""

import re
from collections.abc import Callable, Iterable, Sequence
from datetime import date, datetime
from typing import Annotated, Any, TypeVar

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    Tag,
    ValidationInfo,
    create_model,
    field_validator,
    model_validator,
)
from pydantic_core import CoreSchema, PydanticCustomError, core_schema
from typing_extensions import TypeAliasType

from service.domain.measures import LABEL_MEASURES
from service.jobs.word_lists import Activity, DeclaredLevel, FactsPer, Held, PacketClaim, PacketLevel, Sex, Threshold
from service.reference.foods.components import components
from service.reference.lunch.handling import handling_rules

MOST_ITEMS = 40
MOST_OFFERED = 200
MOST_TEXT = 20_000

ONE_LINE = r"^[^\x00-\x1f\x7f-\x9f]*$"
"""No control characters: names are printed on terminals and labels."""
LINES = r"^[^\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]*$"
UUID_TEXT = r"^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$"
DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")

# The branches of a choice, as they stand in the place of a fault: request_faults.py removes them again.
BY_ID, BY_LABEL, BY_RECIPE, BY_ITEM = "<food id>", "<label food>", "<recipe>", "<item>"
KEPT, IN_FULL = "<kept id>", "<in full>"


def _day(value: object) -> object:
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    if isinstance(value, str) and DAY.fullmatch(value):
        try:
            return date.fromisoformat(value)
        except ValueError:
            pass  # reported below, like any other text that is not a day
    raise PydanticCustomError("no_day", "is not a day of the calendar")


Day = Annotated[date, BeforeValidator(_day)]
"""A day as YYYY-MM-DD and nothing else: no time, no number."""


def is_kept_id(text: object) -> bool:
    """Whether something has the form of the id of a record that a household stores (RFC 9562, lower case)."""
    return isinstance(text, str) and len(text) == 36 and re.match(UUID_TEXT, text) is not None


KeptId = Annotated[str, Field(pattern=UUID_TEXT, description="Id of a stored record, a UUID as it was given.")]

_Thing = TypeVar("_Thing")
KeptOr = Annotated[
    Annotated[KeptId, Tag(KEPT)] | Annotated[_Thing, Tag(IN_FULL)],
    Discriminator(lambda value: KEPT if is_kept_id(value) else IN_FULL),
]
"""A thing in full, or the id of one that the household stores: ``KeptOr[Child]``."""


def needs_standard(standard: str | None, info: ValidationInfo) -> str | None:
    """A request may leave its standard out only where it names a stored child, which has one."""
    if standard is None and not is_kept_id(info.data.get("child")):
        raise PydanticCustomError("missing", "Field required")
    return standard


def _whole(value: object) -> object:
    return int(value) if isinstance(value, float) and value.is_integer() else value


WHOLE = BeforeValidator(_whole)
"""For whole numbers: in JSON 3.0 is one too."""

Name = Annotated[str, Field(min_length=1, max_length=120, pattern=ONE_LINE)]
ShortName = Annotated[str, Field(min_length=1, max_length=60, pattern=ONE_LINE)]
Nickname = Annotated[str, Field(min_length=1, max_length=40, pattern=ONE_LINE)]
Text = Annotated[str, Field(max_length=MOST_TEXT, pattern=LINES)]
Amount = Annotated[float, Field(gt=0, le=10_000)]
Figure = Annotated[float, Field(ge=0, le=100_000)]


def _gtin(value: str) -> str:
    from biip import EncodeError, ParseError
    from biip.gtin import Gtin as BarCode

    try:
        return BarCode.parse("".join(value.split())).value
    except (ParseError, EncodeError) as fault:
        raise PydanticCustomError("no_gtin", "is not a GTIN") from fault


Gtin = Annotated[
    str,
    Field(max_length=20, pattern=r"^ *([0-9] *){8}(([0-9] *){4,6})?$", examples=["4006381333931"]),
    AfterValidator(_gtin),
]
"""A Global Trade Item Number of 8, 12, 13 or 14 digits with a right check digit. Source: GS1 General Specifications."""


class Listed:
    """Marks a text that must be one of the names in reference_data, which are read with the first such text."""

    def __init__(self, known: Callable[[], Iterable[str]]) -> None:
        self._known = known

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_after_validator_function(self._check, handler(source))

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {**handler(schema), "enum": list(self._known())}

    def _check(self, name: str) -> str:
        known = list(self._known())
        if name not in known:
            raise PydanticCustomError("not_listed", "is not listed", {"expected": ", ".join(known)})
        return name


def every_region() -> tuple[str, ...]:
    """The regions whose handling guidance there is."""
    return handling_rules().regions


Region = TypeAliasType(
    "Region",
    Annotated[str, Field(description="Whose handling guidance. Open: more may be added."), Listed(every_region)],
)
Component = TypeAliasType(
    "Component",
    Annotated[str, Field(description="A food group that is credited. Open: more may be added."), Listed(components)],
)
Form = TypeAliasType(
    "Form",
    Annotated[
        str,
        Field(description="How a food is cut or prepared. Open: more may be added."),
        Listed(lambda: handling_rules().forms),
    ],
)


class Asked(BaseModel):
    """What every request model has in common."""

    model_config = ConfigDict(
        extra="forbid", strict=True, allow_inf_nan=False, str_strip_whitespace=True, defer_build=True
    )


def conflict(problem: str, remedy: str) -> PydanticCustomError:
    """A fault of several fields together."""
    return PydanticCustomError("together", "{problem}", {"problem": problem, "remedy": remedy})


def _one_of_two(one: object, one_name: str, other: object, other_name: str) -> None:
    """Raise unless exactly one of two fields is given."""
    if one is None and other is None:
        raise conflict(f"has neither {one_name} nor {other_name}", "Give one of the two.")
    if one is not None and other is not None:
        raise conflict(f"has both {one_name} and {other_name}", "Give one of the two.")


class AvoidedAllergen(Asked):
    """An allergen to keep away from, and from which level on it must not be packed."""

    allergen: Name = Field(description="Allergen id or plain name, e.g. peanut, tree_nut, milk; see GET /v1/allergens.")
    threshold: Threshold = Field(
        "may_contain", description="may_contain: precautionary statements count too; contains: only what it contains."
    )


class Child(Asked):
    """Who the lunch is for. Give age_months, age_years or age_group; nothing else is needed."""

    nickname: Annotated[str, Field(max_length=40, pattern=ONE_LINE)] | None = Field(
        None, description="Only repeated in the reply, to tell children apart; never logged."
    )
    age_years: Annotated[float, Field(ge=0, lt=19)] | None = Field(None, description="Age in years, e.g. 7 or 7.5.")
    age_months: Annotated[int, Field(ge=0, lt=228), WHOLE] | None = Field(None, description="Age in months.")
    age_group: Name | None = Field(None, description="Age group id of the standard, to override the one by age.")
    avoids: Annotated[list[AvoidedAllergen], Field(max_length=50)] = Field(
        default_factory=list, description="What must be kept away from the child."
    )
    sex: Sex | None = Field(None, description="Only for the energy need, with height and weight.")
    height_cm: Annotated[float, Field(ge=40, le=220)] | None = Field(
        None, description="Height in cm; only for the energy need."
    )
    weight_kg: Annotated[float, Field(ge=2, le=200)] | None = Field(
        None, description="Weight in kg; only for the energy need."
    )
    activity: Activity | None = Field(None, description="How active the child is; only for the energy need.")

    @model_validator(mode="after")
    def _one_age(self) -> "Child":
        if self.age_years is not None and self.age_months is not None:
            raise conflict("has both age_years and age_months", "Give one of the two.")
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


class Serving(Asked):
    """The serving a label speaks of. Weight in grams; a volume for what is poured."""

    name: ShortName = Field("serving", description="e.g. 2 slices")
    grams: Annotated[float, Field(gt=0, le=3000)] | None = Field(None, description="Weight of one serving, in grams.")
    ml: Annotated[float, Field(gt=0, le=3000)] | None = Field(None, description="Volume of one serving, in ml.")

    @model_validator(mode="after")
    def _one_size(self) -> "Serving":
        _one_of_two(self.grams, "grams", self.ml, "ml")
        return self


_FIGURES: dict[str, Any] = {
    measure.id: (
        Figure | None,
        Field(
            None,
            description=f"{measure.label[0].upper()}{measure.label[1:]} in {measure.unit}, as printed; left out: not known.",
        ),
    )
    for measure in LABEL_MEASURES
}
_Figures: Any = create_model("_Figures", __base__=Asked, **_FIGURES)


class NutritionFacts(_Figures):  # one field for each measure that a label may print
    """Figures as printed; a figure left out is unknown, not zero."""


class DeclaredAllergen(Asked):
    """One allergen as somebody who read the label declares it."""

    allergen: Name = Field(description="Allergen id or plain name, see GET /v1/allergens.")
    level: DeclaredLevel = Field(description="What the label says of it.")


class PacketTick(Asked):
    """One allergen, and what a packet says of it."""

    allergen: Name = Field(description="Allergen id or plain name, see GET /v1/allergens.")
    level: PacketLevel = Field(description="What the packet says of it.")


Claims = Annotated[list[PacketClaim], Field(max_length=2)]
CLAIMS: Any = Field(default_factory=list, description="What is claimed on the packet.")
MOST_PACKETS = 1_000
LONGEST_HELD = 366
"""Days."""


class Packet(Asked):
    """What somebody read on the packet of a food, and on which day: used wherever that food is, in dishes too.

    What it names is taken over; what its list of ingredients does not name is not declared. It never clears what a food
    contains by its nature.
    """

    food: Name = Field(description="The food it stands for: its id, see GET /v1/foods; or the id of a stored own food.")
    read_on: Day = Field(description="The day it was read, YYYY-MM-DD.")
    holds_for_days: Annotated[int, Field(ge=0, le=LONGEST_HELD), WHOLE] = Field(
        90,
        description="For how many days after read_on it holds; 0: for this packet only, on the day it was read.",
    )
    gtin: Gtin | None = Field(None, description="The number under its bar code; left out: not known.")
    ingredients: Text | None = Field(None, description="The ingredient statement, as printed; left out: not read.")
    contains: Text | None = Field(None, description="The allergen statement, as printed; left out: none, or not read.")
    may_contain: Text | None = Field(
        None, description="The precautionary statement, as printed; empty: none is printed; left out: not read."
    )
    allergens: Annotated[list[PacketTick], Field(max_length=60)] = Field(
        default_factory=list, description="Allergens looked for on the packet, each with what it says."
    )
    claims: Claims = CLAIMS
    facts: NutritionFacts | None = Field(
        None, description="The figures as printed: used instead of the table's; those left out stay the table's."
    )
    facts_per: FactsPer = Field("100g", description="What the figures hold for.")
    facts_rounded: bool = Field(
        True,
        description="The facts are rounded as on a US label: each stands for an interval. False: exact figures.",
    )
    serving: Serving | None = Field(
        None, description="The serving that the figures hold for; only for facts_per serving."
    )

    @model_validator(mode="after")
    def _says_something(self) -> "Packet":
        figures = self.facts is not None and self.facts != NutritionFacts()
        if not (self.ingredients or self.contains or self.may_contain or self.allergens or self.claims or figures):
            raise conflict("says nothing", "Give its ingredients, contains, may_contain, allergens, claims, or facts.")
        if (self.facts_per == "serving") != (self.serving is not None):
            raise conflict("has a serving or facts_per serving alone", "Give both, or neither for figures per 100 g.")
        return self


PACKETS: Any = Field(
    default_factory=list,
    max_length=MOST_PACKETS,
    description="Packets that were read: of each food the newest that holds on the day is used, in dishes too. With a "
    "household's key its stored packets are used beside these.",
)


SALTS_COOKING_WATER: Any = Field(
    None,
    description="Whether the water in which pasta, rice, pulses and vegetables are cooked is salted: a food of the tables that "
    "is known both ways is then taken with salt, in dishes too. Left out: as the household has stored it, otherwise not salted.",
)


class LabelCredit(Asked):
    """US school-meal credit of one serving: give exactly one way of knowing it."""

    component: Component = Field(description="Food-group component of the US school meal pattern.")
    per_serving: Annotated[float, Field(gt=0, le=50)] | None = Field(
        None, description="Cups or ounce equivalents in a serving, before rounding."
    )
    grams_per_unit: Annotated[float, Field(gt=0, le=2000)] | None = Field(
        None, description="Grams of the food that make one cup or ounce equivalent."
    )
    grain_group: Annotated[str, Field(pattern="^[A-I]$")] | None = Field(
        None, description="Grain group of Exhibit A; its grams per ounce equivalent are used."
    )
    creditable_grain_g: Annotated[float, Field(gt=0, le=2000)] | None = Field(
        None, description="Grams of creditable grain in a serving; 16 g make one ounce equivalent."
    )

    @model_validator(mode="after")
    def _one_way(self) -> "LabelCredit":
        ways = (self.per_serving, self.grams_per_unit, self.grain_group, self.creditable_grain_g)
        if sum(way is not None for way in ways) != 1:
            raise conflict(
                f"gives {sum(way is not None for way in ways)} ways of knowing the credit",
                "Give exactly one of per_serving, grams_per_unit, grain_group, creditable_grain_g.",
            )
        return self


KeptAs = Annotated[str, Field(pattern=UUID_TEXT)] | None
"""The id under which a food or recipe is kept: filled in where it was named by that id, so that answers carry it."""


class LabelFood(Asked):
    """A food as its label gives it."""

    id: KeptAs = Field(None, exclude=True, description="Filled in for a food that is kept; otherwise left out.")
    name: Name = Field(description="Its name, one line of plain text.")
    serving: Serving = Field(description="The serving that the label speaks of.")
    facts: NutritionFacts = Field(
        default_factory=NutritionFacts, description="The figures as printed; left out: none is known."
    )
    facts_per: FactsPer = Field("serving", description="What the figures hold for.")
    facts_rounded: bool = Field(
        True,
        description="The facts are rounded as on a US label: each stands for an interval. False: exact figures.",
    )
    ingredients: Text | None = Field(None, description="The ingredient statement, as printed.")
    contains: Text | None = Field(None, description="The allergen statement, as printed.")
    may_contain: Text | None = Field(None, description="The precautionary statement, as printed.")
    allergens: Annotated[list[DeclaredAllergen], Field(max_length=60)] = Field(
        default_factory=list, description="Allergens as somebody who read the label declares them."
    )
    claims: Claims = CLAIMS
    credits: Annotated[list[LabelCredit], Field(max_length=6)] | None = Field(
        None, description="US school-meal credits; left out: not known; an empty list: it does not credit."
    )
    counts_as: Annotated[str, Field(max_length=60)] = Field(
        "",
        description="Instead of `credits`: the id of a lunch food that it is like, weight for weight; a kind, such as "
        "bread, crackers, cheese, yogurt, meat, muffins; or the word nothing, for a food that counts as nothing.",
    )
    product_kind: Annotated[str, Field(max_length=40)] = Field(
        "", description="e.g. yogurt, breakfast_cereal, flavoured_milk, milk_1_percent: for limits on single products."
    )
    perishable: bool | None = Field(None, description="Needs cold or hot holding; left out: treated as if it did.")
    choking_rule: Annotated[str, Field(max_length=60)] = Field(
        "",
        description="Id of a choking rule that fits its pieces, see GET /v1/choking-rules; none where no rule speaks "
        "of them; left out: not known.",
    )

    @model_validator(mode="after")
    def _credits_once(self) -> "LabelFood":
        if self.counts_as and self.credits is not None:
            raise conflict("has both credits and counts_as", "Give one of the two.")
        return self


def _ingredient_tag(value: object) -> str | None:
    if isinstance(value, str):
        return BY_ID
    return BY_LABEL if isinstance(value, LabelFood | dict) else None


class RecipeIngredient(Asked):
    """One food of a recipe and its grams as put in."""

    food: Annotated[
        Annotated[Name, Tag(BY_ID)] | Annotated[LabelFood, Tag(BY_LABEL)],
        Discriminator(_ingredient_tag, custom_error_type="no_ingredient", custom_error_message="is not a food"),
    ]
    grams: Annotated[float, Field(gt=0, le=50_000)] = Field(description="Weight in the whole dish, in grams.")
    credit_as: Name | None = Field(None, description="For foods that credit in two ways: which.")
    form: Form | None = Field(None, description="How it is cut in the dish; matters for small children.")


class Recipe(Asked):
    """A dish from foods and grams; its figures are computed."""

    id: KeptAs = Field(None, exclude=True, description="Filled in for a recipe that is kept; otherwise left out.")
    name: Name = Field(description="Its name, one line of plain text.")
    ingredients: Annotated[list[RecipeIngredient], Field(min_length=1, max_length=60)] = Field(
        description="The foods of the dish."
    )
    weight_change_percent: Annotated[float, Field(gt=-100, le=400)] = Field(
        0.0, description="Gain or loss of weight by water in cooking, percent of the raw weight."
    )
    portions: Annotated[float, Field(gt=0, le=1000)] = Field(1.0, description="How many portions the yield makes.")
    perishable: bool | None = Field(None, description="Needs cold or hot holding; left out: treated as if it did.")
    choking_rule: Annotated[str, Field(max_length=60)] = Field(
        "", description="Id of a choking rule that fits its pieces, see GET /v1/choking-rules; left out: not known."
    )


def _food_tag(value: object) -> str | None:
    if type(value) is str:  # nearly all of them, and asking a model class whether it is one of its own is slow
        return BY_ID
    if isinstance(value, Recipe) or (isinstance(value, dict) and isinstance(value.get("ingredients"), list)):
        return BY_RECIPE
    return _ingredient_tag(value)


AnyFood = Annotated[
    Annotated[Name, Tag(BY_ID)] | Annotated[LabelFood, Tag(BY_LABEL)] | Annotated[Recipe, Tag(BY_RECIPE)],
    Discriminator(_food_tag, custom_error_type="no_food", custom_error_message="is not a food"),
]


OwnFood = Annotated[Annotated[LabelFood, Tag(BY_LABEL)] | Annotated[Recipe, Tag(BY_RECIPE)], Discriminator(_food_tag)]


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

    _known_standard = field_validator("standard")(needs_standard)


class LunchCheckRequest(LunchCheckWithIds):
    """One lunch of one child against one standard on one day."""

    child: Child = Field(description="Id of the child.")
    standard: Name = Field(description="Standard id, see GET /v1/standards.")
    lunch: Lunch = Field(description="The lunch.")


ScreenedLunch = Annotated[list[LunchItem], Field(min_length=1, max_length=MOST_ITEMS)]


class ScreenedItemWithIds(Asked):
    """A thing to screen: a food, or a named lunch of several; each may be the id of a kept one."""

    id: ShortName | None = Field(None, description="Your own name for the thing; answers that speak of it carry it.")
    name: Name | None = Field(None, description="Its name, one line of plain text.")
    food: AnyFood | None = Field(
        None, description="A food: its id, see GET /v1/foods; or in full from its label, or as a recipe."
    )
    lunch: KeptOr[ScreenedLunch] | None = Field(None, description="The lunch.")

    @model_validator(mode="after")
    def _one_thing(self) -> "ScreenedItemWithIds":
        _one_of_two(self.food, "food", self.lunch, "lunch")
        return self


class ScreenedItem(ScreenedItemWithIds):
    """A thing to screen: a food, or a named lunch of several."""

    lunch: ScreenedLunch | None = Field(None, description="The lunch.")


class ScreenedChild(Asked):
    """A child of a screening: a nickname and what to avoid."""

    nickname: Nickname = Field(description="To tell children apart; never logged.")
    avoids: Annotated[list[AvoidedAllergen], Field(max_length=50)] = Field(
        default_factory=list, description="What must be kept away from the child."
    )


class ScreeningWithIds(Asked):
    """Many children against many items or lunches; each may be the id of a kept one."""

    children: Annotated[Sequence[KeptOr[ScreenedChild]], Field(min_length=1, max_length=200)] = Field(
        description="The children."
    )
    items: Annotated[Sequence[ScreenedItemWithIds], Field(min_length=1, max_length=500)] = Field(
        description="The foods to screen."
    )
    setting: Setting = Field(default_factory=Setting, description="What the classroom or school bans.")
    on: Day | None = Field(
        None, description="The day it is eaten: which packets hold follows from it; left out: today."
    )
    packets: list[Packet] = PACKETS


class ScreeningRequest(ScreeningWithIds):
    """Many children against many items or lunches."""

    children: Annotated[list[ScreenedChild], Field(min_length=1, max_length=200)] = Field(description="The children.")
    items: Annotated[list[ScreenedItem], Field(min_length=1, max_length=500)] = Field(
        description="The foods to screen."
    )
