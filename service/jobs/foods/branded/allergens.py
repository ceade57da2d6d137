"""What the list of ingredients of a branded food says of allergens, read as a label is; it clears none.

An allergen that it does not name is ``label_not_seen``, never ``free``: the packet in hand may be of another recipe.
"""

from service.domain.foods.branded import BrandedFood
from service.domain.foods.food import UNKNOWN, AllergenProfile, Containment, Level, worse
from service.domain.messages import message


def allergens_of(food: BrandedFood) -> AllergenProfile:
    """The allergens of a branded food by its list of ingredients and its name.

    Without a list that can be read, what its name does not speak of is unknown.
    """
    from service.domain.labels.reader import read_label
    from service.reference.labels.words import label_words

    named: dict[str, Containment] = {}
    reading = read_label(label_words(), food.ingredients)
    for evidence in reading.evidence:
        level: Level = "unknown" if evidence.tier == "check_label" else evidence.tier
        said = message("evidence.entry-words", words=evidence.words, reason=evidence.reason)
        one = Containment(level, "label_statement", said)
        seen = named.get(evidence.allergen)
        named[evidence.allergen] = one if seen is None else worse(seen, one)
    for evidence in read_label(label_words(), food.description).evidence:
        if evidence.allergen not in named:
            level = "contains" if evidence.tier == "contains" and food.ingredients is None else "unknown"
            named[evidence.allergen] = Containment(level, "name", message("evidence.in-name", words=evidence.words))
    if reading.readable:
        others = Containment("label_not_seen", "label_statement", message("evidence.entry-not-named"))
    elif reading.not_read is not None:
        others = Containment("unknown", "label_statement", reading.not_read)
    else:
        others = UNKNOWN
    return AllergenProfile(named, others, not_read=reading.not_read)
