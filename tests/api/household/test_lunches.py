"""Promise: a lunch that is logged is checked and screened; one that must not be packed is kept with a reason or not at all.

The findings are those of POST /v1/lunch-checks and /v1/allergen-screenings on the same lunch sent along.
"""

from typing import Any

import pytest

from tests.api.household.homes import Home, child_body, food_body, lunch_body, recipe_body, today
from tests.api.problems_seen import problem_of

PEANUT = "peanut-butter-crunchy"
DAY = "2026-12-01"
REASON = {"reason": "For the neighbour's child, whose lunch goes in the same bag."}


@pytest.fixture
def child(home: Home) -> str:
    """The id of a child that must not have peanuts."""
    return home.kept("/v1/children", child_body())


def test_a_lunch_is_answered_with_its_check_and_screening(home: Home, child: str) -> None:
    """The same as asked without keeping anything; a child born in March 2018 is 8 years and 8 months old by then."""
    answer = home.ask("POST", "/v1/lunches", lunch_body(child, DAY, "apple", "milk-1-percent"))
    assert answer.status_code == 201, answer.text
    told = answer.json()
    of_child = {"nickname": "Juniper", "age_months": 104, "avoids": [{"allergen": "peanut"}]}
    inline = home.ask("POST", "/v1/lunch-checks", {
        "standard": "us-school-lunch", "on": DAY, "child": of_child, "max_changes": 0,
        "lunch": {"items": [{"food": "apple"}, {"food": "milk-1-percent"}]},
    }).json()  # fmt: skip
    assert told["check"] == inline
    screening = home.ask("POST", "/v1/allergen-screenings", {
        "children": [{"nickname": "Juniper", "avoids": [{"allergen": "peanut"}]}],
        "items": [{"food": "apple"}, {"food": "milk-1-percent"}],
    }).json()  # fmt: skip
    assert told["screening"] == screening
    assert told["lunch"]["found"] == {
        "verdict": inline["verdict"],
        "standard": "us-school-lunch",
        "age_group": "grades-k-5",
        "do_not_pack": [],
        "rests_on": told["lunch"]["found"]["rests_on"],
    }
    assert len(told["lunch"]["found"]["rests_on"]) == 64
    assert home.ask("GET", answer.headers["location"]).json() == told["lunch"]


def test_a_lunch_that_must_not_be_packed_is_not_kept(home: Home, child: str) -> None:
    """409; the item and the allergen are named."""
    told = problem_of(
        home.ask("POST", "/v1/lunches", lunch_body(child, DAY, "apple", PEANUT)), 409, "must-not-be-packed"
    )
    (error,) = told["errors"]
    assert error["pointer"] == "#/items/1"
    assert "peanut" in error["detail"]
    assert "acknowledged" in error["remedy"]
    assert home.ask("GET", "/v1/lunches").json()["items"] == []


def test_with_a_reason_it_is_kept_and_the_reason_too(home: Home, child: str) -> None:
    """And what spoke against it."""
    answer = home.ask("POST", "/v1/lunches", lunch_body(child, DAY, "apple", PEANUT, acknowledged=REASON))
    assert answer.status_code == 201
    told = answer.json()
    assert told["check"]["verdict"] == "do_not_pack"
    kept = home.ask("GET", answer.headers["location"]).json()
    assert kept["acknowledged"] == REASON
    assert kept["found"]["verdict"] == "do_not_pack"
    assert any("peanut" in sentence for sentence in kept["found"]["do_not_pack"])


def test_the_reason_is_not_taken_away_again(home: Home, child: str) -> None:
    """By an edit that changes nothing else; another reason may take its place."""
    body = lunch_body(child, DAY, PEANUT, acknowledged=REASON)
    lunch = "/v1/lunches/" + home.kept("/v1/lunches", body)
    problem_of(home.ask("PATCH", lunch, {"acknowledged": None}, if_match='"1"'), 409, "must-not-be-packed")
    problem_of(home.ask("PUT", lunch, lunch_body(child, DAY, PEANUT), if_match='"1"'), 409, "must-not-be-packed")
    other = {"reason": "It goes to the neighbour."}
    assert home.ask("PATCH", lunch, {"acknowledged": other}, if_match='"1"').status_code == 200
    assert home.ask("GET", lunch).json()["acknowledged"] == other


