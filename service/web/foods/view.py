"""What the pages of the foods show."""

from dataclasses import dataclass
from typing import Any

from service.domain.measures import LABEL_MEASURES, Measure
from service.jobs.allergens.lists import list_choking_rules
from service.jobs.foods.choking_rules import NO_RULE
from service.jobs.foods.counts_as import NOTHING
from service.jobs.household.foods.own_foods import kinds_to_count_as
from service.web.foods.form import CREDITS, LIKE, OTHER, US
from service.web.foods.shown import Comes, FoodRow
from service.web.forms.conflicts import Conflict
from service.web.forms.form import Form
from service.web.label_figures import OTHER_UNITS, USUAL_FIGURES
from service.web.language.chosen import text, translated

Options = list[tuple[str, str]]


@dataclass(frozen=True)
class FoodsView:
    """The context of ``foods/foods.html``. ``asked``: the words searched for; without them the own foods are listed.

    ``more``: where the next ones are, or empty.
    """

    asked: str
    foods: list[FoodRow]
    more: str


@dataclass(frozen=True)
class Choices:
    """What can be chosen in the form of a label: pairs of value and words; figures in two parts."""

    facts_per: Options
    printed: Options
    counts_as: Options
    perishable: Options
    choking_rule: Options
    first_figures: list[Measure]
    more_figures: list[Measure]
    other_units: tuple[str, ...]

    def words(self) -> dict[str, dict[str, str]]:
        """The words of each value, by field."""
        fields = ("facts_per", "printed", "counts_as", "perishable", "choking_rule")
        return {field: dict(getattr(self, field)) for field in fields}


@dataclass(frozen=True)
class FoodView:
    """The context of ``foods/food.html``, an own food. ``id``: empty for a new one. ``comes``: what it comes to, or None."""

    id: str
    name: str
    version: str
    picture: str
    form: Form
    choices: Choices
    comes: Comes | None = None
    conflict: Conflict | None = None


@dataclass(frozen=True)
class TableFoodView:
    """The context of ``foods/table_food.html``: a food that is not the household's own."""

    id: str
    name: str
    picture: str
    comes: Comes


@dataclass(frozen=True)
class RemoveView:
    """The context of ``foods/remove.html``, for a food or a dish. ``address``: of its page; ``back``: of the list."""

    name: str
    version: str
    address: str
    fault: str = ""


def choices_of(form: Form, language: str) -> Choices:
    """What can be chosen; the way in which a food counted before stays to be chosen."""

    def said(code: str) -> str:
        return text(f"foods.{code}", language)

    counts_as = [("", said("counts-as-not-known")), (NOTHING, said("counts-as-none")), (LIKE, said("counts-as-like"))]
    counts_as += [(kind, said(f"as-{kind}")) for kind in kinds_to_count_as()]
    if form.text("counts_as") == CREDITS:
        counts_as.append((CREDITS, said("counts-as-said")))
    rules = [(rule["id"], translated(rule["foods"], language)) for rule in list_choking_rules()["items"]]
    return Choices(
        facts_per=[("serving", said("per-serving")), ("100g", said("per-100g"))],
        printed=[(US, said("printed-us")), (OTHER, said("printed-other"))],
        counts_as=counts_as,
        perishable=[("", said("not-said")), ("yes", said("perishable-yes")), ("no", said("perishable-no"))],
        choking_rule=[("", said("not-said")), (NO_RULE, said("choking-none")), *rules],
        first_figures=[one for one in LABEL_MEASURES if one.id in USUAL_FIGURES],
        more_figures=[one for one in LABEL_MEASURES if one.id not in USUAL_FIGURES],
        other_units=OTHER_UNITS,
    )


def food_view(record: dict[str, Any] | None, form: Form, language: str, picture: str, **more: Any) -> FoodView:
    """The page of an own food, or of a new one without ``record``; ``more``: ``comes``, ``conflict``, ``version``."""
    kept = record or {"id": "", "name": "", "version": ""}
    more.setdefault("version", str(kept["version"]))
    choices = choices_of(form, language)
    return FoodView(kept["id"], kept["name"], picture=picture, form=form, choices=choices, **more)
