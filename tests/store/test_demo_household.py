"""Promise: the demo family's four weeks are plausible, are always the same, and pass what a family's own lunches must.

Invented data; what is checked from outside are the calendar (ISO 8601 weeks, by ``datetime``) and the checks themselves.
"""

from collections import Counter
from datetime import date
from typing import Any

from service.jobs.household.demo import DemoHousehold, keep_demo_household
from service.jobs.household.stored.stored_ids import with_ids_resolved
from service.jobs.household.transfer.export_household import read_household
from service.jobs.offers.audit_offer import audit_offer
from service.jobs.plan.weeks.plan_weeks import plan_weeks
from service.jobs.plan.weeks.requests import PlanWithIds
from service.store.database import Store
from tests.api.clients import client

SCHOOL_MEAL_MINOR, PORTIONS_A_BATCH = 310, 4
"""In the invented data."""
TODAY = date(2026, 11, 25)
SATURDAY = date(2026, 11, 28)


def _verdicts(kept: DemoHousehold) -> Counter[str]:
    return Counter(one["found"]["verdict"] for one in kept.lunches if one["found"])


def test_four_plausible_weeks(store: Store) -> None:
    """Every school day of four ISO weeks for three children, when they are over; nearly all keep the rules or nearly so."""
    kept = keep_demo_household(store, SATURDAY)
    days = {date.fromisoformat(one["date"]) for one in kept.lunches}
    assert sorted({day.isocalendar()[:2] for day in days}) == [(2026, 45), (2026, 46), (2026, 47), (2026, 48)]
    assert {day.isoweekday() for day in days} == {1, 2, 3, 4, 5}
    assert len(kept.lunches) == 3 * 4 * 5
    kinds = Counter(one["kind"] for one in kept.lunches)
    assert kinds == {"packed": 55, "bought": 4, "none": 1}
    verdicts = _verdicts(kept)
    assert verdicts["pack"] + verdicts["adjust"] >= 54
    assert verdicts["pack"] >= 30
    (acknowledged,) = [one for one in kept.lunches if one["acknowledged"]]
    assert acknowledged["found"]["verdict"] == "do_not_pack"
    assert verdicts["do_not_pack"] == 1
    assert any(one["uneaten"] for one in kept.lunches)


def test_nothing_is_logged_after_today_and_two_children_are_still_to_take(store: Store) -> None:
    """On a Wednesday: until Tuesday for all, on that day for the first child; so a newcomer can take a lunch at once."""
    kept = keep_demo_household(store, TODAY)
    last = {
        name: max(one["date"] for one in kept.lunches if one["child"] == str(child))
        for name, child in kept.children.items()
    }
    assert last == {"Juniper": "2026-11-25", "Rowan": "2026-11-24", "Linden": "2026-11-24"}
    assert len(kept.lunches) == 3 * (3 * 5 + 2) + 1


def test_no_lunch_goes_against_an_allergy(store: Store) -> None:
    """Linden avoids peanuts: nothing in its lunches may hold any, acknowledged or not."""
    kept = keep_demo_household(store, TODAY)
    linden = str(kept.children["Linden"])
    assert not [one for one in kept.lunches if one["child"] == linden and one["acknowledged"]]
    assert all(
        one["found"]["verdict"] in ("pack", "adjust") for one in kept.lunches if one["child"] == linden and one["found"]
    )


def test_always_the_same(store: Store) -> None:
    """Twice on the same day: all but ids and moments is the same; a year on the dates and the births move along."""
    first, again = (_bodies(store, TODAY) for _ in range(2))
    assert first == again
    later = _bodies(store, date(2027, 11, 24))
    assert len(later["lunches"]) == len(first["lunches"])
    assert [one["birth_month"][:4] for one in later["children"]] == [
        str(int(one["birth_month"][:4]) + 1) for one in first["children"]
    ]


