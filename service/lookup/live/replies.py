"""What FoodData Central answers, and a branded food made of it.

Source: https://fdc.nal.usda.gov/api-spec/fdc_api.html (version 1): ``/v1/foods/search`` and ``/v1/food/{fdcId}`` name the same
things differently, and write days differently.
"""

from datetime import date, datetime
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, TypeAdapter, ValidationError
from requests import Response

from service.domain.foods.branded import Basis, BrandedFood, BrandedValue, ServingUnit, judged
from service.domain.messages import Message, message
from service.lookup.branded.codes import MOST_DIGITS, code_notes
from service.lookup.branded.nutrients import amounts_by_measure, fdc_nutrients, limits, unit_of
from service.lookup.branded.versions import basis_of

BASES: dict[str | None, tuple[ServingUnit, Basis]] = {"g": ("g", "100 g"), "ml": ("ml", "100 ml")}
"""The unit of a serving, and what values are for, by what ``basis_of`` says of an entry's unit."""
DAYS = ("%Y-%m-%d", "%m/%d/%Y")


def _day(given: Any) -> date | None:
    for form in DAYS:
        try:
            return datetime.strptime(str(given)[:10], form).date()  # noqa: DTZ007 - a day has no zone
        except ValueError:
            continue
    return None


def _text(given: Any) -> str:
    return "" if given is None else str(given)


def _unit(given: Any) -> str:
    """A unit as the dataset writes it: the search says UG where an entry says µg, with either sign for micro."""
    return _text(given).replace("\u00b5", "u").replace("\u03bc", "u").upper()


def _list(given: Any) -> Any:
    return [] if given is None else given


Day = Annotated[date | None, BeforeValidator(_day)]
Text = Annotated[str, BeforeValidator(_text)]
Unit = Annotated[str, BeforeValidator(_unit)]


class _Answered(BaseModel):
    model_config = ConfigDict(extra="ignore", allow_inf_nan=False)


class NutrientNamed(_Answered):
    """Which nutrient a value is of."""

    id: int | None = None
    number: Text = ""
    unit: Unit = Field("", alias="unitName")


class NutrientGiven(_Answered):
    """A value of an entry, in the words of either address; a value may come without saying of which nutrient it is."""

    nutrient: NutrientNamed | None = None
    id: int | None = Field(None, alias="nutrientId")
    number: Text = Field("", alias="nutrientNumber")
    unit: Unit = Field("", alias="unitName")
    amount: float | None = None
    value: float | None = None


class Version(_Answered):
    """One version of the entry of a code."""

    fdc_id: int = Field(alias="fdcId")
    description: Text = ""
    gtin_upc: Text = Field("", alias="gtinUpc")
    brand_owner: Text = Field("", alias="brandOwner")
    brand_name: Text = Field("", alias="brandName")
    branded_category: Text = Field("", alias="brandedFoodCategory")
    category: Any = Field(None, alias="foodCategory")
    ingredients: str | None = None
    serving_size: float | None = Field(None, alias="servingSize")
    serving_size_unit: Text = Field("", alias="servingSizeUnit")
    household_serving: Text = Field("", alias="householdServingFullText")
    modified: Day = Field(None, alias="modifiedDate")
    available: Day = Field(None, alias="availableDate")
    publication: Day = Field(None, alias="publicationDate")
    published: Day = Field(None, alias="publishedDate")
    market: Text = Field("", alias="marketCountry")
    discontinued: Day = Field(None, alias="discontinuedDate")
    nutrients: Annotated[list[NutrientGiven], BeforeValidator(_list)] = Field(
        default_factory=list, alias="foodNutrients"
    )

    def code(self) -> int | None:
        """The code as a whole number; None where there is none."""
        digits = self.gtin_upc.strip()
        ok = digits.isascii() and digits.isdecimal() and len(digits) <= MOST_DIGITS
        return int(digits) or None if ok else None

    def changed(self) -> date | None:
        """When it was last changed: modified, else available, else published."""
        return self.modified or self.available or self.publication or self.published

    def newest(self) -> tuple[date, int]:
        """What versions of one code are ordered by, as in the index: modified, else available; then their id."""
        return (self.modified or self.available or date.min, self.fdc_id)

    def basis(self) -> tuple[ServingUnit | None, Basis | None]:
        """The unit of its serving, and what its values are for; None where it does not say."""
        return BASES.get(basis_of(self.serving_size_unit), (None, None))

    def amounts(self) -> dict[int, float]:
        """The amounts by the id of the nutrient. One without a nutrient, or in a unit that it does not have, is unknown."""
        return dict(one for one in map(_amount, self.nutrients) if one is not None)


class Found(_Answered):
    """What a search answers."""

    foods: list[Version]


_FOUND, _VERSION = TypeAdapter(Found), TypeAdapter(Version)


def found_in(response: Response) -> Found | None:
    """The answer of a search; None for what has another shape, as the page of a hotel's network has."""
    try:
        return _FOUND.validate_json(response.content)
    except ValidationError:
        return None


def version_in(response: Response) -> Version | None:
    """The answer for one entry; None for what has another shape."""
    try:
        return _VERSION.validate_json(response.content)
    except ValidationError:
        return None


def _amount(given: NutrientGiven) -> tuple[int, float] | None:
    named = given.nutrient or NutrientNamed(id=given.id, number=given.number, unitName=given.unit)
    amount = given.value if given.amount is None else given.amount
    if amount is None:
        return None
    for one in fdc_nutrients():
        same = named.id == one.id if named.id is not None else named.number == one.number
        if same and named.unit == one.unit:
            return one.id, amount
    return None


def food_of(version: Version, read: date, values_from: Version | None = None) -> BrandedFood:
    """The food of an entry, read on a day. ``values_from``: another version whose values are taken, where this has none."""
    unit, _basis = version.basis()
    code = version.code()
    valued = values_from or version
    values, notes = _values(valued)
    food = BrandedFood(
        gtin="" if code is None else f"{code:0{MOST_DIGITS}}",
        fdc_id=version.fdc_id,
        description=version.description,
        brand_owner=version.brand_owner,
        brand_name=version.brand_name,
        category=version.branded_category or (version.category if isinstance(version.category, str) else ""),
        serving_amount=version.serving_size if unit is not None else None,
        serving_unit=unit,
        household_serving=version.household_serving,
        ingredients=version.ingredients,
        modified=version.modified,
        available=version.available,
        published=version.publication or version.published,
        market=version.market,
        discontinued=version.discontinued,
        values=values,
        values_fdc_id=valued.fdc_id if values else None,
        source="live",
        read=read,
        notes=(*(code_notes(code) if code is not None else ()), *notes),
    )
    return judged(food, limits())


def _values(version: Version) -> tuple[tuple[BrandedValue, ...], tuple[Message, ...]]:
    """All values of an entry for 100 g or 100 ml. What it does not give, and all where it does not say of how much, is unknown."""
    if not version.nutrients:
        return (), ()
    amounts = version.amounts()
    notes: tuple[Message, ...] = ()
    _serving, basis = version.basis()
    if basis is None:
        amounts, notes = {}, (message("branded-note.no-basis"),)
    on = version.changed()
    return (
        tuple(
            BrandedValue(measure, amount, unit_of(measure), basis or "100 g", version.fdc_id, on)
            for measure, amount in amounts_by_measure(amounts).items()
        ),
        notes,
    )
