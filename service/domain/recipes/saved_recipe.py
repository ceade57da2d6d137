"""A recipe in the open form of schema.org (https://schema.org/Recipe): found in JSON that somebody saved, and read.

Nothing is fetched: its address is a text like its name. What is missing or of another type is left out with a note; sizes are bounded.
"""

import html
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from service.domain.messages import Message, message

LONGEST_NAME = 120
LONGEST_ADDRESS = 500
LONGEST_LINE = 300
MOST_LINES = 100
MOST_PORTIONS = 1000
MOST_PARTS = 50_000
"""Objects and lists of a document that are looked through."""
MOST_MINUTES = 100_000
LARGEST_NUMBER = 10**15
TAG = re.compile(r"<[^<>]*>")
CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\s]+")
NUMBER = re.compile(r"[0-9]{1,6}(?:[.][0-9]{1,3})?")
RANGE = re.compile(r"[0-9] *(?:[-–—]|to|or) *[0-9]")
DURATION = re.compile(
    r"P(?:(?P<days>[0-9]{1,4}(?:[.,][0-9]{1,3})?)D)?"
    r"(?:T(?:(?P<hours>[0-9]{1,4}(?:[.,][0-9]{1,3})?)H)?(?:(?P<minutes>[0-9]{1,6}(?:[.,][0-9]{1,3})?)M)?"
    r"(?:(?P<seconds>[0-9]{1,7}(?:[.,][0-9]{1,3})?)S)?)?"
)
"""A duration of ISO 8601 in days, hours, minutes and seconds."""


@dataclass(frozen=True, slots=True)
class SavedRecipe:
    """What a saved recipe says; what it does not say is empty or None.

    ``address``: its url, a text. ``portions``: how many it makes, where its yield is one number. ``notes``: what was not read.
    """

    name: str
    lines: tuple[str, ...]
    address: str = ""
    makes: str = ""
    portions: Fraction | None = None
    preparation_minutes: int | None = None
    cooking_minutes: int | None = None
    notes: tuple[Message, ...] = ()


def saved_recipe_in(document: object) -> SavedRecipe | None:
    """The first recipe with ingredients in a JSON document, else the first recipe; None where there is none.

    Looks in lists, in ``@graph`` and in every other property. Source: https://schema.org/Recipe, JSON-LD 1.1 for ``@graph`` and ``@type``.

    >>> found = saved_recipe_in({"@graph": [{"@type": ["Recipe"], "name": "Soup", "recipeIngredient": ["1 l stock"]}]})
    >>> found.name, found.lines
    ('Soup', ('1 l stock',))
    """
    recipes = [one for one in _objects(document) if _is_recipe(one)]
    if not recipes:
        return None
    first = next((one for one in recipes if _lines_of(one)), recipes[0])
    notes: list[Message] = []
    if len(recipes) > 1:
        notes.append(message("recipe-note.several", n=len(recipes)))
    return _read(first, notes)


def minutes_in(text: object) -> int | None:
    """The minutes of a duration of ISO 8601, rounded; None for any other text.

    >>> minutes_in("PT1H30M"), minutes_in("P0DT0H20M"), minutes_in("an hour")
    (90, 20, None)
    """
    if not isinstance(text, str):
        return None
    found = DURATION.fullmatch(text.strip())
    if found is None or not any(found.groupdict().values()):
        return None
    per_unit = {"days": Fraction(1440), "hours": Fraction(60), "minutes": Fraction(1), "seconds": Fraction(1, 60)}
    total = sum(
        Fraction(value.replace(",", ".")) * per_unit[unit] for unit, value in found.groupdict().items() if value
    )
    return round(total) if total <= MOST_MINUTES else None


def portions_in(given: object) -> Fraction | None:
    """How many portions a yield means, where it says one number; None for a range or anything else.

    >>> portions_in("Serves 4"), portions_in(["12", "12 muffins"]), portions_in("4-6 people"), portions_in(6)
    (Fraction(4, 1), Fraction(12, 1), None, Fraction(6, 1))
    """
    if isinstance(given, Mapping):
        return portions_in(given.get("value"))
    if isinstance(given, list):
        numbers = {number for one in given[:10] if (number := portions_in(one)) is not None}
        return numbers.pop() if len(numbers) == 1 else None
    if isinstance(given, bool) or not isinstance(given, str | int | float):
        return None
    if not isinstance(given, str) and not 0 < given <= MOST_PORTIONS:
        return None
    said = str(given)[:200]
    numbers_said = NUMBER.findall(said)
    if len(numbers_said) != 1 or RANGE.search(said):
        return None
    number = Fraction(numbers_said[0])
    return number if 0 < number <= MOST_PORTIONS else None


