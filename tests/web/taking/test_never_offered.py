"""Law: whatever is set out, no food that names what a child must not have is on that child's page.

In a browser with its taps: ``tests/browser/test_never_offered.py``.
"""

import json
from datetime import date
from urllib.parse import urlencode
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.jobs.household.kinds import CHILDREN
from service.jobs.household.records import edit_record
from tests.strategies import SHORT_LAW
from tests.web.kitchens import OURS, Browser, Kitchen
from tests.web.taking.naming import AVOIDED, named, telling

OFFERS = st.lists(st.lists(st.sampled_from(telling()), min_size=2, max_size=8, unique=True), min_size=1, max_size=4)
CLEAR = "apple"
"""A food that names nothing, put into each offer: it is there, so the page is not just empty."""


@pytest.fixture
def browser(kitchen: Kitchen) -> Browser:
    """A device that may do everything."""
    return kitchen.browser()


@pytest.mark.property
@settings(SHORT_LAW, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(groups=OFFERS, avoids=st.lists(st.sampled_from(AVOIDED), min_size=1, max_size=3, unique=True), taps=st.data())
def test_what_a_child_must_not_have_is_never_on_its_page_nor_taken_by_a_form(
    kitchen: Kitchen, browser: Browser, on: date, groups: list[list[str]], avoids: list[str], taps: st.DataObject
) -> None:
    child = kitchen.children["Rowan"]
    parts = json.dumps({"avoids": [{"allergen": one} for one in avoids]}).encode()
    groups[0] = list(dict.fromkeys([CLEAR, *groups[0]]))
    offered = [
        {"id": f"group {place}", "items": [{"food": food} for food in foods], "take": {"at_least": 0, "at_most": 2}}
        for place, foods in enumerate(groups)
    ]
    with kitchen.store.writing() as connection:
        edit_record(connection, CHILDREN, kitchen.id, child, lambda _version: None, parts, None)
    offer = kitchen.keep("offers", {"name": f"tried {uuid4()}", "groups": offered})
    query = [("offer", offer), ("day", on.isoformat())]
    seen: set[str] = set()
    for _tap in range(3):
        page = browser.get(f"/take/{child}?{urlencode(query)}")
        form = page.form(f"/take/{child}")
        tiles = [(value, pressable) for name, value, _text, pressable in form.buttons if name == "tap"]
        for food in {value.split("~")[1] for value, _pressable in tiles}:
            assert not named()[food] & set(avoids), f"{food} names {named()[food] & set(avoids)}"
            seen.add(food)
        can = [value for value, pressable in tiles if pressable]
        query = [*form.fields, ("tap", taps.draw(st.sampled_from(can)))] if can else query
    assert CLEAR in seen
    forbidden = [
        f"group {place}~{food}" for place, foods in enumerate(groups) for food in foods if named()[food] & set(avoids)
    ]
    finish = next(one for one in page.forms if one.method == "post" and one.action == f"/take/{child}")
    for key in forbidden[:2]:
        refused = browser.client.post(finish.action, data={**finish.data(), "take": [key]}, headers=OURS)
        assert refused.status_code == 409, key
    assert kitchen.lunch(child, on) is None
