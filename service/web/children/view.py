"""What the pages of the children show."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from service.jobs.household.access.households import today
from service.jobs.household.children.child_in_words import meant_by, standards_to_choose, yardsticks_to_choose
from service.reference.messages import page_catalogue
from service.web.children.form import OLDEST, rows_of
from service.web.forms.conflicts import Conflict
from service.web.forms.form import Form
from service.web.language.chosen import text, translated

Options = list[tuple[str, str]]
SEXES = ("girl", "boy")
ACTIVITIES = ("inactive", "low_active", "active", "very_active")


@dataclass(frozen=True)
class ChildCard:
    """One child of the list: when it was born (empty: only an age group is kept).

    ``avoids``: the names of the allergens that are kept away from it, whatever words they were said in; ``bans``: of those
    that its class or school does not allow.
    """

    id: str
    nickname: str
    born: str
    avoids: list[str]
    bans: list[str]
    vegetarian: bool


@dataclass(frozen=True)
class ChildrenView:
    """The context of ``children/children.html``."""

    children: list[ChildCard]


@dataclass(frozen=True)
class Choices:
    """What can be chosen in the form: pairs of value and words."""

    months: Options
    years: Options
    standards: Options
    single: Options
    yardsticks: Options
    sexes: Options
    activities: Options

    def words(self) -> dict[str, dict[str, str]]:
        """The words of each value, by field."""
        return {
            "standard": dict(self.standards),
            "lunch_standard": dict(self.single),
            "yardsticks": dict(self.yardsticks),
            "sex": dict(self.sexes),
            "activity": dict(self.activities),
        }


@dataclass(frozen=True)
class ChildView:
    """The context of ``children/child.html``.

    ``id``: empty for a new child. ``name``: its nickname as it is kept. ``rows``: numbers of the rows for what must not
    be eaten. ``understood``: what the job made of what is kept (``jobs.household.child_in_words``), or None.
    """

    id: str
    name: str
    version: str
    form: Form
    rows: list[int]
    choices: Choices
    understood: dict[str, Any] | None = None
    conflict: Conflict | None = None
    near: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class RemoveView:
    """The context of ``children/remove.html``. ``lunches``: how many are removed with the child."""

    id: str
    name: str
    version: str
    lunches: int


def child_card(record: dict[str, Any], language: str) -> ChildCard:
    """A child's card from its record."""
    return ChildCard(
        record["id"],
        record["nickname"],
        month_in_words(record["birth_month"], language),
        _meant([one["allergen"] for one in record["avoids"]]),
        _meant(record["bans"]),
        record["vegetarian"],
    )


def _meant(words: Iterable[str]) -> list[str]:
    """The names of all allergens that are meant, each once: "coeliac disease" is none."""
    return list(dict.fromkeys(name for one in words for name in meant_by(one)["means"]))


def child_view(record: dict[str, Any] | None, form: Form, language: str, **more: Any) -> ChildView:
    """The page of a child, or of a new one without ``record``; ``more``: ``understood``, ``conflict``, ``version``."""
    kept = record or {"id": "", "nickname": "", "version": ""}
    more.setdefault("version", str(kept["version"]))
    choices = choices_of(form.text("standard"), form.text("year"), language)
    return ChildView(kept["id"], kept["nickname"], form=form, rows=rows_of(form), choices=choices, **more)


def choices_of(chosen: str, year: str, language: str) -> Choices:
    """What can be chosen; ``chosen``: the standard kept, which stays to be chosen; ``year``: of birth, likewise."""
    this_year = today().year
    years = [str(one) for one in range(this_year, this_year - OLDEST - 1, -1)]
    known = standards_to_choose(chosen)
    none = ("", text("children.not-said", language))
    return Choices(
        months=[
            ("", text("children.month", language)),
            *((f"{n:02d}", name) for n, name in _months(language)),
        ],
        years=[
            ("", text("children.year", language)),
            *((one, one) for one in [*years, *([year] if year and year not in years else [])]),
        ],
        standards=[(one["id"], _standard_in_words(one, language)) for one in known],
        single=[
            ("", text("children.usual-one", language)),
            *((one["id"], translated(one["title"], language)) for one in known if one["single_lunches"] is None),
        ],
        yardsticks=[(one["id"], translated(one["title"], language)) for one in yardsticks_to_choose()],
        sexes=[none, *((one, text(f"children.sex-{one}", language)) for one in SEXES)],
        activities=[
            none,
            *((one, text(f"children.activity-{one.replace('_', '-')}", language)) for one in ACTIVITIES),
        ],
    )


def _standard_in_words(one: dict[str, Any], language: str) -> str:
    said = rules_in_words(one["id"], language)
    if said is None:
        said = text(
            "children.standard-says", language, title=one["title"], first=one["first_age"], last=one["last_age"]
        )
    if one["single_lunches"] is None:
        return said
    return text("children.standard-over-week", language, said=said, single=one["single_lunches"])


def rules_in_words(standard: str, language: str) -> str | None:
    """A standard in one sentence for parents; None for one that has none yet and goes by its title."""
    code = f"children.rules-{standard}"
    return text(code, language) if code in page_catalogue(language).texts else None


def month_in_words(month: str | None, language: str) -> str:
    """A month as it is said; empty for none.

    >>> month_in_words("2019-05", "en")
    'May 2019'
    """
    if not month:
        return ""
    year, _dash, number = month.partition("-")
    return text("children.month-of-year", language, month=dict(_months(language))[int(number)], year=year)


def _months(language: str) -> list[tuple[int, str]]:
    from babel.dates import get_month_names

    return list(get_month_names("wide", context="stand-alone", locale=language).items())
