"""The texts of the reference data that people read: another language needs a word for each (``messages/words``).

Names of foods are not among them: they stay as the food tables have them. Run by the health check.
"""

from collections.abc import Iterator

from service.domain.measures import MEASURES
from service.reference.allergens.evidence import evidence_file
from service.reference.allergens.vocabulary import vocabulary
from service.reference.files import data_path, read_toml
from service.reference.labels.words import label_reasons
from service.reference.lunch.handling import handling_rules, storage_classes
from service.reference.lunch.handling_models import ChokingFile
from service.reference.lunch.standard_models import StandardFile
from service.reference.lunch.standards import points_off, standard, standard_ids, standard_paths
from service.reference.stock.freezing import freezing_file, freezing_notes
from service.reference.weeks.frequencies import frequency_paths, frequency_standard
from service.reference.weeks.school_food_groups import group_labels


def spoken_words() -> frozenset[str]:
    """Every such text, once."""
    return frozenset(text for text in (*_of_standards(), *_of_foods(), *_of_allergens()) if text)


def _of_standards() -> Iterator[str]:
    for name in standard_ids():
        known = standard(name)
        yield from (known.title, known.about)
        yield from (group.title for group in known.age_groups)
        yield from (row.label for row in known.rows)
        file = read_toml(data_path(standard_paths()[name]), StandardFile)
        yield from (row.label for row in (*file.product_rule, *file.milk_rule))
    for name in frequency_paths():
        counted = frequency_standard(name)
        yield from (counted.title, counted.about)
        yield from (group.title for group in counted.age_groups)
        for row in counted.rows:
            yield from (row.label, row.kitchen_only)
    yield from group_labels().values()
    energy = points_off().energy_rule
    yield from () if energy is None else (energy.label,)
    yield from (measure.label for measure in MEASURES)


def _of_foods() -> Iterator[str]:
    choking = read_toml(data_path("handling/choking.toml"), ChokingFile)
    yield from (region.title for region in choking.region)
    yield from (region.id for region in choking.region)
    yield from (kept.title for kept in storage_classes().values())
    yield from freezing_notes().values()
    yield from (one.sentence for one in freezing_file().advice)
    rules = handling_rules()
    yield from rules.forms.values()
    for rule in rules.choking.values():
        yield from (rule.foods, rule.prepare)
    yield from (limit.sentence for limit in rules.holding.values())


def _of_allergens() -> Iterator[str]:
    yield from (allergen.name for allergen in vocabulary().allergens.values())
    for kind in evidence_file().kinds.values():
        yield from (kind.name, kind.reason)
    yield from label_reasons()
