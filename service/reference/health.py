"""Walks all reference data and reports every fault that a strict model of one file cannot see.

Names that must exist elsewhere, ids that must not repeat, sources that must be listed. Run by the
tests; nothing of it is needed to answer a request.
"""

import tomllib
from collections.abc import Iterator

from service.domain.errors import LunchError, ReferenceFault
from service.domain.lunch.compiling import compile_targets, first_and_last_day
from service.reference.allergens.codes import allergen_codes
from service.reference.allergens.evidence import count_of, evidence_file
from service.reference.allergens.vocabulary import vocabulary
from service.reference.fault_words import fault_sentence, fault_sentences
from service.reference.files import data_path
from service.reference.foods.bought_as import bought_as, kitchen_names
from service.reference.foods.discretionary import discretionary_file
from service.reference.foods.first_offer import first_offers
from service.reference.foods.generic_foods import generic_foods
from service.reference.foods.label_rounding import label_file
from service.reference.foods.lunch_foods import LunchFoodRow, lunch_foods
from service.reference.foods.recipes import recipes
from service.reference.foods.suggesting import suggesting
from service.reference.labels.words import exempt_words, label_words
from service.reference.lunch.energy import energy_file
from service.reference.lunch.handling import handling_rules, storage_classes
from service.reference.lunch.standards import crediting_scheme, standard, standard_ids, standard_paths
from service.reference.messages import (
    ENGLISH,
    catalogue,
    differences,
    languages,
    page_catalogue,
    words_file,
    words_of,
)
from service.reference.recipes.usual_foods import usual_foods_file
from service.reference.recipes.words import vocabulary as vocabulary_of_lines
from service.reference.spoken_words import spoken_words
from service.reference.stock.freezing import freezing_file
from service.reference.stock.keeping import keeping_file
from service.reference.weeks.frequencies import frequency_paths, frequency_standard
from service.reference.weeks.school_food_groups import foods_in_groups

CREDITING = ("crediting/us-school-meals.toml", "crediting/components.toml")
NO_SOURCE = ("ours: no source", "common practice, no source", "household recipe of this project")
ALLERGEN_COLUMNS = ("contains", "may_contain", "read_label", "free_of")
FREEZING = {"well", "fair", "poor", "no"}
MUST_BE_READ = ("milk", "egg", "soy", "sesame")
"""Allergens that makers add to many foods (common practice, no source). A check of our own tables; no answer rests on it."""


def faults() -> list[str]:
    """All faults found, each a line that names file, place and what is wrong; empty is healthy."""
    found = list(_standards())
    found += _lunch_foods()
    found += _evidence()
    found += _recipes()
    found += _sources()
    found += _messages()
    return found


def _messages() -> Iterator[str]:
    """Each catalogue can be read and says what the English one says, the pages' too; each has the words of the data."""
    for path in sorted(data_path("messages").glob("*.toml")):
        try:
            yield from (f"messages/{path.name}: {one}" for one in differences(catalogue(), catalogue(path.stem)))
        except LunchError as fault:
            yield from fault_sentences(fault)
    for language in sorted(languages()):
        try:
            found = differences(page_catalogue(), page_catalogue(language))
            yield from (f"messages/pages/{language}.toml: {one}" for one in found)
            yield from _words(language)
        except LunchError as fault:
            yield from fault_sentences(fault)


def _words(language: str) -> Iterator[str]:
    """Every text of the data that people read has a word in the language, and nothing else has."""
    if language == ENGLISH:
        return
    where = f"messages/words/{language}.toml"
    spoken = spoken_words()
    listed = [text for part in words_file(language).part for text in part.texts]
    for text in sorted(spoken - words_of(language).keys()):
        yield f"{where}: {text!r} has no word yet. Add it to the part that it belongs to."
    for text in sorted({one for one in listed if listed.count(one) > 1}):
        yield f"{where}: {text!r} appears twice. Keep one of the two."
    for text in sorted(set(listed) - spoken):
        yield f"{where}: {text!r} is not a text of the reference data any more. Remove it."


