"""The page of all parts can be shown, and nothing in it stands in the way of the strict rules for scripts and styles."""

import re

from service.web.pages import HERE
from tests.web.parts.all_parts import all_parts
from tests.web.reading import Page
from tests.web.walking import Looked


def test_every_part_is_shown() -> None:
    html = all_parts()
    assert not Looked(html).wrong
    assert {form.method for form in Page(html).forms} == {"get", "post"}
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


def test_a_part_that_is_new_has_its_place_on_the_page() -> None:
    """Every part in the folder of parts is called there; the frame of the pages is around every page anyway."""
    folder = HERE / "templates" / "parts"
    page = (folder / "all.html").read_text(encoding="utf-8")
    files = [file for file in sorted(folder.glob("*.html")) if file.name not in ("all.html", "layout.html")]
    parts = [name for file in files for name in re.findall(r"{% macro (\w+)", file.read_text(encoding="utf-8"))]
    assert len(parts) >= 15
    assert [name for name in parts if not re.search(rf"{{[{{%] (call )?{name}\(", page)] == []