def _objects(document: object) -> Iterator[Mapping[str, Any]]:
    """Every object in a document, outermost first, without recursion; at most ``MOST_PARTS`` are looked at."""
    waiting: list[object] = [document]
    for _count in range(MOST_PARTS):
        if not waiting:
            return
        one = waiting.pop(0) if len(waiting) < 1000 else waiting.pop()
        if isinstance(one, Mapping):
            yield one
            waiting.extend(value for value in one.values() if isinstance(value, Mapping | list))
        elif isinstance(one, list):
            waiting.extend(value for value in one if isinstance(value, Mapping | list))


def _is_recipe(one: Mapping[str, Any]) -> bool:
    types = one.get("@type")
    names = types if isinstance(types, list) else [types]
    return any(isinstance(name, str) and re.split(r"[/:#]", name)[-1] == "Recipe" for name in names)


def _lines_of(recipe: Mapping[str, Any]) -> list[object]:
    given = recipe.get("recipeIngredient", recipe.get("ingredients"))
    if isinstance(given, str):
        return list(given.splitlines())
    return given if isinstance(given, list) else []


def _read(recipe: Mapping[str, Any], notes: list[Message]) -> SavedRecipe:
    lines: list[str] = []
    unread = 0
    for one in _lines_of(recipe):
        line = _plain(one, LONGEST_LINE + 1)
        if len(lines) == MOST_LINES or len(line) > LONGEST_LINE or (not line and not isinstance(one, str)):
            unread += 1
        elif line:
            lines.append(line)
    if unread:
        notes.append(message("recipe-note.lines-unread", n=unread))
    makes = _makes(recipe.get("recipeYield"))
    portions = portions_in(recipe.get("recipeYield"))
    if makes and portions is None:
        notes.append(message("recipe-note.yield-unread", text=makes))
    minutes: dict[str, int | None] = {}
    for field in ("prepTime", "cookTime"):
        minutes[field] = minutes_in(recipe.get(field))
        if recipe.get(field) and minutes[field] is None:
            notes.append(message("recipe-note.time-unread", field=field, text=_plain(recipe[field], 60)))
    return SavedRecipe(
        _plain(recipe.get("name"), LONGEST_NAME),
        tuple(lines),
        _address(recipe),
        makes,
        portions,
        minutes["prepTime"],
        minutes["cookTime"],
        tuple(notes),
    )


def _makes(given: object) -> str:
    if isinstance(given, list):
        return next((said for one in given[:10] if (said := _makes(one))), "")
    if isinstance(given, Mapping):
        return _plain(given.get("value"), 60)
    return _plain(given, 60)


def _address(recipe: Mapping[str, Any]) -> str:
    page = recipe.get("mainEntityOfPage")
    of_page = page.get("@id") if isinstance(page, Mapping) else page
    return next((text for one in (recipe.get("url"), of_page, recipe.get("@id")) if (text := _address_in(one))), "")


def _address_in(given: object) -> str:
    """An address of the web; any other, such as one that a browser would run, is left out."""
    text = _plain(given, LONGEST_ADDRESS)
    return text if text.lower().startswith(("http://", "https://")) else ""


def _plain(given: object, longest: int) -> str:
    """A text in one line, without tags and control characters; empty for what is neither text nor number."""
    if isinstance(given, bool) or not isinstance(given, str | int | float):
        return ""
    if isinstance(given, int) and abs(given) > LARGEST_NUMBER:
        return ""
    text = html.unescape(TAG.sub(" ", str(given)[: 4 * longest]))
    whole_letters = text.encode(errors="ignore").decode()  # JSON can hold halves of letters, which no reply can
    return CONTROL.sub(" ", whole_letters).strip()[:longest].strip()
