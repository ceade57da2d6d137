"""Which allergens are not usual in a kind of food: by counts of published labels, or by what the food is.

See ``reference_data/allergens/evidence_groups.toml``. What is found is ``label_not_seen``, never ``free``.
"""

import csv
from collections.abc import Mapping
from functools import lru_cache
from typing import NamedTuple

from pydantic import model_validator

from service.domain.allergens.evidence import most_percent
from service.domain.errors import ReferenceFault
from service.domain.foods.food import Containment
from service.domain.messages import message
from service.reference.files import FileModel, Sourced, data_path, read_toml

COUNTS = "allergens/evidence_counts.csv"
GROUPS = "allergens/evidence_groups.toml"
MANY_TO_ONE = 10.0
"""A share of named labels from which on the upper end need not be computed (in percent)."""


class Shares(Sourced):
    """Below which shares of labels, in percent, an allergen is not usual."""

    below_percent: float
    below_percent_where_recipes_vary: float


class Allergens(Sourced):
    """A list of allergens."""

    allergens: tuple[str, ...]


class Kind(FileModel):
    """What a food is: every allergen but those of ``often``, or those of ``unusual``, are unusual in it for the reason given."""

    name: str
    often: tuple[str, ...] | None = None
    unusual: tuple[str, ...] | None = None
    reason: str

    @model_validator(mode="after")
    def _one_of_both(self) -> "Kind":
        if (self.often is None) == (self.unusual is None):
            raise ValueError("give either often or unusual")
        return self

    def makes_unusual(self, allergen: str) -> bool:
        """Whether the allergen is unusual in such a food."""
        return allergen not in self.often if self.often is not None else allergen in (self.unusual or ())


class Likened(FileModel):
    """The label group and the kind that a food is likened to; either may be missing."""

    label_group: str = ""
    kind: str = ""


class LikenedFoods(Likened):
    """The same for some lunch foods by id."""

    ids: tuple[str, ...]


class SingleFoods(Sourced):
    """How a single food with nothing added is told from others in the generic tables."""

    name_part: str
    without_words: tuple[str, ...]
    groups: frozenset[str]

    def holds(self, name: str, group: str) -> bool:
        """Whether a generic food of this name and group is one."""
        name = name.lower()
        parts = [part.strip() for part in name.split(",")]
        return group in self.groups and self.name_part in parts and not any(word in name for word in self.without_words)


class WithoutCounts(Sourced):
    """Foods that were not counted: the label groups in which they are not usual, and those in which they often are."""

    allergens: tuple[str, ...]
    unusual_in: frozenset[str] = frozenset()
    often_in: frozenset[str] = frozenset()


class EvidenceFile(FileModel):
    """The whole file."""

    shares: Shares
    hidden: Allergens
    uncounted: Allergens
    counts: Sourced
    without_counts: tuple[WithoutCounts, ...]
    label_groups: dict[str, tuple[str, ...]]
    kinds: dict[str, Kind]
    lunch_categories: dict[str, Likened]
    lunch_foods: tuple[LikenedFoods, ...]
    single_foods: SingleFoods
    generic_groups: dict[str, Likened]


class Count(NamedTuple):
    """Labels of a group that name an allergen (declared, warned of, or hidden in a word that may mean it), and all labels."""

    named: int
    labels: int

    @property
    def most_percent(self) -> float:
        """See ``service.domain.allergens.evidence``."""
        if self.labels and 100 * self.named / self.labels >= MANY_TO_ONE:
            return 100.0
        return most_percent(self.named, self.labels)


@lru_cache(maxsize=1)
def evidence_file() -> EvidenceFile:
    """The groups, kinds and shares."""
    return read_toml(data_path(GROUPS), EvidenceFile)


@lru_cache(maxsize=1)
def counted_allergens() -> tuple[str, ...]:
    """The allergens that were counted, in the order of the file."""
    return tuple(dict.fromkeys(allergen for _category, allergen in _counts()))


@lru_cache(maxsize=1)
def _counts() -> Mapping[tuple[str, str], Count]:
    """By category and allergen."""
    hidden = evidence_file().hidden.allergens
    found: dict[tuple[str, str], Count] = {}
    with data_path(COUNTS).open(encoding="utf-8") as file:
        for row in csv.DictReader(file, strict=True):
            named = int(row["contains"]) + int(row["may_contain"])
            named += int(row["unspecific_word"]) if row["allergen"] in hidden else 0
            labels = int(row["statements"])
            found[(row["category"], row["allergen"])] = Count(min(named, labels), labels)
    return found


