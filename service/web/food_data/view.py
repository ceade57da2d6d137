"""What the page of public food data shows."""

from dataclasses import dataclass

from service.web.forms.form import Form


@dataclass(frozen=True)
class FoodDataView:
    """The context of ``food_data/food_data.html``.

    ``release``: the day as of which the copy on this machine is, or empty for none. ``index_wrong``: why it cannot be read, or empty.
    ``since``: the day since which the live source is on, or empty: it is off. ``form``: never holds the key.
    """

    form: Form
    release: str
    index_wrong: str
    since: str