def _standards() -> Iterator[str]:
    for standard_id in standard_ids():
        try:
            known = standard(standard_id)
            crediting_scheme(known.crediting)
            first, _last = first_and_last_day(known)
            days = sorted({row.from_day for row in known.rows} | {first})
            for group in known.age_groups:
                for day in days:
                    if any(row.age_group == group.id and row.in_force(day) for row in known.rows):
                        compile_targets(known, group, day)
        except LunchError as fault:
            yield from fault_sentences(fault)
    for standard_id in frequency_paths():
        try:
            frequency_standard(standard_id)
        except LunchError as fault:
            yield from fault_sentences(fault)
    for food_id in sorted(set(lunch_foods().rows()) - set(foods_in_groups())):
        yield f"school_food_groups.toml: {food_id!r} is in no group and not under counts_as_nothing"
    suggesting()
    first_offers()
    bought_as()
    kitchen_names()
    yield from _discretionary()
    keeping_file()
    freezing_file()
    allergen_codes()
    label_file()
    energy_file()
    label_words()
    vocabulary_of_lines()
    usual_foods_file()
    exempt_words()


def _discretionary() -> Iterator[str]:
    """Every food, category and group of discretionary.toml is there."""
    file = discretionary_file()
    rows = lunch_foods().rows()
    groups = set(generic_foods().header.groups)
    of_lunch = file.lunch_foods
    unknown = (set(of_lunch.foods) | set(of_lunch.exceptions)) - set(rows)
    unknown |= set(of_lunch.categories) - {row["category"] for row in rows.values()}
    unknown |= {group for kind in file.generic_foods for group in kind.groups} - groups
    for name in sorted(unknown):
        yield f"foods/discretionary.toml: {name!r} is not a lunch food, a category or a group. Correct its name."


def _evidence() -> Iterator[str]:
    """Every food and group of evidence_groups.toml is there, and every category was counted."""
    file = evidence_file()
    where = "allergens/evidence_groups.toml"
    known = vocabulary().allergens
    for group in file.label_groups:
        try:
            count_of(group, "milk")
        except ReferenceFault as fault:
            yield fault_sentence(fault)
    for name, kind in file.kinds.items():
        for allergen in (*(kind.often or ()), *(kind.unusual or ())):
            if allergen not in known:
                yield f"{where}#/kinds/{name}: {allergen!r} is not an allergen id"
    for row in file.without_counts:
        for allergen in set(row.allergens) - set(known):
            yield f"{where}#/without_counts: {allergen!r} is not an allergen id"
        for group in sorted((row.unusual_in | row.often_in) - set(file.label_groups)):
            yield f"{where}#/without_counts: {group!r} is not one of its label groups"
    foods = lunch_foods().rows()
    categories = {row["category"] for row in foods.values()}
    for category in sorted(categories ^ set(file.lunch_categories)):
        yield f"{where}#/lunch_categories: {category!r} is not on both sides"
    groups = {food.group for food in map(generic_foods().get, generic_foods().ids()) if food is not None}
    for group in sorted(set(file.generic_groups) - groups):
        yield f"{where}#/generic_groups: {group!r} is not a group of generic foods"
    listed = [food for row in file.lunch_foods for food in row.ids]
    for food in sorted({food for food in listed if food not in foods or listed.count(food) > 1}):
        yield f"{where}#/lunch_foods: {food!r} is not a lunch food, or is listed twice"
    for likened in (*file.lunch_categories.values(), *file.lunch_foods, *file.generic_groups.values()):
        if likened.kind and likened.kind not in file.kinds:
            yield f"{where}: {likened.kind!r} is not one of its kinds"
        if likened.label_group and likened.label_group not in file.label_groups:
            yield f"{where}: {likened.label_group!r} is not one of its label groups"


def _lunch_foods() -> Iterator[str]:
    known = vocabulary().allergens
    rules = handling_rules().choking
    order = [(row["category"], row["id"]) for row in lunch_foods().rows().values()]
    if order != sorted(order):
        yield "lunch_foods.csv: rows are not sorted by category and id"
    for row in lunch_foods().rows().values():
        try:
            lunch_foods().get(row["id"])
        except LunchError as fault:
            yield fault_sentence(fault)
        for column in ALLERGEN_COLUMNS:
            for allergen in row.words(column):
                if allergen not in known:
                    yield f"lunch_foods.csv#/{row['id']}/{column}: {allergen!r} is not an allergen id"
        if row["choking_rule"] and row["choking_rule"] not in rules:
            yield f"lunch_foods.csv#/{row['id']}/choking_rule: {row['choking_rule']!r} is not a choking rule"
        for form in row.words("forms"):
            if form not in handling_rules().forms:
                yield f"lunch_foods.csv#/{row['id']}/forms: {form!r} is not a form of choking.toml"
        if row["storage"] not in storage_classes():
            yield f"lunch_foods.csv#/{row['id']}/storage: {row['storage']!r} is not a storage class"
        if row["everyday"] not in ("yes", "no"):
            yield f"lunch_foods.csv#/{row['id']}/everyday: {row['everyday']!r} is neither yes nor no"
        if row["freezing"] not in FREEZING:
            yield f"lunch_foods.csv#/{row['id']}/freezing: {row['freezing']!r} is none of {sorted(FREEZING)}"
        yield from _said_of_processed(row)