@pytest.mark.parametrize("acknowledged", [{}, {"reason": ""}, {"reason": "   "}, {"reason": None}, "yes", True])
def test_an_empty_reason_is_none(home: Home, child: str, acknowledged: Any) -> None:
    """422, and nothing is kept."""
    body = lunch_body(child, DAY, PEANUT, acknowledged=acknowledged)
    problem_of(home.ask("POST", "/v1/lunches", body), 422, "invalid-request")
    assert home.ask("GET", "/v1/lunches").json()["items"] == []


def test_what_the_school_bans_counts(home: Home) -> None:
    """A child without allergies at a school that bans sesame."""
    child = home.kept("/v1/children", child_body("Rowan", avoids=[], bans=["sesame"]))
    food = home.kept("/v1/foods", food_body("sesame bar", ingredients="Sesame seeds, sugar."))
    told = problem_of(home.ask("POST", "/v1/lunches", lunch_body(child, DAY, food)), 409, "must-not-be-packed")
    assert "sesame" in told["detail"]


def test_an_own_food_within_an_own_recipe_is_found(home: Home, child: str) -> None:
    """Peanuts of a label, two ids deep."""
    food = home.kept("/v1/foods", food_body("nut bar", ingredients="Peanuts, sugar."))
    recipe = home.kept("/v1/recipes", recipe_body(food))
    told = problem_of(
        home.ask("POST", "/v1/lunches", lunch_body(child, DAY, "apple", recipe)), 409, "must-not-be-packed"
    )
    assert told["errors"][0]["pointer"] == "#/items/1"


def test_a_form_that_a_small_child_may_choke_on_counts_too(home: Home) -> None:
    """Whole grapes for a child of two (reference_data/handling/choking.toml has the sources)."""
    child = home.kept("/v1/children", child_body("Wren", birth_month="2024-09", standard="us-child-care-lunch"))
    body = lunch_body(child, DAY)
    body["items"] = [{"food": "grapes", "form": "whole"}]
    told = problem_of(home.ask("POST", "/v1/lunches", body), 409, "must-not-be-packed")
    assert "grape" in told["detail"]


@pytest.mark.parametrize("body", [
    {"kind": "bought"}, {"kind": "none"},
    {"kind": "bought", "menu": {"name": "pasta", "facts": {"energy_kcal": 560}}},
])  # fmt: skip
def test_bought_and_none_are_kept_unchecked(home: Home, child: str, body: dict[str, Any]) -> None:
    """Without items there is nothing to check."""
    answer = home.ask("POST", "/v1/lunches", {"child": child, "date": DAY, **body})
    assert answer.status_code == 201, answer.text
    told = answer.json()
    assert (told["check"], told["screening"], told["lunch"]["found"]) == (None, None, None)


@pytest.mark.parametrize(("body", "pointer"), [
    ({"kind": "packed"}, "#"),
    ({"kind": "none", "items": [{"food": "apple"}]}, "#"),
    ({"kind": "bought", "items": [{"food": "apple"}]}, "#"),
    ({"kind": "packed", "items": [{"food": "apple"}], "menu": {}}, "#"),
    ({"kind": "packed", "items": [{"food": "apple"}], "uneaten": [{"item": 1, "share": 0.5}]}, "#"),
    ({"kind": "packed", "items": [{"food": "apple"}], "uneaten": [{"item": 0, "share": 0.5}] * 2}, "#"),
    ({"kind": "packed", "items": [{"food": "apple"}], "uneaten": [{"item": 0, "share": 1.5}]}, "#/uneaten/0/share"),
    ({"kind": "packed", "items": [{"food": "apple"}], "found": {"verdict": "pack"}}, "#/found"),
    ({"kind": "packed", "items": [{"food": "apple"}], "date": "2026-02-30"}, "#/date"),
    ({"kind": "packed", "items": [{"food": "apple"}], "child": "Juniper"}, "#/child"),
])  # fmt: skip
def test_a_lunch_that_is_none(home: Home, child: str, body: dict[str, Any], pointer: str) -> None:
    """What a kind does not have, uneaten parts of no item, and a verdict of the caller's own."""
    told = problem_of(home.ask("POST", "/v1/lunches", {"child": child, "date": DAY, **body}), 422, "invalid-request")
    assert told["errors"][0]["pointer"] == pointer


