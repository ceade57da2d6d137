"""What the eggs of a line weigh: by the sizes of the country where they are bought, else by those of the US, and it is said which."""

from fractions import Fraction
from typing import NamedTuple

from service.domain.foods.food import Food
from service.domain.messages import Message, message
from service.domain.recipes.lines import LineReading
from service.reference.foods.search import fold, stems
from service.reference.recipes.egg_sizes import egg_sizes_file, eggs_of, is_egg
from service.reference.recipes.usual_foods import more_measures

SAME_SIZE = {"medium-sized": "medium", "large-sized": "large", "small-sized": "small", "big": "large"}
US = "US"
SIZES = {
    "small": message("egg-size.small"),
    "medium": message("egg-size.medium"),
    "large": message("egg-size.large"),
    "extra-large": message("egg-size.extra-large"),
    "jumbo": message("egg-size.jumbo"),
}
PLACES = {"eu": message("egg-place.eu"), "jp": message("egg-place.jp"), "ca": message("egg-place.ca")}


class OneEgg(NamedTuple):
    """The milligrams of one egg without its shell, and how they came about."""

    mg: Fraction
    how: Message


def egg_of(reading: LineReading, food: Food, country: str | None) -> OneEgg | None:
    """The egg of a line that counts whole eggs; None for any other line, and for a size that is not known.

    ``country``: where the eggs are bought.
    """
    if reading.unit is not None or not is_egg(food.id) or stems(fold(reading.food))[-1:] != stems("egg"):
        return None
    size = SAME_SIZE.get(reading.size.lower(), reading.size.lower())
    eggs = eggs_of(country)
    if eggs is not None:
        size = size or eggs.usual
        mg = next((mg for known, mg in eggs.sizes.items() if known == size), None)
        place = PLACES[eggs.scheme]
    else:
        size = size or egg_sizes_file().elsewhere
        mg = next((Fraction(one.grams_mg) for one in more_measures(food.id) if one.name == f"{size} egg"), None)
        place = message("egg-place.us")
    if mg is None:
        return None
    grams = round(float(mg / 1000), 1)
    if eggs is None and country != US:
        return OneEgg(mg, message("weighed.by-us-egg", size=SIZES[size], place=place, grams=grams))
    return OneEgg(mg, message("weighed.by-egg", size=SIZES[size], place=place, grams=grams))
