"""The language of a page: the one chosen with the switch, else the first that the browser asks for and there is."""

from http.cookies import CookieError

from babel import negotiate_locale
from fastapi import Request

from service.domain.messages import Message, Value
from service.reference.messages import ENGLISH, LANGUAGE, ON_PAGES, languages, page_catalogue

COOKIE = "packed_lunch_language"
A_YEAR = 365 * 24 * 3600


def language_of(request: Request) -> str:
    """The language of a request's page, and of every sentence that the jobs make for it from now on, in the pages' words."""
    chosen = _chosen(request)
    LANGUAGE.set(chosen)
    ON_PAGES.set(True)
    return chosen


def text(code: str, language: str, /, **values: Value) -> str:
    """The words of a code of the pages in a language."""
    return page_catalogue(language).say(Message(code, values))


def spoken_text(code: str, /, **values: Value) -> str:
    """The words of a code in the language of the request at hand."""
    return text(code, LANGUAGE.get(), **values)


def translated(words: str, language: str) -> str:
    """A text of the reference data (the name of an allergen, the title of a standard) in a language."""
    return page_catalogue(language).words.get(words, words)


def page_message(code: str, /, **values: Value) -> Message:
    """A code of the pages with its values, to be said where the page is made (``| said``)."""
    return Message(code, values)


def _chosen(request: Request) -> str:
    known = languages()
    try:
        wanted = request.cookies.get(COOKIE)
    except CookieError:
        wanted = None
    if wanted in known:
        return str(wanted)
    return negotiate_locale(_asked_for(request.headers.get("accept-language", "")), list(known), sep="-") or ENGLISH


def _asked_for(header: str) -> list[str]:
    """The languages of Accept-Language, the most wanted first (RFC 9110 section 12.5.4).

    >>> _asked_for("es-MX,es;q=0.9,en;q=0.8")
    ['es-MX', 'es', 'en']
    """
    wanted = []
    for place, part in enumerate(header.split(",")):
        name, _semicolon, weight = part.strip().partition(";q=")
        try:
            share = float(weight or 1)
        except ValueError:
            continue
        if name and share > 0:
            wanted.append((-share, place, name))
    return [name for _share, _place, name in sorted(wanted)]
