"""The pages in Spanish: no English sentence on any page of the invented family, but for names that stay in English."""

import re
from datetime import date
from pathlib import Path

from service.reference.foods.lunch_foods import lunch_foods
from service.reference.foods.recipes import recipes
from service.reference.sources import sources
from tests.web.kitchens import OURS, Kitchen
from tests.web.reading import Page

ADDRESSES = (
    *("/", "/set-out", "/packets", "/packets/new", "/packets/new?food=bread-white", "/week", "/bought", "/more"),
    *("/children", "/children/new", "/foods", "/foods/new", "/foods/apple", "/foods?q=bread", "/dishes", "/dishes/new"),
    *("/prices", "/prices/new", "/devices", "/devices/new", "/care", "/care/keys", "/care/import"),
    *("/start", "/start/avoids", "/start/foods"),
)
LINKED = ("/take/", "/set-out/", "/week/", "/children/", "/packets/", "/bought/day/")
"""Of these one page each, as the pages above link to it."""
JSON = {**OURS, "Content-Type": "application/json", "Accept-Language": "es"}
ENGLISH_WORDS = frozenset(
    re.findall(
        r"\w+",
        """the of is are was not and with for this that each from at least most which it has have too much little known read
    label look enter lunches week school day days child children wanted rules rule may must what who how when your you
    add change remove keep save nothing yet show find food foods""",
    )
)
"""Words that no Spanish sentence has, except within a name."""
EXAMPLES = re.compile(
    r"packed-lunch [a-z-]+|/v1/\S+|https?://\S+|reference_data/\S+|[a-z]+(?:_[a-z]+)+|^date,.*|columnas, date y name"
    r"|Child and Adult Care Food Program|National School Lunch Program|Food Standards Agency|May contain [^.)»]*|Contains [^.)»]*|coeliac disease with gluten-free oats|«[^»]*»"
)
"""What is typed or printed in English: commands, names of columns, what stands on a packet."""


def names() -> list[str]:
    """The names of the foods and dishes of the tables, the titles of publications, and what the invented family calls things; the longest first."""
    of_tables = {row["name"] for row in lunch_foods().rows().values()} | {one.name for one in recipes().values()}
    published = {one.title for one in sources()}
    typed = {"for a trip", "usual mornings", "rice and bean pot", "oat and honey bar", "pasta bake with vegetables"}
    # "1 sándwich (hummus and cucumber)": the last word of a name is the measure.
    counted = {one.name.removesuffix(f" {unit.name}") for one in recipes().values() for unit in one.units}
    return sorted(of_tables | counted | published | typed, key=len, reverse=True)


def english_in(page: Page, known: list[str]) -> list[str]:
    """The texts of a page with an English word in them."""
    found = []
    for text in page.words:
        left = EXAMPLES.sub("", " ".join(text.split()))
        for name in known:
            left = left.replace(name, "").replace(name[:1].upper() + name[1:], "")
        if ENGLISH_WORDS & set(re.findall(r"[^\W\d_]+", left.lower())):
            found.append(text.strip())
    return found


def test_today_and_taking_are_in_spanish(kitchen: Kitchen, on: date) -> None:
    kitchen.set_out("usual mornings", on)
    today = kitchen.browser(language="es").get("/")
    rowan = kitchen.children["Rowan"]
    taking = kitchen.browser("take", rowan, language="es-MX,es;q=0.9").get(f"/take/{rowan}")
    assert "Abrir la página para tomar" in today.text
    assert "Falta tomar: una cosa de plato principal, una cosa de fruta, una cosa de verdura" in taking.text
    assert 'lang="es"' in taking.html
    assert english_in(today, names()) == []
    assert english_in(taking, names()) == []


def test_every_kind_of_page_is_in_spanish(kitchen: Kitchen, on: date) -> None:
    kitchen.set_out("usual mornings", on)
    browser, known = kitchen.browser(language="es"), names()
    found, linked = {address: browser.get(address) for address in ADDRESSES}, {}
    for page in found.values():
        for begin in LINKED:
            first = [to for to, _words in page.links if to.startswith(begin) and "new" not in to][:1]
            linked |= {address: browser.get(address) for address in first if address not in found}
    assert {begin for begin in LINKED for address in linked if address.startswith(begin)} == set(LINKED)
    english = {address: english_in(page, known) for address, page in {**found, **linked}.items()}
    assert {address: texts for address, texts in english.items() if texts} == {}


def test_the_page_in_english_is_english_again(kitchen: Kitchen, on: date) -> None:
    kitchen.set_out("usual mornings", on)
    kitchen.browser(language="es").get("/set-out")
    assert english_in(kitchen.browser(language="en").get("/set-out"), names())


def test_the_api_stays_in_english(kitchen: Kitchen) -> None:
    """Whatever language the browser asks for, also right after a page in it."""
    browser = kitchen.browser(language="es")
    browser.get("/")
    example = Path(__file__).parents[3] / "openapi_examples" / "check-lunch" / "keeps-the-rules.request.json"
    told = browser.client.post("/v1/lunch-checks", content=example.read_bytes(), headers=JSON)
    assert told.json()["summary"].startswith("This lunch keeps every rule checked for one lunch.")