@pytest.mark.parametrize(("item", "pointer"), [
    ({"food": "aple"}, "#/items/1/food"), ({"food": "apple", "unit": "bucket"}, "#/items/1/unit"),
])  # fmt: skip
def test_faults_point_into_what_was_logged(home: Home, child: str, item: Any, pointer: str) -> None:
    """Not into the check that was made of it."""
    body = lunch_body(child, DAY)
    body["items"] = [{"food": "apple"}, item]
    told = problem_of(home.ask("POST", "/v1/lunches", body), 422, "unknown-name")
    assert told["errors"][0]["pointer"] == pointer


def test_a_day_before_the_rules_is_told_at_the_date(home: Home) -> None:
    """The standard has no rules for 1999, when a child of 1991 went to school."""
    child = home.kept("/v1/children", child_body(birth_month="1991-05"))
    told = problem_of(home.ask("POST", "/v1/lunches", lunch_body(child, "1999-12-01")), 422, "outside-dates")
    assert told["errors"][0]["pointer"] == "#/date"


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
def test_a_day_at_an_end_of_the_calendar_is_refused(home: Home, child: str, day: str) -> None:
    """Python has no day before the one or after the other, and what holds on a day is looked for before and after it."""
    for method, path, body in (
        ("POST", "/v1/lunches", lunch_body(child, day)),
        ("PUT", f"/v1/children/{child}/lunches/{day}", lunch_body(child, day)),
        ("GET", f"/v1/lunches?date={day}", None),
    ):
        told = problem_of(home.ask(method, path, body), 422, "invalid-request")
        assert told["errors"][0]["code"] == "no-day"


def test_one_lunch_a_day_and_child(home: Home, child: str) -> None:
    """409 for the second; another child's is another."""
    home.kept("/v1/lunches", lunch_body(child, DAY))
    problem_of(home.ask("POST", "/v1/lunches", lunch_body(child, DAY)), 409, "already-there")
    home.kept("/v1/lunches", lunch_body(home.kept("/v1/children", child_body("Rowan")), DAY))


def test_an_edit_of_the_items_is_checked_anew(home: Home, child: str) -> None:
    """Peanuts do not get in by the back door, by PATCH or PUT."""
    lunch = "/v1/lunches/" + home.kept("/v1/lunches", lunch_body(child, DAY))
    with_peanut = lunch_body(child, DAY, PEANUT)
    for method, body in (("PATCH", {"items": with_peanut["items"]}), ("PUT", with_peanut)):
        problem_of(home.ask(method, lunch, body, if_match='"1"'), 409, "must-not-be-packed")
    assert home.ask("GET", lunch).headers["etag"] == '"1"'
    answer = home.ask("PATCH", lunch, {"items": with_peanut["items"], "acknowledged": REASON}, if_match='"1"')
    assert answer.json()["check"]["verdict"] == "do_not_pack"
    assert home.ask("GET", lunch).json()["found"]["verdict"] == "do_not_pack"
    gone = home.ask("PATCH", lunch, {"items": [{"food": "banana"}], "acknowledged": None}, if_match='"2"')
    assert gone.json()["lunch"]["found"]["do_not_pack"] == []


def test_another_child_is_another_check(home: Home, child: str) -> None:
    """A lunch for one child is moved to another that must not have it."""
    other = home.kept("/v1/children", child_body("Rowan", avoids=[]))
    lunch = "/v1/lunches/" + home.kept("/v1/lunches", lunch_body(other, DAY, PEANUT))
    problem_of(home.ask("PATCH", lunch, {"child": child}, if_match='"1"'), 409, "must-not-be-packed")
    assert home.ask("GET", lunch).json()["child"] == other


