"""A week as CSV and as a page: nothing runs as a formula or as mark-up, and the page says what the reply says."""

import csv
import io
import re
import sys
from datetime import timedelta
from html.parser import HTMLParser
from typing import Any

import pytest

from service.domain.errors import LunchError
from service.jobs.weeks.csv import COLUMNS, week_csv
from service.jobs.weeks.page import week_page
from service.reference.fault_words import fault_words
from tests.week_days import MONDAY, bought, item, packed_week, summed

LUNCH = [item("bread-whole-wheat", 64), item("cheese-cheddar", 28), item("apple"), item("milk-skim", 244)]


def label(name: str) -> dict[str, Any]:
    return {"food": {"name": name, "serving": {"grams": 50}, "facts": {"energy_kcal": 100}}}


def reply(standard: str = "us-school-lunch", *more: dict[str, Any], **named: Any) -> dict[str, Any]:
    days = packed_week([[*LUNCH, *more], LUNCH])
    days += [bought(MONDAY + timedelta(days=2)), bought(MONDAY + timedelta(days=3), facts={"energy_kcal": 650})]
    days += packed_week([LUNCH] * 3, MONDAY - timedelta(days=7))
    return summed(days, standard, max_changes=3, **named)


class Page(HTMLParser):
    """Tags with their attributes, ids, and all text."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.ids: list[str] = []
        self.words: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self.ids += [value for name, value in attrs if name == "id" and value]

    def handle_data(self, data: str) -> None:
        self.words.append(data)


@pytest.mark.parametrize("start", ["=", "+", "-", "@"])
def test_a_name_that_a_spreadsheet_would_run_is_text(start: str) -> None:
    """Common practice (OWASP, CSV injection): a quote before the sign."""
    made = week_csv(reply("us-school-lunch", label(f"{start}1+1"), child={"age_years": 8, "nickname": f"{start}sum"}))
    for row in csv.reader(io.StringIO(made, newline="")):
        for cell in row:
            if cell.startswith(("=", "+", "-", "@", "\t", "\r")):
                assert float(cell) is not None
    assert f"'{start}sum" in made


def test_the_csv_has_the_figures_of_the_reply() -> None:
    whole = reply()
    rows = list(csv.DictReader(io.StringIO(week_csv(whole), newline="")))
    assert tuple(rows[0]) == COLUMNS
    targets = {row["id"]: row for row in rows if row["row"] == "target"}
    assert {one["id"]: one["status"] for one in whole["findings"]} == {k: v["status"] for k, v in targets.items()}
    assert float(targets["sodium"]["amount"]) == next(o["amount"] for o in whole["findings"] if o["id"] == "sodium")
    assert [row["date"] for row in rows if row["row"] == "day"] == [day["date"] for day in whole["days"]]
    assert sum(row["row"] == "change" for row in rows) == len(whole["changes"])


@pytest.mark.parametrize("standard", ["us-school-lunch", "gb-sct-school-lunch", "gb-eng-school-food-2014"])
def test_the_page_has_no_script_and_loads_nothing(standard: str) -> None:
    """Charts are inline, with a name and a description; ids stand once; the same reply gives the same bytes."""
    whole = reply(standard)
    text = week_page(whole)
    assert text == week_page(whole)
    page = Page(text)
    assert not {tag for tag, _attrs in page.tags} & {
        "script",
        "link",
        "img",
        "iframe",
        "object",
        "form",
        "foreignobject",
    }
    assert not [name for _tag, attrs in page.tags for name in attrs if name.startswith("on")]
    assert len(page.ids) == len(set(page.ids))
    assert not re.search(r"url\((?!#)|@import|href=\"(?!#)", text)
    charts = [attrs for tag, attrs in page.tags if tag == "svg"]
    assert charts
    for attrs in charts:
        assert attrs["role"] == "img"
        assert set(str(attrs["aria-labelledby"]).split()) <= set(page.ids)


def test_names_are_text_on_the_page() -> None:
    text = week_page(reply("us-school-lunch", label("<b>bar</b>"), child={"age_years": 8, "nickname": "<i>Mina</i>"}))
    assert "<b>" not in text
    assert "<i>" not in text
    assert "&lt;i&gt;Mina&lt;/i&gt;" in text


def test_the_page_tells_days_changes_and_cautions() -> None:
    whole = reply()
    words = " ".join("".join(Page(week_page(whole)).words).split())
    for sentence in (whole["summary"], *whole["notes"], *whole["cautions"]):
        assert " ".join(sentence.split()) in words
    for change in whole["changes"]:
        assert change["sentence"] in words
    assert "score" not in words.lower()


def test_status_is_told_in_words_not_by_colour_alone() -> None:
    text = week_page(reply())
    assert "too little" in text
    assert "cannot tell" in text
    colours = set(re.findall(r"(?:fill|stroke): ?(#[0-9a-f]{3,6})", text))
    assert all(len(set(re.findall("..", colour[1:]))) == 1 for colour in colours if len(colour) == 7)


def test_without_the_extra_the_page_names_what_is_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    """JSON and CSV do without."""
    whole = reply()
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    with pytest.raises(LunchError) as fault:
        week_page(whole)
    assert "matplotlib" in fault_words(fault.value).problem
    assert "packed-lunch[reports]" in fault_words(fault.value).remedy
    assert week_csv(whole)
