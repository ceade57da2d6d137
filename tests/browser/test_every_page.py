"""Promise: every page can be read and used on a phone, a tablet, in the dark, with large words and on paper.

Rules: WCAG 2.2 A and AA and best practice, held by axe; targets 24 px (WCAG 2.2, 2.5.8), 44 px where a child taps (2.5.5).
What is counted is what is sent, never the time it takes.
"""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from service.jobs.household.access.households import today
from service.jobs.household.access.store import open_household_store
from tests.browser.houses import PHONE, TABLET, House, house_of
from tests.browser.looking import SMALLEST_TILE, Looking
from tests.browser.walks import faults_of, in_every_light
from tests.web.kitchens import demo_kitchen, empty_kitchen
from tests.web.parts.all_parts import all_parts


@pytest.fixture(scope="module", params=["family", "empty"])
def any_house(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory, browser: Browser
) -> Iterator[House]:
    """The invented family on a school morning, and a household that has nothing yet; both only looked at."""
    yield from _house(str(request.param), tmp_path_factory.mktemp("house"), browser)


@pytest.fixture(scope="module")
def family(tmp_path_factory: pytest.TempPathFactory, browser: Browser) -> Iterator[House]:
    """The invented family on a school morning, only looked at."""
    yield from _house("family", tmp_path_factory.mktemp("house"), browser)


def _house(kind: str, folder: Path, browser: Browser) -> Iterator[House]:
    url = f"sqlite:///{folder / 'store.sqlite3'}"
    store = open_household_store(url)
    try:
        if kind == "empty":
            kitchen = empty_kitchen(store, url)
        else:
            kitchen = demo_kitchen(store, url, today())
            kitchen.set_out("usual mornings", today())
        with house_of(kitchen, browser) as house:
            yield house
    finally:
        store.close()


def looking_at(house: House, rights: str = "keep", child: str | None = None, **context: object) -> Looking:
    """A device that is signed in, watched."""
    return Looking(house.device(rights, child, **context), house.address)


@pytest.mark.parametrize("viewport", [PHONE, TABLET], ids=["phone", "tablet"])
def test_in_every_light(any_house: House, viewport: dict[str, int]) -> None:
    assert "\n".join(faults_of(looking_at(any_house, viewport=viewport), in_every_light)) == ""


def test_on_a_childs_device(family: House) -> None:
    looking = looking_at(family, "take", family.kitchen.children["Juniper"])
    assert not faults_of(looking, in_every_light, ["/"])
    assert looking.open("/") == 200
    assert not list(looking.wrong(least=SMALLEST_TILE))


@pytest.mark.parametrize("viewport", [PHONE, TABLET])
@pytest.mark.parametrize(("path", "status"), [("/nothing-here", 404), ("/children/nobody", 404), ("/take/nobody", 404)])
def test_what_is_not_there(family: House, viewport: dict[str, int], path: str, status: int) -> None:
    looking = looking_at(family, viewport=viewport)
    assert looking.open(path) == status
    assert not list(looking.wrong(expected=status))


def test_what_a_device_may_not_see(family: House) -> None:
    looking = looking_at(family, "take", family.kitchen.children["Juniper"])
    assert looking.open("/children") == 403
    assert not list(looking.wrong(expected=403))


@pytest.mark.parametrize("viewport", [PHONE, TABLET])
def test_every_part_in_every_state(family: House, viewport: dict[str, int]) -> None:
    """The page of all parts is no page of the service: it is put in the place of one."""
    looking = looking_at(family, viewport=viewport)
    looking.page.route("**/all-parts", lambda route: route.fulfill(content_type="text/html", body=all_parts()))
    assert looking.open("/all-parts") == 200
    assert not list(in_every_light(looking))