def _said_of_processed(row: LunchFoodRow) -> Iterator[str]:
    """A food with something added is never free of milk, egg, soy or sesame by assumption."""
    said = {allergen for column in ALLERGEN_COLUMNS for allergen in row.words(column)}
    if row["others"] == "free" and row.words("read_label"):
        named = set(row.words("read_label"))
        if named & set(MUST_BE_READ):
            yield f"lunch_foods.csv#/{row['id']}/others: free, but {sorted(named)} are to be read on a label"
    if row["others"] != "unknown" and row["allergen_basis"] != "nature":
        yield f"lunch_foods.csv#/{row['id']}/others: free goes only with the basis nature"
    for allergen in row.words("free_of"):
        if allergen in said - {allergen}:
            yield f"lunch_foods.csv#/{row['id']}/free_of: {allergen!r} is named in another column too"


def _recipes() -> Iterator[str]:
    rules = handling_rules().choking
    try:
        for dish in recipes().values():
            for form in set(dish.handling.forms) - set(handling_rules().forms):
                yield f"recipes.toml#/{dish.id}/forms: {form!r} is not a form of choking.toml"
            if dish.handling.choking_rule and dish.handling.choking_rule not in rules:
                yield f"recipes.toml#/{dish.id}/choking_rule: {dish.handling.choking_rule!r} is not a choking rule"
    except LunchError as fault:
        yield fault_sentence(fault)


def _sources() -> Iterator[str]:
    """Every source named by a row stands in sources.toml, under the first word of what the row says."""
    listed = set(tomllib.loads(data_path("sources.toml").read_text(encoding="utf-8"))["sources"])
    for name in (*standard_paths().values(), *CREDITING, "energy/nasem-2023.toml"):
        yield from _sources_of(name, listed)
    for name in ("handling/choking.toml", "handling/holding.toml", "handling/storage.toml"):
        yield from _sources_of(name, listed)
    for name in ("labels/us-nutrition-facts.toml", "labels/other-units.toml"):
        yield from _sources_of(name, listed)
    for name in (
        *frequency_paths().values(),
        "intakes/day_references.toml",
        "foods/school_food_groups.toml",
        "foods/suggesting.toml",
        "foods/first_offer.toml",
        "foods/bought_as.toml",
    ):
        yield from _sources_of(name, listed)
    for path in sorted(data_path("weeks").glob("*.toml")):
        yield from _sources_of(f"weeks/{path.name}", listed)
    for folder in ("allergens", "recipes", "stock"):
        for path in sorted(data_path(folder).glob("*.toml")):
            yield from _sources_of(f"{folder}/{path.name}", listed)
    for path in sorted(data_path("messages/words").glob("*.toml")):
        yield from _sources_of(f"messages/words/{path.name}", listed)


def _sources_of(name: str, listed: set[str]) -> Iterator[str]:
    def walk(node: object, place: str) -> Iterator[tuple[str, str]]:
        if isinstance(node, dict):
            for key, value in node.items():
                if key == "source" and isinstance(value, str):
                    yield place, value
                else:
                    yield from walk(value, f"{place}/{key}")
        elif isinstance(node, list):
            for index, value in enumerate(node):
                yield from walk(value, f"{place}/{index}")

    for place, source in walk(tomllib.loads(data_path(name).read_text(encoding="utf-8")), ""):
        if source.startswith(NO_SOURCE):
            continue
        for part in source.split(";"):
            key = part.strip().split(" ", 1)[0].rstrip(",:")
            if key and key not in listed:
                yield f"{name}#{place}/source: {key!r} is not in sources.toml"


def counts() -> dict[str, int]:
    """How much there is of each kind of data."""
    return {
        "standards": len(standard_ids()),
        "lunch_foods": len(lunch_foods()),
        "recipes": len(recipes()),
        "generic_foods": len(generic_foods()),
        "allergens": len(vocabulary().allergens),
    }