@lru_cache(maxsize=4096)
def count_of(label_group: str, allergen: str) -> Count:
    """The labels of all categories of a group together. Raises ``ReferenceFault`` for a category that was not counted."""
    named = labels = 0
    for category in evidence_file().label_groups[label_group]:
        if (category, allergen) not in _counts():
            raise ReferenceFault(
                pointer=f"{GROUPS}#/label_groups/{label_group}",
                value=category,
                problem=f"has no count of {allergen} in {COUNTS}",
                remedy="Give the name of a category as that file has it.",
            )
        one = _counts()[(category, allergen)]
        named, labels = named + one.named, labels + one.labels
    return Count(named, labels)


def likened_lunch_food(food_id: str, category: str) -> Likened:
    """What a lunch food is likened to: by its id, or by its category."""
    return _by_id().get(food_id) or evidence_file().lunch_categories.get(category, Likened())


@lru_cache(maxsize=1)
def _by_id() -> Mapping[str, Likened]:
    return {food: row for row in evidence_file().lunch_foods for food in row.ids}


def likened_generic_food(group: str) -> Likened:
    """What a food of the generic tables is likened to, by its group; to nothing where the group is not listed."""
    return evidence_file().generic_groups.get(group, Likened())


@lru_cache(maxsize=8192)
def not_usual(likened: Likened, allergen: str, recipes_vary: bool) -> Containment | None:
    """``label_not_seen`` with its evidence where an allergen is not usual in such foods, else None.

    ``recipes_vary``: whoever wrote down the food noted that recipes vary in it: the counts must then lie lower.
    """
    file = evidence_file()
    if likened.kind:
        kind = file.kinds[likened.kind]
        if kind.makes_unusual(allergen):
            evidence = message("evidence.not-usual-in-kind", kind=kind.name, reason=kind.reason)
            return Containment("label_not_seen", "category", evidence)
    if not likened.label_group or (recipes_vary and allergen in file.uncounted.allergens):
        return None
    count = count_of(likened.label_group, allergen)
    shares = file.shares
    below = shares.below_percent_where_recipes_vary if recipes_vary else shares.below_percent
    if count.most_percent >= below:
        return None
    evidence = message(
        "evidence.not-usual-on-labels",
        named=count.named,
        labels=count.labels,
        most_percent=f"{count.most_percent:.1f}",
    )
    return Containment("label_not_seen", "category", evidence)


@lru_cache(maxsize=8192)
def often_there(likened: Likened, allergen: str, recipes_vary: bool) -> Containment | None:
    """``unknown`` with the reason why the label is to be read first: what the food is, or how many labels name the allergen.

    None where only whoever wrote down the food knows why (``recipes_vary``), and where nothing was counted.
    """
    file = evidence_file()
    kind = file.kinds.get(likened.kind)
    if kind is not None and allergen in (kind.often or ()):
        return Containment("unknown", "category", message("evidence.often-in-kind", kind=kind.name, reason=kind.reason))
    if not likened.label_group or allergen in file.uncounted.allergens:
        return None
    count = count_of(likened.label_group, allergen)
    if recipes_vary and count.most_percent < file.shares.below_percent:
        return None
    if allergen in file.hidden.allergens:
        evidence = message("evidence.named-or-hidden-on-labels", named=count.named, labels=count.labels)
    else:
        evidence = message("evidence.named-on-labels", named=count.named, labels=count.labels)
    return Containment("unknown", "category", evidence)


def with_unusual(named: dict[str, Containment], likened: Likened, groups: Mapping[str, frozenset[str]]) -> None:
    """Add what is not usual to what is named of a food; what is named as unknown was noted as varying with the recipe.

    ``groups``: for each counted allergen its members. A group of which a member is known to be there stays as it is.
    """
    for allergen in counted_allergens():
        known = named.get(allergen)
        members = groups[allergen]
        there = [one for one in members if one in named and named[one].level in ("contains", "may_contain")]
        if there or (known is not None and known.level != "unknown"):
            continue
        unusual = not_usual(likened, allergen, recipes_vary=known is not None)
        if unusual is None:
            often = often_there(likened, allergen, known is not None)
            if often is not None:
                named[allergen] = often
            continue
        named[allergen] = unusual
        for member in members:
            if member in named and named[member].level == "unknown" and member not in counted_allergens():
                del named[member]  # noted only because the whole group was
    _add_without_counts(named, likened.label_group, groups)


def _add_without_counts(named: dict[str, Containment], label_group: str, groups: Mapping[str, frozenset[str]]) -> None:
    """The same for the foods that were not counted; what is named of a food stays."""
    there = {allergen for allergen, seen in named.items() if seen.level in ("contains", "may_contain")}
    for row in evidence_file().without_counts:
        for allergen in row.allergens:
            if allergen in named or not there.isdisjoint(groups[allergen]):
                continue
            if label_group in row.often_in:
                named[allergen] = Containment("unknown", "category", message("evidence.often-in-such"))
            elif label_group in row.unusual_in:
                named[allergen] = Containment("label_not_seen", "category", message("evidence.not-usual-in-such"))
