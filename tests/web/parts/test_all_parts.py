"""The page of all parts can be shown, and nothing in it stands in the way of the strict rules for scripts and styles."""

from tests.web.parts.all_parts import all_parts
from tests.web.reading import Page
from tests.web.walking import Looked


def test_every_part_is_shown() -> None:
    html = all_parts()
    assert not Looked(html).wrong
    assert {form.method for form in Page(html).forms} == {"post"}
    for part in (
        "state-fine",
        "state-mind",
        "state-stop",
        "state-open",
        "note-stop",
        "field-fault",
        "bar-short",
        "cost-bought",
    ):
        assert part in html, part
