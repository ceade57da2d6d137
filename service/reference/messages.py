"""The catalogues of messages, read once for each language, and what a reply or a page says from them.

A catalogue is ``reference_data/messages/<language>.toml``; ``message_templates`` has what stands in it and how it is written.
"""

import tomllib
from collections.abc import Callable, Mapping, Sequence
from contextvars import ContextVar
from functools import lru_cache
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

from service.domain.messages import Message
from service.reference.files import FileModel, Sourced, data_path, read_toml
from service.reference.message_templates import Catalogue, MessagesFile, fields

Given = ParamSpec("Given")
Made = TypeVar("Made")
ENGLISH = "en"
LANGUAGE: ContextVar[str] = ContextVar("language", default=ENGLISH)
"""The language in which the request at hand is answered; the pages set it."""
ON_PAGES: ContextVar[bool] = ContextVar("on_pages", default=False)
"""Whether the request at hand is answered with a page, whose words may be other than those of a reply to a program."""

LISTS = (tuple, list)
"""As a tuple, since ``isinstance`` takes three times as long with ``tuple | list``."""


class PageWordsFile(FileModel):
    """The words of the pages in one language: what it calls itself, and the templates."""

    language: str
    name: str
    messages: dict[str, dict[str, str]]


class WordsPart(Sourced):
    """Words of one part of the reference data: of what, who says that they are called so, and the words by the English."""

    of: str
    texts: dict[str, str]


class WordsFile(FileModel):
    """What one language calls the things of the reference data."""

    language: str
    usual_names: dict[str, str]
    """Of names that people type, those that are usual and so have a word in the language too."""
    part: list[WordsPart]


def read_catalogue(path: Path, words: Mapping[str, str] | None = None) -> Catalogue:
    """Read one catalogue; raises ``ReferenceFault`` (or several) for what is wrong in it."""
    return Catalogue(read_toml(path, MessagesFile), words)


def differences(one: Catalogue, other: Catalogue) -> list[str]:
    """In what the second catalogue does not say the same as the first: codes, and values of a code."""
    found = [f"{code} is only in {one.language}" for code in one.texts.keys() - other.texts.keys()]
    found += [f"{code} is only in {other.language}" for code in other.texts.keys() - one.texts.keys()]
    found += [
        f"{code} has not the same values in {one.language} and {other.language}"
        for code in one.texts.keys() & other.texts.keys()
        if fields(one.texts[code]) != fields(other.texts[code])
    ]
    return sorted(found)


@lru_cache(maxsize=8)
def catalogue(language: str = ENGLISH) -> Catalogue:
    """The catalogue of a language, read once."""
    return read_catalogue(data_path(f"messages/{language}.toml"), words_of(language))


def words_file(language: str) -> WordsFile:
    """The file that ``words_of`` reads, with its sources."""
    return read_toml(data_path(f"messages/words/{language}.toml"), WordsFile)


@lru_cache(maxsize=8)
def words_of(language: str) -> Mapping[str, str]:
    """What a language calls the things of the reference data, by the English; empty for English, read once."""
    if language == ENGLISH:
        return {}
    file = words_file(language)
    return {**file.usual_names, **{english: text for part in file.part for english, text in part.texts.items()}}


@lru_cache(maxsize=8)
def page_catalogue(language: str = ENGLISH) -> Catalogue:
    """The catalogue of a language together with the words of the pages, read once.

    Where both have a code, the pages' text is used: it names what is on the page instead of a field of a request.
    """
    sentences = read_toml(data_path(f"messages/{language}.toml"), MessagesFile)
    words = read_toml(page_words_path(language), PageWordsFile)
    groups = {
        group: {**sentences.messages.get(group, {}), **words.messages.get(group, {})}
        for group in (*sentences.messages, *words.messages)
    }
    both = sentences.model_copy(update={"messages": groups})
    return Catalogue(both, words_of(language))


@lru_cache(maxsize=1)
def languages() -> dict[str, str]:
    """The languages that the pages are in, each by what it calls itself."""
    codes = sorted(path.name.removesuffix(".toml") for path in data_path("messages/pages").iterdir())
    return {code: _name_of(code) for code in codes if not code.startswith(".")}


def _name_of(language: str) -> str:
    """What a language calls itself: at the top of its file, which is not read on to its words."""
    top, _table, _words = page_words_path(language).read_text("utf-8").partition("\n[")
    return str(tomllib.loads(top)["name"])


def page_words_path(language: str) -> Path:
    """The file of the words of the pages in a language."""
    return data_path(f"messages/pages/{language}.toml")


def spoken() -> Catalogue:
    """The catalogue that the request at hand is answered from."""
    return (page_catalogue if ON_PAGES.get() else catalogue)(LANGUAGE.get())


def say(message: Message, language: str | None = None) -> str:
    """The sentence of a message in a language; left out: as the request at hand is answered.

    >>> from service.domain.messages import message
    >>> say(message("finding.no-figure", names=["apple", "wrap"]))
    'There is no figure for apple; wrap: look on the label or ask the maker, and enter the figure.'
    """
    return (catalogue(language) if language else spoken()).say(message)


def kept_by_language(size: int) -> Callable[[Callable[Given, Made]], Callable[Given, Made]]:
    """``lru_cache`` for what is said in sentences: what was made in one language, or for pages, is not given out in others."""

    def keeping(make: Callable[Given, Made]) -> Callable[Given, Made]:
        kept = lru_cache(maxsize=size)(lambda _spoken, *given: make(*given))  # type: ignore[call-arg]
        return lambda *given: kept((LANGUAGE.get(), ON_PAGES.get()), *given)  # type: ignore[return-value]

    return keeping


def json_of(value: Any) -> Any:
    """A message, a list or the values of a message, as plain JSON values: a message is an object of ``code`` and ``params``."""
    if isinstance(value, Message):
        params = {name: json_of(one) if isinstance(one, LISTS) else one for name, one in value.params.items()}
        return {"code": value.code, "params": params}
    if isinstance(value, LISTS):
        return [json_of(one) if isinstance(one, LISTS) else one for one in value]
    return {name: json_of(one) for name, one in value.items()} if isinstance(value, Mapping) else value


def worded_as(name: str, message: Message | None) -> dict[str, Any]:
    """A text field of a reply, and with it ``<name>_message``: its code and values; empty and None for nothing."""
    if message is None:
        return {name: "", f"{name}_message": None}
    return {name: say(message), f"{name}_message": json_of(message)}


def listed_as(name: str, messages: Sequence[Message]) -> dict[str, Any]:
    """A list of texts in a reply, ``<name>s``, and with it ``<name>_messages``: their codes and values."""
    return {f"{name}s": [say(one) for one in messages], f"{name}_messages": json_of(messages)}


def worded(message: Message, language: str | None = None) -> dict[str, Any]:
    """A message as a reply shows it: ``sentence``, ``code`` and ``params``."""
    return {"sentence": say(message, language), **json_of(message)}
