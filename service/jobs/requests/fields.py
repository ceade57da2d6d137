"""The fields and rules that requests share: days, names, amounts, words of the reference data, what a strict model refuses.

Unknown fields are refused, numbers are numbers and finite, text holds no control characters, sizes are
bounded; whatever needs the reference data (names, units, dates) is checked in the jobs.
"""

import re
from collections.abc import Callable, Collection
from datetime import date, datetime
from functools import lru_cache
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
)
from pydantic_core import CoreSchema, PydanticCustomError, core_schema
from typing_extensions import TypeAliasType

from service.domain.messages import Message, message
from service.reference.allergens.vocabulary import vocabulary
from service.reference.foods.components import components
from service.reference.lunch.handling import handling_rules, storage_classes
from service.reference.messages import say

MOST_ITEMS = 40
MOST_OFFERED = 200
MOST_TEXT = 20_000
FIRST_DAY, LAST_DAY = date(100, 1, 1), date(9899, 12, 31)
"""A century is left at each end of the calendar, for the days before and after one that are counted."""

CURRENCY_CODE = "^[A-Z]{3}$"
COUNTRY_CODE = "^[A-Z]{2}$"
BAR_CODE = r"^ *([0-9] *){8}(([0-9] *){4,6})?$"
ONE_LINE = r"^[^\x00-\x1f\x7f-\x9f]*$"
"""No control characters: names are printed on terminals and labels."""
LINES = r"^[^\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]*$"
TIME_OF_DAY = r"^([01][0-9]|2[0-3]):[0-5][0-9]$"
UUID_TEXT = r"^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$"
ISO_WEEK = r"^20[0-9]{2}-W(0[1-9]|[1-4][0-9]|5[0-3])$"
GRAIN_GROUP = "^[A-I]$"
WEB_ADDRESS = r"^https?://[^\s<>\"]+$"
MOST_IDS = 200
_ONE_ID = UUID_TEXT.strip("^$")
FOOD_IDS = rf"^[0-9A-Za-z-]+(,[0-9A-Za-z-]+){{0,{MOST_IDS - 1}}}$"
STORED_IDS = rf"^{_ONE_ID}(,{_ONE_ID}){{0,{MOST_IDS - 1}}}$"

# The branches of a choice, as they stand in the place of a fault: request_faults.py removes them again.
BY_ID, BY_LABEL, BY_RECIPE, BY_ITEM = "<food id>", "<label food>", "<recipe>", "<item>"
KEPT, IN_FULL = "<kept id>", "<in full>"
AS_ALLERGY, AS_BUNDLE, AS_OTHER = "<AllergyIntolerance>", "<Bundle>", "<another resource>"


@lru_cache(maxsize=1024)
def day_in(text: str) -> date | None:
    """The day that a text YYYY-MM-DD names; None for any other text. Remembered: few days come again and again.

    Nor for a day so near to an end of the calendar that there may be none so many days before or after it.

    >>> day_in("2026-12-01"), day_in("20261201"), day_in("2026-W49-2"), day_in("0001-01-01")
    (datetime.date(2026, 12, 1), None, None, None)
    """
    # Without a look at the dashes other ways of writing a day would be read too.
    if len(text) != 10 or not text[4] == text[7] == "-":
        return None
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return None
    return day if FIRST_DAY <= day <= LAST_DAY else None


def _day(value: object) -> object:
    day = day_in(value) if isinstance(value, str) else value
    if isinstance(day, date) and not isinstance(day, datetime) and FIRST_DAY <= day <= LAST_DAY:
        return day
    raise PydanticCustomError("no_day", "is not a day of the calendar")


Day = Annotated[date, BeforeValidator(_day)]
"""A day as YYYY-MM-DD and nothing else: no time, no number. From 0100 to 9899."""


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
    Field(max_length=20, pattern=BAR_CODE, examples=["4006381333931"]),
    AfterValidator(_gtin),
]
"""A Global Trade Item Number of 8, 12, 13 or 14 digits with a right check digit. Source: GS1 General Specifications."""


class Listed:
    """Marks a text that must be one of the names in reference_data, which are read with the first such text."""

    def __init__(self, known: Callable[[], Collection[str]]) -> None:
        self._known = known

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_after_validator_function(self._check, handler(source))

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {**handler(schema), "enum": list(self._known())}

    def _check(self, name: str) -> str:
        if name not in self._known():
            raise PydanticCustomError("not_listed", "is not listed", {"expected": ", ".join(self._known())})
        return name


class ListedGs1(Listed):
    """Marks a text that must be a GS1 AllergenTypeCode of the vocabulary; of one that mixes allergens, those to give instead are named."""

    def __init__(self) -> None:
        super().__init__(lambda: sorted(vocabulary().by_gs1))

    def _check(self, name: str) -> str:
        words = vocabulary()
        if name in words.by_gs1:
            return name
        if name in words.mixed_gs1:
            raise PydanticCustomError("mixed_gs1_code", "mixes allergens", {"codes": ", ".join(words.mixed_gs1[name])})
        raise PydanticCustomError("no_gs1_code", "is not known", {"expected": ", ".join(sorted(words.by_gs1))})


Gs1Code = Annotated[str, Field(min_length=1, max_length=10), ListedGs1()]


def every_region() -> tuple[str, ...]:
    """The regions whose handling guidance there is."""
    return handling_rules().regions


Region = TypeAliasType(
    "Region",
    Annotated[str, Field(description="Whose handling guidance. Open: more may be added."), Listed(every_region)],
)
StorageClassId = Annotated[str, Field(max_length=60), Listed(storage_classes)]
"""The id of a class of foods that keep alike."""
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


AT, VALUE_AT = "<at>", "<value at>"
"""Where in a model a conflict was found, and the value there: request_faults.py reads both."""


def conflict(problem: Message, at: tuple[str | int, ...] = (), value: object = None) -> PydanticCustomError:
    """A fault of several fields together; ``problem``: a message of the group ``fault``.

    ``at``: the place of the one that is to be changed, from the model on, and its ``value``; without, the whole model.
    """
    kind: Any = problem.code.removeprefix("fault.").replace("-", "_")
    sentence: Any = say(problem)
    within = {AT: at, VALUE_AT: value.isoformat() if isinstance(value, date) else value} if at else {}
    return PydanticCustomError(kind, sentence, {**problem.params, **within})


def one_of_two(one: object, one_name: str, other: object, other_name: str) -> None:
    """Raise unless exactly one of two fields is given."""
    if one is None and other is None:
        raise conflict(message("fault.neither-of-two", one=one_name, other=other_name))
    if one is not None and other is not None:
        raise conflict(message("fault.both-of-two", one=one_name, other=other_name))
