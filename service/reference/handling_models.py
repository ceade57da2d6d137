"""The shape of the handling files (strict)."""

from decimal import Decimal

from pydantic import Field

from service.reference.files import FileModel
from service.reference.standard_models import DataStatus


class ChokingLimitRow(FileModel):
    """Up to which age a region's guidance speaks of a rule's foods."""

    region: str
    below_age_months: int = Field(gt=0)
    never: bool = False
    source: str
    status: DataStatus
    note: str = ""


class ChokingRuleRow(FileModel):
    """A kind of food whose pieces are a choking concern."""

    id: str
    foods: str
    risky_forms: list[str]
    allowed_forms: list[str]
    prepare: str
    limit: list[ChokingLimitRow] = Field(min_length=1)
    note: str = ""


class ChokingFile(FileModel):
    """All choking rules."""

    title: str = ""
    note: str = ""
    rule: list[ChokingRuleRow]


class HoldingRow(FileModel):
    """One holding figure."""

    id: str
    region: str
    value: Decimal
    unit: str
    sentence: str
    source: str
    status: DataStatus
    note: str = ""


class HoldingFile(FileModel):
    """All holding figures."""

    title: str = ""
    note: str = ""
    limit: list[HoldingRow]