def test_what_came_back_is_noted_without_another_check(home: Home, child: str) -> None:
    """What was found then stays, as long as nothing has changed that it rests on; a new nickname is no such thing."""
    lunch = "/v1/lunches/" + home.kept("/v1/lunches", lunch_body(child, DAY, "apple", "milk-1-percent"))
    found = home.ask("GET", lunch).json()["found"]
    home.ask("PATCH", f"/v1/children/{child}", {"nickname": "June", "dislikes": ["leeks"]}, if_match="*")
    answer = home.ask("PATCH", lunch, {"uneaten": [{"item": 1, "share": 0.25}]}, if_match='"1"')
    assert answer.status_code == 200
    assert (answer.json()["check"], answer.json()["lunch"]["found"]) == (None, found)


@pytest.mark.parametrize("change", [{"avoids": [{"allergen": "milk"}]}, {"bans": ["milk"]}])
@pytest.mark.parametrize("edit", ["uneaten", "nothing", "sent again"])
def test_an_allergy_entered_later_is_seen_with_the_next_edit(
    home: Home, child: str, change: dict[str, Any], edit: str
) -> None:
    """Of the child, or banned by its school: whatever is edited, even nothing, the lunch is judged by what holds now."""
    body = lunch_body(child, DAY, "apple", "milk-1-percent")
    lunch = "/v1/lunches/" + home.kept("/v1/lunches", body)
    home.ask("PATCH", f"/v1/children/{child}", change, if_match="*")
    method = "PUT" if edit == "sent again" else "PATCH"
    sent = {"uneaten": {"uneaten": [{"item": 0, "share": 0.5}]}, "nothing": {}, "sent again": body}[edit]
    told = problem_of(home.ask(method, lunch, sent, if_match='"1"'), 409, "must-not-be-packed")
    assert told["errors"][0]["pointer"] == "#/items/1"
    answer = home.ask(method, lunch, {**sent, "acknowledged": REASON}, if_match='"1"')
    assert answer.status_code == 200, answer.text
    assert answer.json()["check"]["verdict"] == answer.json()["lunch"]["found"]["verdict"] == "do_not_pack"


def test_an_own_food_edited_later_is_seen_with_the_next_edit(home: Home, child: str) -> None:
    """Its label is read again, and names peanut by now; a recipe with it too."""
    food = home.kept("/v1/foods", food_body())
    recipe = home.kept("/v1/recipes", recipe_body(food))
    for day, item in (("2026-12-01", food), ("2026-12-02", recipe)):
        home.kept("/v1/lunches", lunch_body(child, day, item))
    home.ask("PATCH", f"/v1/foods/{food}", {"contains": "Contains: peanut."}, if_match="*")
    for lunch in home.ask("GET", "/v1/lunches").json()["items"]:
        answer = home.ask("PATCH", f"/v1/lunches/{lunch['id']}", {}, if_match="*")
        problem_of(answer, 409, "must-not-be-packed")


def test_another_standard_of_the_child_is_another_judgement(home: Home, child: str) -> None:
    """The standard it is checked against is the child's of now."""
    lunch = "/v1/lunches/" + home.kept("/v1/lunches", lunch_body(child, DAY, "apple"))
    home.ask("PATCH", f"/v1/children/{child}", {"standard": "gb-sct-school-lunch"}, if_match="*")
    answer = home.ask("PATCH", lunch, {}, if_match='"1"').json()
    assert answer["lunch"]["found"]["standard"] == answer["check"]["standard"]["id"] == "gb-sct-school-lunch"


def test_a_creation_sent_again_is_answered_with_its_first_reply(home: Home, child: str) -> None:
    """It was carried out once, then; nothing is kept by the second, so nothing is judged by what has changed since."""
    body = lunch_body(child, DAY, "milk-1-percent")
    first = home.ask("POST", "/v1/lunches", body, idempotency_key='"one"')
    home.ask("PATCH", f"/v1/children/{child}", {"avoids": [{"allergen": "milk"}]}, if_match="*")
    assert home.ask("POST", "/v1/lunches", body, idempotency_key='"one"').json() == first.json()
    assert len(home.ask("GET", "/v1/lunches").json()["items"]) == 1


