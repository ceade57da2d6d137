"""A line of a plan's sheets that is ticked, and its tick taken back: the same for what was bought and what was made."""

from collections.abc import Callable, Mapping

from pydantic import ValidationError

from service.domain.errors import LunchError, NotThere
from service.jobs.household.from_plan.planned import StoredPlan
from service.jobs.household.records import Connection
from service.jobs.household.stock.for_plans import take_back
from service.web.forms.form import Form
from service.web.viewer import Viewer


def tick(viewer: Viewer, form: Form, keep: Callable[[Connection], object], fields: Mapping[str, str]) -> bool:
    """Put what a line stands for in the stock; False where it is refused, with the faults in the form.

    ``keep``: puts it there; ``fields``: the pointer of a fault -> the field of the form. ``NotThere`` for a plan that is gone.
    """
    try:
        with viewer.who().store.writing() as connection:
            keep(connection)
    except NotThere:
        raise
    except (LunchError, ValidationError) as found:
        form.with_faults(found, fields)
        return False
    return True


def untick(viewer: Viewer, plan: StoredPlan, form: Form) -> None:
    """Take what a line stands for out of the stock again, as much of it as is left."""
    caller = viewer.who()
    with caller.store.writing() as connection:
        take_back(connection, caller.household, plan.id, form.text("line"))
