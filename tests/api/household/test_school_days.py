"""Promise: a school day says what is set out, what the school cooks and who buys it; one a day; nothing in it hangs in the air."""

from datetime import date

from service.jobs.household.days.school_days import school_day_of, school_days_between
from service.jobs.household.retention.purging import purge
from service.store.database import Store
from tests.api.household.homes import Home, child_body, food_body, lunch_body, offer_body, school_day_body
from tests.api.problems_seen import problem_of

DAYS = "/v1/school-days"


def test_a_day_is_stored_as_it_was_sent(home: Home, store: Store) -> None:
    """With the offer, the menu and the buyers; a day of which nothing is known is one too."""
    child = home.kept("/v1/children", child_body())
    offer = home.kept("/v1/offers", offer_body(home.kept("/v1/foods", food_body())))
    home.kept(DAYS, school_day_body(child, "2026-12-01", offer=offer))
    home.kept(DAYS, {"date": "2026-12-02"})
    told = home.ask("GET", DAYS).json()["items"]
    assert [(one["date"], one["offer"], one["buys"]) for one in told] == [
        ("2026-12-01", offer, [child]), ("2026-12-02", None, []),
    ]  # fmt: skip
    assert (told[0]["menu"]["name"], told[1]["menu"]) == ("pasta bake", None)
    with store.reading() as connection:
        assert school_day_of(connection, home.id, date(2026, 12, 3)) is None
        between = school_days_between(connection, home.id, date(2026, 12, 1), date(2026, 12, 1))
    assert [(one.date, one.buys) for one in between] == [(date(2026, 12, 1), [child])]


def test_lists_are_asked_by_days(home: Home) -> None:
    """From a day on, up to a day; not backwards."""
    for day in ("2026-12-03", "2026-12-01", "2026-12-02"):
        home.kept(DAYS, {"date": day})
    for query, days in (
        ("from=2026-12-02", ["2026-12-03", "2026-12-02"]), ("to=2026-12-02", ["2026-12-01", "2026-12-02"]),
        ("from=2026-12-02&to=2026-12-02", ["2026-12-02"]), ("from=2026-12-04", []),
    ):  # fmt: skip
        assert [one["date"] for one in home.ask("GET", f"{DAYS}?{query}").json()["items"]] == days
    problem_of(home.ask("GET", f"{DAYS}?from=2026-12-02&to=2026-12-01"), 422, "bad-input")


def test_there_is_one_record_a_day(home: Home, neighbours: Home) -> None:
    """Of each household; the second is told which is there."""
    first = home.kept(DAYS, {"date": "2026-12-01"})
    neighbours.kept(DAYS, {"date": "2026-12-01"})
    answer = home.ask("POST", DAYS, {"date": "2026-12-01"})
    assert problem_of(answer, 409, "already-there")["errors"][0]["params"]["existing_id"] == first
    assert answer.headers["location"] == f"{DAYS}/{first}"


def test_what_it_names_must_be_here(home: Home, neighbours: Home) -> None:
    """All faults in one answer, each with its place; a child twice is one too."""
    child = neighbours.kept("/v1/children", child_body())
    mine = home.kept("/v1/children", child_body())
    told = problem_of(
        home.ask("POST", DAYS, {"date": "2026-12-01", "offer": child, "buys": [mine, child]}), 404, "not-there"
    )
    assert [one["pointer"] for one in told["errors"]] == ["#/offer", "#/buys/1"]
    problem_of(home.ask("POST", DAYS, {"date": "2026-12-01", "buys": [mine, mine]}), 422, "invalid-request")
    assert home.ask("GET", DAYS).json()["items"] == []


def test_an_offer_that_is_set_out_stays(home: Home) -> None:
    """Until no day names it."""
    offer = home.kept("/v1/offers", offer_body(home.kept("/v1/foods", food_body())))
    day = home.kept(DAYS, {"date": "2026-12-01", "offer": offer})
    told = problem_of(home.ask("DELETE", f"/v1/offers/{offer}", if_match="*"), 409, "still-used")
    assert "1 school day" in told["detail"]
    home.kept(DAYS, {"date": "2026-12-02", "offer": offer})
    assert "2 school days" in home.ask("DELETE", f"/v1/offers/{offer}", if_match="*").json()["detail"]
    for one in home.ask("GET", DAYS).json()["items"]:
        assert home.ask("PATCH", f"{DAYS}/{one['id']}", {"offer": None}, if_match="*").status_code == 200
    assert home.ask("DELETE", f"/v1/offers/{offer}", if_match="*").status_code == 204
    assert home.ask("GET", f"{DAYS}/{day}").json()["offer"] is None


def test_a_child_that_goes_buys_no_more(home: Home) -> None:
    """The days stay, with a new version; other children and other days are untouched."""
    wren, rowan = (home.kept("/v1/children", child_body(name)) for name in ("Wren", "Rowan"))
    both = home.kept(DAYS, school_day_body(wren, "2026-12-01", buys=[wren, rowan]))
    other = home.kept(DAYS, school_day_body(rowan, "2026-12-02"))
    assert home.ask("DELETE", f"/v1/children/{wren}", if_match="*").status_code == 204
    left = home.ask("GET", f"{DAYS}/{both}")
    assert (left.json()["buys"], left.headers["etag"]) == ([rowan], '"2"')
    assert home.ask("GET", f"{DAYS}/{other}").headers["etag"] == '"1"'
    assert wren not in home.ask("GET", "/v1/export").text


def test_a_logged_lunch_goes_its_own_way(home: Home) -> None:
    """Its offer and kind are what was logged, whatever the day says."""
    child = home.kept("/v1/children", child_body())
    home.kept(DAYS, school_day_body(child, "2026-12-01"))
    lunch = home.kept("/v1/lunches", lunch_body(child, "2026-12-01"))
    told = home.ask("GET", f"/v1/lunches/{lunch}").json()
    assert (told["kind"], told["offer"]) == ("packed", None)


def test_old_days_go_with_old_lunches(home: Home, store: Store) -> None:
    """Thirteen months, as the household says of its lunches."""
    for day in ("2025-10-31", "2025-11-01"):
        home.kept(DAYS, {"date": day})
    purge(store, date(2026, 12, 1))
    assert [one["date"] for one in home.ask("GET", DAYS).json()["items"]] == ["2025-11-01"]