def test_lunches_are_listed_by_child_and_week(home: Home, child: str) -> None:
    """ISO 8601 weeks: 2026-W49 is 30 November to 6 December, 2026-W53 ends on 3 January 2027."""
    other = home.kept("/v1/children", child_body("Rowan"))
    days = ["2026-11-29", "2026-11-30", "2026-12-06", "2026-12-07", "2027-01-03", "2027-01-04"]
    ids = {(who, day): home.kept("/v1/lunches", lunch_body(who, day)) for who in (child, other) for day in days}

    def listed(query: str) -> set[str]:
        answer = home.ask("GET", f"/v1/lunches?{query}")
        assert answer.status_code == 200, answer.text
        return {one["id"] for one in answer.json()["items"]}

    assert listed("") == set(ids.values())
    assert listed(f"child={child}") == {ids[child, day] for day in days}
    assert listed("week=2026-W49") == {ids[who, day] for who in (child, other) for day in days[1:3]}
    assert listed(f"child={other}&week=2026-W53") == {ids[other, "2027-01-03"]}
    for query in ("week=2026-W54", "week=49", "week=2027-W53", "child=Juniper", "day=2026-12-01"):
        assert home.ask("GET", f"/v1/lunches?{query}").status_code == 422, query


def test_a_childs_week_is_summed_up(home: Home, child: str) -> None:
    """The same as POST /v1/weekly-summaries with all of it sent along."""
    food = home.kept("/v1/foods", food_body())
    price = {"amount_minor": 340, "currency": "USD", "from": "2026-09-01"}
    home.kept("/v1/prices", {"what": "food", "food": food, "pack_grams": 240, **price})
    home.kept("/v1/prices", {"what": "food", "food": "apple", "pack_grams": 1000, **price})
    home.kept("/v1/prices", {"what": "school_meal", **price})
    home.kept("/v1/lunches", lunch_body(child, "2026-11-30", food, "apple", uneaten=[{"item": 1, "share": 0.5}]))
    home.kept("/v1/lunches", lunch_body(child, "2026-12-01", "banana"))
    home.kept("/v1/lunches", {"child": child, "date": "2026-12-02", "kind": "bought"})
    home.kept("/v1/lunches", lunch_body(child, "2026-12-07", "banana"))  # of the next week
    answer = home.ask("GET", f"/v1/children/{child}/weeks/2026-W49")
    assert answer.status_code == 200, answer.text
    inline = home.ask("POST", "/v1/weekly-summaries", {
        "standard": "us-school-lunch", "week": "2026-W49",
        "child": {"nickname": "Juniper", "age_months": 103, "avoids": [{"allergen": "peanut"}]},
        "days": [
            {"date": "2026-11-30", "kind": "packed", "items": [{"food": food_body() | {"id": food}}, {"food": "apple"}],
             "uneaten": [{"item": 1, "share": 0.5}]},
            {"date": "2026-12-01", "kind": "packed", "items": [{"food": "banana"}]},
            {"date": "2026-12-02", "kind": "bought"},
        ],
        "prices": [{"food": "oat bar", "pack_grams": 240, **price}, {"food": "apple", "pack_grams": 1000, **price}],
        "school_meal": [price],
    })  # fmt: skip
    assert inline.status_code == 200, inline.text
    told = answer.json()
    together = told["cost"].pop("household")
    assert together["amount_minor"] == told["cost"]["amount_minor"]  # there is no other child
    assert inline.json()["cost"].pop("household") is None
    expected = inline.json()
    del expected["cost"]["household"]
    assert told == expected


@pytest.mark.parametrize("week", ["2026-W54", "2027-W53", "W49", "2026-49", "2026-w49", "2026-W00"])
def test_a_week_that_is_none_is_422(home: Home, child: str, week: str) -> None:
    """The parameter is named."""
    told = problem_of(home.ask("GET", f"/v1/children/{child}/weeks/{week}"), 422, "bad-input")
    assert told["errors"][0]["pointer"] == "week"


