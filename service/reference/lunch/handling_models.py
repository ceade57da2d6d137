"""The shape of the handling files (strict)."""

from decimal import Decimal

from pydantic import Field

from service.domain.lunch.handling import HoldingRole
from service.reference.files import FileModel, Noted


class ChokingLimitRow(Noted):
    """Up to which age a region's guidance speaks of a rule's foods."""

    region: str
    below_age_months: int = Field(gt=0)
    never: bool = False
    allowed_forms: list[str] | None = None


class ChokingRuleRow(FileModel):
    """A kind of food whose pieces are a choking concern."""

    id: str
    foods: str
    risky_forms: list[str]
    allowed_forms: list[str]
    prepare: str
    limit: list[ChokingLimitRow] = Field(min_length=1)
    note: str = ""


class RegionRow(FileModel):
    """Whose guidance the rows are from."""

    id: str = Field(pattern=r"^[A-Z]{2}$")
    title: str


class FormRow(FileModel):
    """One way to cut or give a food, and how one says it in a kitchen."""

    id: str = Field(pattern=r"^[a-z][a-z_]*$")
    words: str


class ChokingFile(FileModel):
    """All choking rules, with the regions and forms that they use."""

    title: str = ""
    note: str = ""
    region: list[RegionRow] = Field(min_length=1)
    form: list[FormRow] = Field(min_length=1)
    rule: list[ChokingRuleRow]


class HoldingRow(Noted):
    """One holding figure; ``role``: the part it plays in judging a lunch."""

    id: str
    role: HoldingRole | None = None
    region: str
    value: Decimal
    unit: str
    sentence: str


class HoldingFile(FileModel):
    """All holding figures."""

    title: str = ""
    note: str = ""
    limit: list[HoldingRow]


class StorageTimeRow(Noted):
    """How long a class of food keeps in one place; ``days_from`` 0 where one figure is printed."""

    region: str
    place: str
    days_from: Decimal
    days_to: Decimal


class StorageClassRow(FileModel):
    """One class of food with its times."""

    id: str
    title: str
    note: str = ""
    time: list[StorageTimeRow] = []


class FreezingRow(Noted):
    """What becomes of some foods on thawing."""

    id: str
    foods: str
    after_thawing: str


class BrowningRow(Noted):
    """One way to keep cut fruit from browning."""

    id: str
    treatment: str
    amount_per_litre: Decimal | None = None
    unit: str = ""


class StorageFile(FileModel):
    """Storage times, freezing and browning."""

    title: str = ""
    note: str = ""
    storage_class: list[StorageClassRow]
    freezing: list[FreezingRow] = []
    browning: list[BrowningRow] = []
