"""Pages as replies: the templates, what all of them can use, and the headers that every page carries."""

import hashlib
from functools import lru_cache
from pathlib import Path
from typing import Any

from fastapi import Request, Response
from jinja2 import Environment, FileSystemLoader, StrictUndefined, pass_context
from jinja2.runtime import Context
from markupsafe import Markup, escape
from starlette.responses import HTMLResponse, RedirectResponse

from service.domain.messages import Message
from service.reference.message_templates import kept_apart
from service.reference.messages import languages, page_catalogue
from service.web.language.chosen import translated
from service.web.language.words import measure, money, short_day, weekday
from service.web.viewer import Viewer

HERE = Path(__file__).parent
SEE_OTHER = 303
UNDER_MORE = ("plans", "children", "foods", "dishes", "stock", "prices", "bought", "care", "food-data", "devices")
"""The first part of the addresses of the pages that More leads to."""
HEADERS = {
    "Content-Security-Policy": "default-src 'self'; img-src 'self' data: blob:; object-src 'none'; base-uri 'none'; "
    "form-action 'self'; frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types 'none'",
    "Referrer-Policy": "same-origin",
    "Permissions-Policy": "geolocation=(), microphone=(), payment=()",
    "Cross-Origin-Opener-Policy": "same-origin",
}


def page(request: Request, viewer: Viewer, template: str, view: Any = None, status: int = 200) -> Response:
    """A page: a template with the context ``view`` (documented beside each) in the viewer's language."""
    here = request.scope["path"]
    back = here if request.method in ("GET", "HEAD") else "/"  # where a form was sent to is often no page itself
    text = environment().get_template(template).render(view=view, viewer=viewer, here=here, back=back)
    return HTMLResponse(text, status, HEADERS)


def go(address: str) -> Response:
    """Where the browser goes on after a form was carried out: one that is sent again by going back changes nothing."""
    return RedirectResponse(address, SEE_OTHER)


@lru_cache(maxsize=1)
def environment() -> Environment:
    """The templates, made ready once; a name that is not in the context is an error, and all text is escaped."""
    made = Environment(
        loader=FileSystemLoader(HERE / "templates"),
        autoescape=True,
        auto_reload=False,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        extensions=["jinja2.ext.do"],
    )
    made.globals |= {
        "t": _text,
        "token_field": _token_field,
        "static": static_address,
        "all_languages": languages().items(),
        "under_more": UNDER_MORE,
    }
    made.filters |= {
        "told": told,
        "apart": apart,
        "short_day": pass_context(_short_day),
        "weekday": pass_context(_weekday),
        "money": pass_context(_money),
        "said": pass_context(_said),
        "translated": pass_context(_translated),
        "measure": pass_context(_measure),
    }
    return made


@pass_context
def _text(context: Context, code: str, /, **values: Any) -> str:
    """The words of a code in the page's language."""
    return page_catalogue(context["viewer"].language).say(Message(code, values))


def _said(context: Context, message: Message) -> str:
    """A message as a sentence in the page's language."""
    return page_catalogue(context["viewer"].language).say(message)


def _translated(context: Context, text: str) -> str:
    """A text of the reference data (the name of an allergen, the title of a standard) in the page's language."""
    return translated(text, context["viewer"].language)


def _measure(context: Context, unit: str) -> str:
    return measure(unit, context["viewer"].language)


def _short_day(context: Context, day: str) -> str:
    return short_day(day, context["viewer"].language)


def _weekday(context: Context, day: str) -> str:
    return weekday(day, context["viewer"].language)


def _money(context: Context, minor: int, currency: str, digits: int) -> str:
    return money(minor, currency, digits, context["viewer"].language)


@pass_context
def _token_field(context: Context) -> Markup:
    """The hidden field that every form carries."""
    token = escape(context["viewer"].token)
    return Markup(f'<input type="hidden" name="token" value="{token}">')  # noqa: S704 - the token is escaped


def told(text: object) -> Markup:
    """Text that a person typed: escaped, and its direction of writing kept from what stands next to it."""
    return Markup(f"<bdi>{escape(text)}</bdi>")  # noqa: S704 - the text is escaped


def apart(text: Any) -> Any:
    """The same where no element may stand: in a title, in the options of a list."""
    kept = kept_apart(str(text))
    return Markup(kept) if isinstance(text, Markup) else kept  # noqa: S704 - markup before, and only marks added


def static_address(name: str) -> str:
    """The address of a file of the pages; all change when any file does, so that browsers may keep them for long.

    One mark for all of them: a script finds the script next to it.
    """
    return f"/static/{static_mark()}/{name}"


@lru_cache(maxsize=1)
def static_mark() -> str:
    """The mark of all files of the pages as they are."""
    whole = hashlib.sha256()
    for path in sorted((HERE / "static").rglob("*")):
        if path.is_file():
            whole.update(path.name.encode() + path.read_bytes())
    return whole.hexdigest()[:12]
