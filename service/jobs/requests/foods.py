"""Foods as a person sends them: from a label, a dish from its ingredients, and what was read on a packet."""

from typing import Annotated, Any, Literal

from pydantic import (
    Discriminator,
    Field,
    Tag,
    create_model,
    model_validator,
)

from service.domain.measures import LABEL_MEASURES
from service.domain.messages import message
from service.jobs.requests.fields import (
    BY_ID,
    BY_LABEL,
    BY_RECIPE,
    GRAIN_GROUP,
    UUID_TEXT,
    WHOLE,
    Asked,
    Component,
    Day,
    Figure,
    Form,
    Gs1Code,
    Gtin,
    Name,
    ShortName,
    Text,
    conflict,
    one_of_two,
)
from service.jobs.word_lists import DeclaredLevel, FactsPer, Gs1Level, PacketClaim, PacketLevel
from service.reference.allergens.vocabulary import vocabulary
from service.reference.foods.label_units import label_units


class Serving(Asked):
    """The serving a label speaks of. Weight in grams; a volume for what is poured."""

    name: ShortName = Field("serving", description="e.g. 2 slices")
    grams: Annotated[float, Field(gt=0, le=3000)] | None = Field(None, description="Weight of one serving, in grams.")
    ml: Annotated[float, Field(gt=0, le=3000)] | None = Field(None, description="Volume of one serving, in ml.")

    @model_validator(mode="after")
    def _one_size(self) -> "Serving":
        one_of_two(self.grams, "grams", self.ml, "ml")
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


UNITS_APART = 0.1
"""How far a figure may be off the same in another unit beside it, as a share: rounding (a limit of ours)."""
ROUNDED_BY = {"sodium_mg": 20.0, "energy_kcal": 3.0}
"""And by how much more, since salt is printed to a tenth of a gram (a limit of ours)."""


Salt = Annotated[float, Field(ge=0, le=250)]
"""In grams; no more than what ``sodium_mg`` takes once it is turned into sodium (a limit of ours)."""


class NutritionFacts(_Figures):  # one field for each measure that a label may print
    """Figures as printed; a figure left out is unknown, not zero."""

    salt_g: Salt | None = Field(
        None,
        exclude=True,
        description="Salt in g, where the label prints it in the place of sodium: kept as `sodium_mg`.",
    )
    energy_kj: Figure | None = Field(
        None, exclude=True, description="Energy in kJ, where the label prints no kcal: kept as `energy_kcal`."
    )

    @model_validator(mode="after")
    def _in_our_units(self) -> "NutritionFacts":
        units = label_units()
        self._turn("salt_g", "g", "sodium_mg", units.salt.sodium_mg_per_g, "mg")
        self._turn("energy_kj", "kJ", "energy_kcal", 1 / units.kilojoules.per_kcal, "kcal")
        return self

    def _turn(self, printed: str, unit: str, measure: str, factor: float, ours: str) -> None:
        """Put a figure in another unit in the place of ours; where both are given they have to agree."""
        amount = getattr(self, printed)
        if amount is None:
            return
        meant, given = round(amount * factor, 1), getattr(self, measure)
        if given is None:
            setattr(self, measure, meant)
        elif abs(given - meant) > UNITS_APART * max(given, meant) + ROUNDED_BY[measure]:
            raise conflict(
                message("fault.units-disagree", amount=amount, unit=unit, expected=f"{meant:g} {ours}"),
                (measure,),
                given,
            )
        setattr(self, printed, None)


class DeclaredAllergen(Asked):
    """One allergen as somebody who read the label declares it."""

    allergen: Name = Field(description="Allergen id or plain name, see GET /v1/allergens.")
    level: DeclaredLevel = Field(description="What the label says of it.")


class PacketTick(Asked):
    """One allergen, and what a packet says of it."""

    allergen: Name = Field(description="Allergen id or plain name, see GET /v1/allergens.")
    level: PacketLevel = Field(description="What the packet says of it.")


class Gs1Allergen(Asked):
    """One allergen by its GS1 code, as records of products have it."""

    code: Gs1Code = Field(description="GS1 AllergenTypeCode, e.g. AM; those of GET /v1/allergens.")
    level: Gs1Level = Field(description="FREE_FROM is taken as not_named: a record is no promise.")


LEVEL_OF_GS1: dict[str, Literal["contains", "may_contain", "not_named"]] = {
    "CONTAINS": "contains",
    "MAY_CONTAIN": "may_contain",
    "FREE_FROM": "not_named",
}

Claims = Annotated[list[PacketClaim], Field(max_length=2)]
LabelLaw = Annotated[str, Field(min_length=1, max_length=20, examples=["EU"])]
LABEL_LAW: Any = Field(
    None,
    description="Whose law the label follows (US, EU, GB, CA, AU, NZ, JP), see GET /v1/allergens: what it must name, a word "
    "such as spices does not stand for. Left out: not known; of what a household stores, the law of its region where it has chosen one.",
)

CLAIMS: Any = Field(default_factory=list, description="What is claimed on the packet.")
MOST_PACKETS = 1_000
MOST_INGREDIENTS = 60
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
    gs1_allergens: Annotated[list[Gs1Allergen], Field(max_length=60)] = Field(
        default_factory=list,
        exclude=True,
        description="Allergens by GS1 code, from a record of the product; added to `allergens`, and kept there.",
    )
    label_law: LabelLaw | None = LABEL_LAW
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
        if self.gs1_allergens:
            ids = ((vocabulary().by_gs1[one.code], LEVEL_OF_GS1[one.level]) for one in self.gs1_allergens)
            self.allergens = [*self.allergens, *(PacketTick(allergen=id_, level=level) for id_, level in ids)]
            self.gs1_allergens = []
        words = self.allergens or self.ingredients or self.contains or self.may_contain or self.claims
        if not words and (self.facts is None or self.facts == NutritionFacts()):
            raise conflict(message("fault.packet-says-nothing"))
        if (self.facts_per == "serving") != (self.serving is not None):
            raise conflict(message("fault.serving-alone"))
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
    grain_group: Annotated[str, Field(pattern=GRAIN_GROUP)] | None = Field(
        None, description="Grain group of Exhibit A; its grams per ounce equivalent are used."
    )
    creditable_grain_g: Annotated[float, Field(gt=0, le=2000)] | None = Field(
        None, description="Grams of creditable grain in a serving; 16 g make one ounce equivalent."
    )

    @model_validator(mode="after")
    def _one_way(self) -> "LabelCredit":
        ways = (self.per_serving, self.grams_per_unit, self.grain_group, self.creditable_grain_g)
        if sum(way is not None for way in ways) != 1:
            raise conflict(message("fault.ways-of-credit", ways=sum(way is not None for way in ways)))
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
    label_law: LabelLaw | None = LABEL_LAW
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
            raise conflict(message("fault.both-of-two", one="credits", other="counts_as"))
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
    ingredients: Annotated[list[RecipeIngredient], Field(min_length=1, max_length=MOST_INGREDIENTS)] = Field(
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


def food_key(food: str | LabelFood | Recipe) -> str:
    """What tells a food from others: its id, or the name of one sent along."""
    return food if isinstance(food, str) else food.name
