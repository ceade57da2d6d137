"""Children of a household."""

from service.api.household.record_routes import Words, record_routes
from service.jobs.household.kinds import CHILDREN

ROUTES = record_routes(
    CHILDREN,
    Words(
        "/v1/children", "child_id", "child", "children", "KeptChild",
        "A child is a nickname, a birth month or age group, its standard, and what it avoids and its school bans; "
        "taking one out takes out all its lunches.",
    ),
)  # fmt: skip
