"""Promise: replies hold the published keys and types and no others, for everything in the tables.

Replies are built without their models, for speed; here every food, standard, jurisdiction and age group is asked for.
"""

from datetime import date, timedelta

import orjson
import pytest
from pydantic import TypeAdapter
from starlette.testclient import TestClient

from service.api.allergens import replies as of_allergens
from service.api.foods.replies import FoodReply
from service.api.lunch import replies
from service.jobs.foods.search import show_food
from service.reference.foods.generic_foods import generic_foods
from service.reference.foods.lunch_foods import lunch_foods
from service.reference.foods.recipes import recipes
from tests.api.clients import LUNCH

FOOD = TypeAdapter(FoodReply)
CHECK = TypeAdapter(replies.LunchCheckReply)


def test_every_food_is_shown_as_published() -> None:
    """Lunch foods and recipes all, of the generic foods one in twenty-five."""
    ids = [*lunch_foods().rows(), *recipes(), *list(generic_foods().ids())[::25]]
    for food_id in ids:
        shown = FOOD.validate_json(orjson.dumps(show_food(food_id)))
        assert shown.id == food_id
        assert shown.portions, food_id


def standards(service: TestClient) -> list[replies.StandardHead]:
    """All standards."""
    return replies.StandardList.model_validate(service.get("/v1/standards").json()).items


def test_every_standard_is_shown_as_published(service: TestClient) -> None:
    """On its first day and on a day of every year since."""
    for head in standards(service):
        day = date.fromisoformat(head.first_day)
        while day < date(2031, 1, 1):
            shown = service.get(f"/v1/standards/{head.id}", params={"on": day.isoformat()}).json()
            assert replies.StandardReply.model_validate(shown).in_force, (head.id, day)
            day += timedelta(days=365)


def test_every_age_group_is_checked_as_published(service: TestClient) -> None:
    """One lunch against every age group of every standard, by name and by its youngest age."""
    for head in standards(service):
        day = max(head.first_day, "2026-12-01")
        if head.kind == "frequencies":
            refused = service.post("/v1/lunch-checks", json={**LUNCH, "standard": head.id, "on": day})
            assert refused.status_code == 422
            assert "/v1/weekly-summaries" in refused.json()["errors"][0]["remedy"]
            continue
        for group in head.age_groups:
            for child in ({"age_group": group.id}, {"age_months": group.from_age_months}):
                body = {**LUNCH, "standard": head.id, "on": day, "child": child, "max_changes": 1}
                reply = CHECK.validate_json(service.post("/v1/lunch-checks", json=body).content)
                assert reply.standard.id == head.id
                if "age_group" in child:
                    assert reply.standard.age_group == group.id


@pytest.mark.parametrize("on", ["2022-12-01", "2026-12-01"])
def test_every_jurisdiction_is_shown_as_published(service: TestClient, on: str) -> None:
    """A day before the first list is 422, any other day gives a list with something on it."""
    for jurisdiction in service.get("/v1/allergens").json()["jurisdictions"]:
        answer = service.get("/v1/allergens", params={"jurisdiction": jurisdiction, "on": on})
        if answer.status_code == 422:
            assert on == "2022-12-01"
            continue
        shown = of_allergens.AllergenList.model_validate(answer.json())
        assert any(one.listed == "mandatory" for one in shown.items), jurisdiction


def test_the_choking_rules_are_shown_as_published(service: TestClient) -> None:
    """Each rule has limits with sources."""
    shown = of_allergens.ChokingRuleList.model_validate(service.get("/v1/choking-rules").json())
    assert all(rule.limits for rule in shown.items)


def test_nothing_is_named_when_nobody_was_named(service: TestClient) -> None:
    """No nickname sent, none in the reply."""
    assert "nickname" not in service.post("/v1/lunch-checks", json=LUNCH).json()
