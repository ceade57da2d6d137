"""What the page of a plan's labels shows."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import ceil

from service.domain.plan.label_sheet import LabelSheet
from service.jobs.household.from_plan.labels import ToLabel
from service.web.forms.form import Form
from service.web.kitchen.sheets import Sheets
from service.web.language.chosen import text


@dataclass(frozen=True)
class LabelRow:
    """Something that can have labels. ``field``: the name of the field that says how many."""

    field: str
    name: str
    about: str


@dataclass(frozen=True)
class LabelsView:
    """The context of ``kitchen/labels.html``: what is made by the plan and what is in the stock already; sheets and languages."""

    sheets: Sheets
    form: Form
    planned: list[LabelRow]
    in_stock: list[LabelRow]
    papers: list[tuple[str, str]]
    languages: list[tuple[str, str]]


def labels_view(
    sheets: Sheets,
    found: Sequence[ToLabel],
    papers: Mapping[str, LabelSheet],
    languages: Mapping[str, str],
    form: Form,
    language: str,
) -> LabelsView:
    """The page from what can have labels."""
    return LabelsView(
        sheets,
        form,
        [_row(one, language) for one in found if not one.stock],
        [_row(one, language) for one in found if one.stock],
        [(name, sheet_said(one, language)) for name, one in papers.items()],
        list(languages.items()),
    )


def form_of_labels(found: Iterable[ToLabel], sheet: str, language: str) -> Form:
    """The form as it is at first: a label for each portion that the plan makes, also for a part of one, none for what is in the stock."""
    given = {field_of(one): ["" if one.stock else str(ceil(one.portions))] for one in found}
    return Form({**given, "sheet": [sheet], "start": ["1"], "language": [language]})


def field_of(one: ToLabel) -> str:
    """The name of the field that says how many labels of something."""
    return f"of-{one.id}"


def sheet_said(sheet: LabelSheet, language: str) -> str:
    """A sheet by its measures."""
    return text(
        "kitchen.sheet",
        language,
        paper=text(f"kitchen.paper-{sheet.paper}", language),
        width=sheet.width,
        height=sheet.height,
        across=sheet.across,
        down=sheet.down,
    )


def _row(one: ToLabel, language: str) -> LabelRow:
    place = text(f"kitchen.in-{one.place}", language)
    made = text("kitchen.label-of", language, n=round(one.portions, 2), place=place, made=one.made.isoformat())
    if one.use_by is not None:
        made = text("kitchen.label-until", language, what=made, use_by=one.use_by.isoformat())
    return LabelRow(field_of(one), one.name, made)