def test_an_offer_that_is_not_there_is_404(home: Home, child: str) -> None:
    """A lunch says which offer it was taken from; that one is there."""
    offer = "01900000-0000-7000-8000-000000000001"
    told = problem_of(home.ask("POST", "/v1/lunches", lunch_body(child, today(), offer=offer)), 404, "not-there")
    assert told["errors"][0]["pointer"] == "#/offer"


@pytest.mark.parametrize(
    ("accept", "media", "begins"),
    [("text/html", "text/html; charset=utf-8", "<!doctype html>"), ("text/csv", "text/csv", "row,week,")],
)
def test_a_childs_week_comes_as_a_page_or_as_csv_too(
    home: Home, child: str, accept: str, media: str, begins: str
) -> None:
    home.kept("/v1/lunches", lunch_body(child, "2026-12-01", "banana"))
    answer = home.ask("GET", f"/v1/children/{child}/weeks/2026-W49", accept=accept)
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"].startswith(media)
    assert "Accept" in answer.headers["vary"].split(", ")
    assert answer.headers["cache-control"] == "no-store"
    assert answer.text.lower().startswith(begins), answer.text[:60]
    if accept == "text/html":
        assert "default-src 'none'" in answer.headers["content-security-policy"]


def test_a_lunch_with_its_offer_says_whether_the_family_rule_was_kept(home: Home) -> None:
    """One from each of two groups: apple and bar keep it; two fruits, and nothing else from the offer, do not."""
    ids = home.fill()
    for foods, kept, codes in (
        (("apple", ids["foods"]), True, []),
        (("apple", "banana"), False, ["rule-kept.number", "rule-kept.number"]),
        (("apple", ids["foods"], "water"), False, ["rule-kept.not-on-offer"]),
    ):
        day = today(-1 - len(codes))
        answer = home.ask("POST", "/v1/lunches", lunch_body(ids["children"], day, *foods, offer=ids["offers"]))
        assert answer.status_code == 201, answer.text
        rule = answer.json()["family_rule"]
        assert (rule["kept"], [one["code"] for one in rule["reason_messages"]]) == (kept, codes)
    plain = home.ask("POST", "/v1/lunches", lunch_body(ids["children"], today(-9)))
    assert plain.json()["family_rule"] is None


def test_a_logged_lunch_goes_by_the_guidance_the_household_has_chosen(home: Home) -> None:
    """A child of five years and six months: whole small fruit below 6 years (DfE), below 4 (AAP); all, where none is chosen."""
    child = home.kept("/v1/children", child_body(birth_month="2021-06", avoids=[]))
    told = {}
    for day, regions in enumerate((None, ["US"], ["GB"]), 1):
        assert home.ask("PATCH", "/v1/household", {"regions": regions}, if_match="*").status_code == 200
        grapes = {"food": "grapes", "form": "whole"}
        body = {**lunch_body(child, f"2026-12-0{day}"), "items": [grapes], "acknowledged": REASON}
        answer = home.ask("POST", "/v1/lunches", body)
        assert answer.status_code == 201, answer.text
        told[str(regions)] = {
            one["status"] for one in answer.json()["check"]["handling"] if one["status"] in ("fix", "do_not_pack")
        }
    assert told["['US']"] == set()
    assert told["None"] == told["['GB']"] != set()


def test_a_week_goes_by_the_guidance_the_household_has_chosen(home: Home) -> None:
    """As above: whole small fruit below 6 years (DfE), below 4 (AAP); a request that names regions goes by those."""
    child = home.kept("/v1/children", child_body(birth_month="2021-06", avoids=[]))
    grapes = {"date": "2026-12-01", "kind": "packed", "items": [{"food": "grapes", "form": "whole"}]}

    def told(**more: Any) -> set[str]:
        asked = {"child": child, "week": "2026-W49", "days": [grapes], **more}
        answer = home.ask("POST", "/v1/weekly-summaries", asked)
        assert answer.status_code == 200, answer.text
        return {one["status"] for one in answer.json()["handling"]}

    for regions in (None, ["US"], ["GB"]):
        assert home.ask("PATCH", "/v1/household", {"regions": regions}, if_match="*").status_code == 200
        assert (told() == set()) == (regions == ["US"])
    assert told(regions=["US"]) == set()