def _bodies(store: Store, today: date) -> dict[str, list[Any]]:
    from service.jobs.household.access.households import forget_household

    kept = keep_demo_household(store, today)
    whole = read_household(store, kept.household)
    forget_household(store, kept.household)
    names = {str(record.id): f"<{name} {n}>" for name, some in whole.records.items() for n, record in enumerate(some)}
    names |= {plan.body["found"]["of"]: "<digest of ids>" for plan in whole.records["plans"]}

    def named(part: Any) -> Any:
        if isinstance(part, dict):
            return {key: named(value) for key, value in part.items()}
        if isinstance(part, list):
            return [named(value) for value in part]
        return names.get(part, part) if isinstance(part, str) else part

    return {name: [named(record.body) for record in some] for name, some in whole.records.items()}


def test_every_address_has_something_to_show(store: Store, store_url: str) -> None:
    """Each list of the API, each child's four weeks, its costs among them, and the export, asked with the demo's key."""
    kept = keep_demo_household(store, TODAY)
    with client(database_url=store_url) as service:
        service.headers["Authorization"] = f"Bearer {kept.key}"
        for name in ("children", "foods", "recipes", "offers", "prices", "lunches", "keys"):
            assert service.get(f"/v1/{name}").json()["items"], name
        for child in kept.children.values():
            for week in range(45, 49):
                told = service.get(f"/v1/children/{child}/weeks/2026-W{week}")
                assert told.status_code == 200, told.text
                assert told.json()["findings"]
                assert told.json()["cost"]["unpriced"] == []
        assert len(service.get("/v1/export").json()["lunches"]) == len(kept.lunches)


def test_the_week_to_come_is_planned_as_a_person_would(store: Store, store_url: str) -> None:
    """The stored offer by its id on five days, batches on Sunday, some of them frozen and moved in time; lunches that are right for
    each child; and what all of it costs against the school's meal.

    What the page shows is planned again from the store: nothing is missing there, so it goes by the household's regions.
    """
    kept = keep_demo_household(store, TODAY)
    with client(database_url=store_url) as service:
        service.headers["Authorization"] = f"Bearer {kept.key}"
        (plan,) = service.get("/v1/plans").json()["items"]
        usual = next(one["id"] for one in service.get("/v1/offers").json()["items"] if one["name"] == "usual mornings")
    asked, decided = plan["asked"], plan["decisions"]
    assert [one["offer"] for one in asked["offers"]] == [usual]
    assert asked["prep_days"] == ["2026-11-29"]
    assert [(one["day"], one["offer"]) for one in decided["days"]] == [
        (f"2026-{day}", "usual mornings") for day in ("11-30", "12-01", "12-02", "12-03", "12-04")
    ]
    ((made_on, batches),) = [(one["made_on"], one["batches"]) for one in decided["batches"]]
    assert made_on == "2026-11-29"
    with store.reading() as connection:
        again = with_ids_resolved(connection, kept.household, PlanWithIds.model_validate(asked, strict=False))
    shown = plan_weeks(again)
    assert not shown["short"]
    pot = "rice and bean pot"
    there = sum(one["portions"] for one in shown["from_stock"] if one["name"] == pot)
    to_make = sum(one["portions"] for one in shown["needs"] if one["name"] == pot) - there
    assert batches == -(-to_make // PORTIONS_A_BATCH) > 0
    (made,) = shown["batches"]
    assert made["to_freezer"] > 0
    assert [one for one in shown["moves"] if one["name"] == pot and one["evening"] > made_on]
    assert shown["unpriced"] == []
    score = shown["score"]
    assert 0 < score["packed_minor"] < score["all_bought_minor"] == 3 * 5 * SCHOOL_MEAL_MINOR
    assert 0 < shown["score"]["right"] < shown["score"]["lunches"]
    audit = audit_offer(again.audit(0))
    assert [one["child"] for one in audit["children"] if not one["right"]] == []
