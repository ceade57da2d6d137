"""Which picture stands for a food: reference_data/foods/pictures.toml."""

import re
from functools import lru_cache

from pydantic import Field

from service.reference.files import FileModel, data_path, read_toml

WHERE = "foods/pictures.toml"


class PictureOfWords(FileModel):
    """A picture, and the words of names that ask for it."""

    picture: str
    any: list[str] = Field(min_length=1)


class PicturesFile(FileModel):
    """The whole file."""

    neutral: str
    category: dict[str, str]
    word: list[PictureOfWords]


@lru_cache(maxsize=1)
def pictures_file() -> PicturesFile:
    """The file, read once."""
    return read_toml(data_path(WHERE), PicturesFile)


@lru_cache(maxsize=4096)
def picture_of(name: str, category: str | None = None) -> str:
    """The picture of a food by its name, else by its category; the neutral one where neither says.

    >>> picture_of("apple slices"), picture_of("quinoa", "grains"), picture_of("something else")
    ('red-apple', 'cooked-rice', 'fork-and-knife-with-plate')
    """
    words = f" {' '.join(re.findall(r'[a-z]+', name.lower()))} "
    for place, pattern in enumerate(_patterns()):
        if pattern.search(words):
            return pictures_file().word[place].picture
    return pictures_file().category.get(category or "", pictures_file().neutral)


@lru_cache(maxsize=1)
def _patterns() -> list[re.Pattern[str]]:
    return [re.compile("|".join(f" {word} " for word in one.any)) for one in pictures_file().word]
