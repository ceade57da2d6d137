"""Promise: what is printed fits its paper, can be read from a little way off, and leaves no child, no food and no caution out.

The PDF is what a printer gets; it is read back by a library for PDF files (ISO 32000), not by the browser that made it.
"""

import unicodedata
from pathlib import Path

from playwright.sync_api import Page
from pypdf import PdfReader

from service.jobs.foods.by_id import food_by_id
from service.jobs.household.access.households import today
from tests.browser.houses import TABLET, House

PAPERS = ("A4", "Letter")
TWELVE_POINT = 16
"""12 pt in the pixels of CSS: 96 to the inch, 72 points to the inch (CSS Values and Units, section 6.2)."""
SMALLEST = """() => Math.min(...[...document.querySelectorAll('main *')]
  .filter((one) => one.checkVisibility() && [...one.childNodes].some((node) => node.nodeType === 3 && node.data.trim()))
  .map((one) => parseFloat(getComputedStyle(one).fontSize)))"""
ON_FRIDGE = "Read the label each time you buy. Not medical advice; the school's own rules come first."
ON_CARDS = "Read the label each time. This card is not medical advice."
FOODS = ("sandwich-ham", "wrap-bean-cheese", "apple", "clementine", "pear", "carrots-raw", "cucumber", "milk-1-percent")


def with_children(house: House, **avoided: str) -> None:
    """More children, each with what it must not have, or nothing."""
    child = {"standard": "us-school-lunch", "birth_month": "2017-03"}
    for nickname, allergen in avoided.items():
        avoids = [{"allergen": allergen}] if allergen else []
        house.kitchen.children[nickname] = house.kitchen.keep(
            "children", {**child, "nickname": nickname, "avoids": avoids}
        )


def printed(page: Page, file: Path, paper: str, *, across: bool = False) -> list[str]:
    """The text of each sheet, without its spaces: where a line breaks is of no matter."""
    page.pdf(path=file, format=paper, landscape=across)
    return [close(sheet.extract_text()) for sheet in PdfReader(file).pages]


def close(text: str) -> str:
    """A text without its spaces, letters that fonts draw together taken apart (Unicode Standard Annex 15, NFKC)."""
    return "".join(unicodedata.normalize("NFKC", text).split())


def holds(text: str, *wanted: str) -> None:
    """Each of these words stands on the sheet."""
    missing = [one for one in wanted if close(one) not in text]
    assert missing == [], text


def test_one_sheet_for_the_fridge_and_a_card_for_each_of_five_children(morning: House, tmp_path: Path) -> None:
    offer = morning.kitchen.set_out("usual mornings", today())
    with_children(morning, Hazel="", Alder="")
    foods = [food_by_id(food).name for food in FOODS] + ["rice and bean pot"]
    page = morning.device(viewport=TABLET)
    page.emulate_media(media="print")
    for paper in PAPERS:
        page.goto(morning.address + "/set-out/fridge")
        assert page.evaluate(SMALLEST) >= TWELVE_POINT
        (sheet,) = printed(page, tmp_path / "fridge.pdf", paper, across=True)
        holds(sheet, *morning.kitchen.children, *foods, "packed", ON_FRIDGE)
        page.goto(f"{morning.address}/set-out/{offer}/cards")
        assert page.evaluate(SMALLEST) >= TWELVE_POINT
        cards = printed(page, tmp_path / "cards.pdf", paper)
        assert len(cards) == 2
        holds("".join(cards), *morning.kitchen.children, *foods)
        assert "".join(cards).count(close(ON_CARDS)) == 5


def test_what_a_child_must_not_have_is_said_on_the_sheet_and_is_not_on_its_card(morning: House, tmp_path: Path) -> None:
    offer = morning.kitchen.set_out("usual mornings", today())
    with_children(morning, Alder="milk")  # the only drink that is set out
    milk = food_by_id("milk-1-percent").name
    page = morning.device(viewport=TABLET)
    page.goto(morning.address + "/set-out/fridge")
    sheet = "".join(printed(page, tmp_path / "fridge.pdf", "A4", across=True))
    holds(sheet, "Alder", f"not: ham sandwich, bean and cheese wrap and {milk}", ON_FRIDGE)
    page.goto(f"{morning.address}/set-out/{offer}/cards")
    (cards,) = printed(page, tmp_path / "cards.pdf", "A4")
    of_each = cards.split(close(ON_CARDS))
    (of_alder,) = [one for one in of_each if one.startswith("Alder")]
    holds(of_alder, "Alder cannot take a lunch from this offer.")
    assert close(milk) not in of_alder
    (of_rowan,) = [one for one in of_each if one.startswith("Rowan")]
    holds(of_rowan, milk)


def test_the_week_of_all_children_on_one_sheet_and_of_each_on_two_at_most(house: House, tmp_path: Path) -> None:
    page = house.device(viewport=TABLET)
    page.emulate_media(media="print")
    for paper in PAPERS:
        page.goto(house.address + "/week")
        (sheet,) = printed(page, tmp_path / "week.pdf", paper)
        shown = [one for one in page.locator("ol.days li p").all_inner_texts() if one.strip()]
        assert len(shown) >= 15
        holds(sheet, *house.kitchen.children, *shown)
        holds(sheet, "Read the label of every packaged food each time. Not declared is not the same as absent.")
        for child in ("Juniper", "Rowan", "Linden"):
            page.goto(f"{house.address}/week/{house.kitchen.children[child]}")
            sheets = printed(page, tmp_path / "one.pdf", paper)
            assert len(sheets) <= 2
            holds(
                "".join(sheets),
                child,
                "Compared with what is wanted",
                "Read the label of every packaged food each time. Not declared is not the same as absent. This is not medical advice: your child's doctor and the school's own rules come first.",
            )
