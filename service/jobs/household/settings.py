"""What a household says of itself."""

from typing import Annotated

from pydantic import Field

from service.jobs.requests import WHOLE, Asked, Name
from service.store.retention import DEFAULT_MONTHS


class HouseholdSettings(Asked):
    """A household's name and how long it keeps its lunches."""

    name: Name = "our household"
    retention_months: Annotated[int, Field(ge=1, le=240), WHOLE] = Field(
        DEFAULT_MONTHS, description="Months that lunches are kept; older ones are removed."
    )
