"""Promise: a logged lunch keeps the figures and rules it was judged by; what was edited since is offered, not imposed."""

from typing import Any
from uuid import UUID

import pytest
from sqlalchemy import update

from service.store.database import Store
from service.store.household.kinds import LUNCH
from service.store.household.records import find
from tests.api.household.homes import Home, child_body, food_body, lunch_body, packet_body, recipe_body
from tests.api.problems_seen import problem_of

DAY, WEEK = "2026-12-01", "2026-W49"


@pytest.fixture
def child(home: Home) -> str:
    return home.kept("/v1/children", child_body())


def week_of(home: Home, child: str, week: str = WEEK) -> dict[str, Any]:
    answer = home.ask("GET", f"/v1/children/{child}/weeks/{week}")
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


def without(reply: dict[str, Any], *names: str) -> dict[str, Any]:
    return {
        name: value for name, value in reply.items() if name not in ("corrections", "notes", "note_messages", *names)
    }


@pytest.mark.parametrize("packed", ["food", "recipe with it"])
def test_an_own_food_edited_later_does_not_move_a_past_week(home: Home, child: str, packed: str) -> None:
    """170 kcal a bar when it was packed; 350 now. The week says so, and an empty edit of the lunch takes it over."""
    food = home.kept("/v1/foods", food_body())
    item = food if packed == "food" else home.kept("/v1/recipes", recipe_body(food))
    lunch = home.kept("/v1/lunches", lunch_body(child, DAY, item, "apple"))
    before = week_of(home, child)
    assert before["corrections"] == []
    edit = {"name": "oat slice", "facts": {"energy_kcal": 350, "sodium_mg": 75}}
    home.ask("PATCH", f"/v1/foods/{food}", edit, if_match="*")
    after = week_of(home, child)
    assert without(after) == without(before)
    (offered,) = after["corrections"]
    assert (offered["kind"], offered["food"], offered["dates"]) == ("food", item, [DAY])
    assert offered["sentence"] in after["notes"]
    home.ask("PATCH", f"/v1/lunches/{lunch}", {}, if_match="*")
    taken_over = week_of(home, child)
    assert taken_over["corrections"] == []
    assert taken_over["means"]["energy_kcal"]["mean"] > before["means"]["energy_kcal"]["mean"] + 100


def test_noting_what_came_back_takes_nothing_over(home: Home, child: str) -> None:
    """Half of the apple came back; the bar keeps its 170 kcal, though its label was edited in between."""
    food = home.kept("/v1/foods", food_body())
    lunch = home.kept("/v1/lunches", lunch_body(child, DAY, food, "apple"))
    bar = week_of(home, child)["days"][1]["totals"]["energy_kcal"]["amount"]
    home.ask("PATCH", f"/v1/foods/{food}", {"facts": {"energy_kcal": 350}}, if_match="*")
    noted = home.ask("PATCH", f"/v1/lunches/{lunch}", {"uneaten": [{"item": 1, "share": 0.5}]}, if_match="*")
    assert noted.status_code == 200, noted.text
    reply = week_of(home, child)
    assert reply["days"][1]["totals"]["energy_kcal"]["amount"] < bar
    assert [one["food"] for one in reply["corrections"]] == [food]


def test_an_allergen_found_later_is_seen_in_the_past_week_and_never_recommended(home: Home, child: str) -> None:
    """Its label is read again and names peanut: the figures stay those of then, the allergen does not."""
    food = home.kept("/v1/foods", food_body())
    for day in ("2026-11-30", DAY):
        home.kept("/v1/lunches", lunch_body(child, day, food, "apple"))
    home.ask("PATCH", f"/v1/foods/{food}", {"contains": "Contains: peanut."}, if_match="*")
    reply = week_of(home, child)
    assert [(row["name"], row["outcome"]) for row in reply["allergens"] if row["do_not_pack"]] == [("oat bar", "avoid")]
    assert reply["changes"][0]["mends"] == ["allergen:peanut"]
    assert reply["changes"][0]["kind"] == "remove"
    assert not any(one["kind"] == "portion" and one["name"] == "oat bar" for one in reply["changes"])


def allergen_rows(reply: dict[str, Any]) -> list[tuple[str, str, bool]]:
    return [(row["name"], row["outcome"], row["do_not_pack"]) for row in reply["allergens"]]


@pytest.mark.parametrize("packed", ["food", "recipe with it"])
def test_the_packet_of_then_counts_for_an_own_food_edited_later(home: Home, packed: str) -> None:
    """Its own label says nothing of milk; the packet that was read before it was packed clears it. Another name and another
    energy figure since are no reason to say that the label was not read, not even once the packet is removed.
    """
    child = home.kept("/v1/children", child_body(avoids=[{"allergen": "milk"}]))
    food = home.kept("/v1/foods", food_body(ingredients=None))
    item = food if packed == "food" else home.kept("/v1/recipes", recipe_body(food))
    packet = home.kept("/v1/packets", packet_body(food) | {"may_contain": ""})
    home.kept("/v1/lunches", lunch_body(child, DAY, item, "apple"))
    before = allergen_rows(week_of(home, child))
    assert [outcome for _name, outcome, _bad in before] == ["not_declared", "not_declared"]
    edit = {"name": "oat slice", "facts": {"energy_kcal": 350, "sodium_mg": 75}}
    home.ask("PATCH", f"/v1/foods/{food}", edit, if_match="*")
    assert allergen_rows(week_of(home, child)) == before
    assert home.ask("DELETE", f"/v1/packets/{packet}", if_match="*").status_code == 204
    assert allergen_rows(week_of(home, child)) == before


@pytest.mark.parametrize(
    ("edit", "outcome"),
    [({"contains": "Contains: milk."}, "avoid"), ({"may_contain": "May contain milk."}, "may_contain")],
)
def test_a_danger_found_later_is_told_though_a_packet_cleared_the_food_then(
    home: Home, edit: dict[str, str], outcome: str
) -> None:
    child = home.kept("/v1/children", child_body(avoids=[{"allergen": "milk", "threshold": "may_contain"}]))
    food = home.kept("/v1/foods", food_body(ingredients=None))
    home.kept("/v1/packets", packet_body(food) | {"may_contain": ""})
    home.kept("/v1/lunches", lunch_body(child, DAY, food, "apple"))
    home.ask("PATCH", f"/v1/foods/{food}", edit, if_match="*")
    reply = week_of(home, child)
    assert allergen_rows(reply)[0] == ("oat bar", outcome, True)
    assert (reply["changes"][0]["kind"], reply["changes"][0]["mends"]) == ("remove", ["allergen:milk"])


def test_another_standard_does_not_judge_old_weeks_anew(home: Home, child: str) -> None:
    """Logged by the US pattern; the child's standard is Scotland's now. A bought lunch keeps its rules as well."""
    home.kept("/v1/lunches", {"child": child, "date": "2026-11-30", "kind": "bought"})
    lunch = home.kept("/v1/lunches", lunch_body(child, DAY))
    before = week_of(home, child)
    home.ask("PATCH", f"/v1/children/{child}", {"standard": "gb-sct-school-lunch"}, if_match="*")
    after = week_of(home, child)
    assert without(after) == without(before)
    (offered,) = after["corrections"]
    assert (offered["kind"], offered["food"], offered["dates"]) == ("rules", None, ["2026-11-30", DAY])
    assert offered["params"]["standard"] == before["standard"]["title"]
    home.kept("/v1/lunches", lunch_body(child, "2026-12-08"))
    later = week_of(home, child, "2026-W50")
    assert later["standard"]["id"] == "gb-sct-school-lunch"
    assert later["standard"]["title"] == offered["params"]["standard_now"]
    assert [(one["week"], one["judged"]) for one in later["trend"]] == [("2026-W49", False), ("2026-W50", True)]
    for one in home.ask("GET", "/v1/lunches?week=2026-W49").json()["items"]:
        home.ask("PATCH", f"/v1/lunches/{one['id']}", {}, if_match="*")
    assert week_of(home, child)["standard"]["id"] == "gb-sct-school-lunch"
    assert home.ask("GET", f"/v1/lunches/{lunch}").json()["judged_by"]["standard"] == "gb-sct-school-lunch"


def test_a_birth_month_corrected_later_does_not_move_a_past_week(home: Home, child: str) -> None:
    """Eight years old: grades K to 5. By the corrected month eleven: grades 6 to 8, which the week only says."""
    home.kept("/v1/lunches", lunch_body(child, DAY))
    home.ask("PATCH", f"/v1/children/{child}", {"birth_month": "2014-03"}, if_match="*")
    reply = week_of(home, child)
    assert reply["standard"]["age_group"] == "grades-k-5"
    assert [one["kind"] for one in reply["corrections"]] == ["rules"]


def test_a_birthday_within_the_week_is_said_and_the_week_keeps_one_set_of_rules(home: Home) -> None:
    """Born in November 2015, so counted as eleven from 1 December 2026 (a Tuesday); the pattern changes at eleven."""
    child = home.kept("/v1/children", child_body(birth_month="2015-11"))
    for day in ("2026-11-30", DAY, "2026-12-08"):
        home.kept("/v1/lunches", lunch_body(child, day))
    reply = week_of(home, child)
    assert reply["standard"]["age_group"] == "grades-k-5"
    assert reply["corrections"] == []
    assert [one["code"] for one in reply["note_messages"]].count("week-note.birthday") == 1
    later = week_of(home, child, "2026-W50")
    assert later["standard"]["age_group"] == "grades-6-8"
    assert "week-note.birthday" not in [one["code"] for one in later["note_messages"]]


@pytest.mark.parametrize(
    ("standard", "born", "group"),
    [
        ("gb-sct-school-lunch", "2021-11", "primary"),
        ("ca-nl-school-lunch", "2021-11", "school-age"),
        ("jp-school-lunch", "2020-11", "ages-6-7"),
    ],
)
def test_a_week_within_which_the_child_is_old_enough_can_be_seen(
    home: Home, standard: str, born: str, group: str
) -> None:
    """Counted as five, or six, from 1 December 2026 (a Tuesday); Primary 1 and school age begin at five, Japan's table at six.

    The lunches of Tuesday and Wednesday are judged, so their week is too, by the rules of these days.
    """
    child = home.kept("/v1/children", child_body(standard=standard, birth_month=born))
    home.kept("/v1/lunches", {"child": child, "date": "2026-11-30", "kind": "bought"})
    for day in (DAY, "2026-12-02", "2026-12-08"):
        home.kept("/v1/lunches", lunch_body(child, day, "banana"))
    reply = week_of(home, child)
    assert reply["standard"]["age_group"] == group
    assert [one["kind"] for one in reply["days"]][:3] == ["bought", "packed", "packed"]
    assert reply["corrections"] == []
    codes = [one["code"] for one in reply["note_messages"]]
    assert (codes.count("week-note.old-enough"), codes.count("week-note.birthday")) == (1, 0)
    assert [one["judged"] for one in week_of(home, child, "2026-W50")["trend"]] == [True, True]
    sent = {"child": child, "week": WEEK, "days": [{"date": DAY, "kind": "packed", "items": [{"food": "apple"}]}]}
    summed = home.ask("POST", "/v1/weekly-summaries", sent)
    assert (summed.status_code, summed.json()["standard"]["age_group"]) == (200, group)


def test_a_week_before_the_child_is_old_enough_is_refused_in_words(home: Home) -> None:
    """Counted as five from 1 December 2026: the week that ends on 29 November has no day for it."""
    child = home.kept("/v1/children", child_body(standard="gb-sct-school-lunch", birth_month="2021-11"))
    problem_of(home.ask("GET", f"/v1/children/{child}/weeks/2026-W48"), 422, "outside-age-groups")


def test_what_speaks_against_packing_is_looked_for_in_what_is_stored_now(home: Home, child: str) -> None:
    """Even where only what came back is noted."""
    food = home.kept("/v1/foods", food_body())
    lunch = home.kept("/v1/lunches", lunch_body(child, DAY, food))
    home.ask("PATCH", f"/v1/foods/{food}", {"contains": "Contains: peanut."}, if_match="*")
    answer = home.ask("PATCH", f"/v1/lunches/{lunch}", {"uneaten": [{"item": 0, "share": 1}]}, if_match="*")
    problem_of(answer, 409, "must-not-be-packed")


def test_a_stored_meal_of_which_only_the_name_is_known_has_no_figures(home: Home, child: str) -> None:
    """What was not sent is stored as null, which is no figure either."""
    home.kept("/v1/lunches", lunch_body(child, "2026-11-30"))
    before = week_of(home, child)
    home.kept("/v1/lunches", {"child": child, "date": DAY, "kind": "bought", "menu": {"name": "pasta"}})
    reply = week_of(home, child)
    assert (reply["means"], reply["shown_apart"]) == (before["means"], [DAY])


SEEDED = {"ingredients": "Chickpeas, tahini (sesame), salt."}


def test_a_packet_edited_later_does_not_move_a_past_week(home: Home) -> None:
    """Hummus of 160 kcal and without milk by its packet; the packet is edited to 400 kcal. An empty edit takes it over."""
    child = home.kept("/v1/children", child_body(avoids=[{"allergen": "milk"}]))
    read = {"food": "hummus", "read_on": "2026-11-03", "ingredients": "Chickpeas, water, salt."}
    packet = home.kept("/v1/packets", {**read, "facts": {"energy_kcal": 160}})
    lunch = home.kept("/v1/lunches", lunch_body(child, DAY, "hummus", "apple"))
    before = week_of(home, child)
    assert before["corrections"] == []
    home.ask("PATCH", f"/v1/packets/{packet}", {"facts": {"energy_kcal": 350}}, if_match="*")
    after = week_of(home, child)
    assert without(after, "changes") == without(before, "changes")
    (offered,) = after["corrections"]
    assert (offered["kind"], offered["food"], offered["dates"]) == ("packet", "hummus", [DAY])
    assert (offered["names"], offered["do_not_pack"]) == (["hummus, shop bought"], False)
    assert offered["sentence"] in after["notes"]
    home.ask("PATCH", f"/v1/lunches/{lunch}", {}, if_match="*")
    taken_over = week_of(home, child)
    assert taken_over["corrections"] == []
    assert taken_over["means"]["energy_kcal"]["mean"] > before["means"]["energy_kcal"]["mean"]


def test_a_packet_of_which_the_week_would_say_the_same_is_not_offered(home: Home, child: str) -> None:
    """Another number under its bar code, and read once more: no word of it."""
    packet = home.kept("/v1/packets", {"food": "hummus", "read_on": "2026-11-03", **SEEDED})
    home.kept("/v1/lunches", lunch_body(child, DAY, "hummus"))
    before = week_of(home, child)
    home.ask("PATCH", f"/v1/packets/{packet}", {"gtin": "4006381333931"}, if_match="*")
    home.kept("/v1/packets", {"food": "hummus", "read_on": "2026-11-20", **SEEDED})
    assert without(week_of(home, child), "changes") == without(before, "changes")
    assert week_of(home, child)["corrections"] == []


@pytest.mark.parametrize("packed", ["food", "recipe with it"])
@pytest.mark.parametrize("how", ["edited", "read later"])
def test_a_packet_that_names_what_the_child_avoids_later_is_always_told(home: Home, packed: str, how: str) -> None:
    """It names sesame now. The allergen rows keep what was known then; the correction names the food, and no change for
    next week keeps it.
    """
    child = home.kept("/v1/children", child_body(avoids=[{"allergen": "sesame"}]))
    food = home.kept("/v1/foods", food_body())
    item = food if packed == "food" else home.kept("/v1/recipes", recipe_body(food))
    name = "oat bar" if packed == "food" else "crumble"
    packet = home.kept("/v1/packets", {"food": food, "read_on": "2026-11-03", "ingredients": "Oats, sugar, salt."})
    lunches = [home.kept("/v1/lunches", lunch_body(child, day, item, "apple")) for day in ("2026-11-30", DAY)]
    before = week_of(home, child)
    assert not any(row["do_not_pack"] for row in before["allergens"])
    if how == "edited":
        home.ask("PATCH", f"/v1/packets/{packet}", {"ingredients": "Oats, sesame seeds, salt."}, if_match="*")
    else:
        again = {"food": food, "read_on": "2026-11-20", "ingredients": "Oats, sesame seeds, salt."}
        home.kept("/v1/packets", again)
    after = week_of(home, child)
    assert after["allergens"] == before["allergens"]
    (found,) = after["corrections"]
    assert (found["kind"], found["food"], found["dates"]) == ("packet", food, ["2026-11-30", DAY])
    assert (found["names"], found["allergens"], found["do_not_pack"]) == ([name], ["sesame"], True)
    assert f"{name} contains sesame" in found["sentence"]
    assert after["notes"][0] == found["sentence"]
    assert (after["changes"][0]["kind"], after["changes"][0]["mends"]) == ("remove", ["allergen:sesame"])
    for lunch in lunches:
        problem_of(home.ask("PATCH", f"/v1/lunches/{lunch}", {}, if_match="*"), 409, "must-not-be-packed")
        edit = {"acknowledged": {"reason": "it was eaten already"}}
        assert home.ask("PATCH", f"/v1/lunches/{lunch}", edit, if_match="*").status_code == 200
    taken_over = week_of(home, child)
    assert taken_over["corrections"] == []
    assert [row["name"] for row in taken_over["allergens"] if row["do_not_pack"]] == [name]


def test_a_packet_removed_later_still_holds_for_the_lunch_that_was_judged_by_it(home: Home) -> None:
    child = home.kept("/v1/children", child_body(avoids=[{"allergen": "milk"}]))
    packet = home.kept("/v1/packets", {"food": "hummus", "read_on": "2026-11-03", **SEEDED})
    home.kept("/v1/lunches", lunch_body(child, DAY, "hummus"))
    before = week_of(home, child)
    assert home.ask("DELETE", f"/v1/packets/{packet}", if_match="*").status_code == 204
    after = week_of(home, child)
    assert after["allergens"] == before["allergens"]
    assert [(one["kind"], one["food"], one["do_not_pack"]) for one in after["corrections"]] == [
        ("packet", "hummus", False)
    ]


def test_an_allergy_entered_later_is_told_for_what_was_eaten(home: Home, child: str) -> None:
    """Milk on Monday and Tuesday, from two menus: packed, and bought at school. The rows stay, the foods are named."""
    bought = {"name": "pasta", "contains": "Contains: milk."}
    home.kept("/v1/lunches", {"child": child, "date": "2026-11-30", "kind": "bought", "menu": bought})
    home.kept("/v1/lunches", lunch_body(child, DAY, "apple", "milk-1-percent"))
    before = week_of(home, child)
    both = {"avoids": [{"allergen": "peanut"}, {"allergen": "milk"}]}
    home.ask("PATCH", f"/v1/children/{child}", both, if_match="*")
    after = week_of(home, child)
    assert after["allergens"] == before["allergens"]
    milk = next(one["name"] for one in before["allergens"] if one["food"] == "milk-1-percent")
    (found,) = [one for one in after["corrections"] if one["do_not_pack"]]
    assert (found["kind"], found["food"], found["dates"]) == ("avoids", None, ["2026-11-30", DAY])
    assert (found["names"], found["allergens"]) == (["pasta", milk], ["milk"])
    assert "pasta contains milk" in found["sentence"]
    assert after["notes"][0] == found["sentence"]
    assert after["changes"][0]["mends"] == ["allergen:milk"]


def test_an_allergy_entered_after_the_packet_that_names_it_was_read_is_told(home: Home, child: str) -> None:
    """Neither the packet nor the allergy was known when the lunch was logged."""
    food = home.kept("/v1/foods", food_body())
    home.kept("/v1/lunches", lunch_body(child, DAY, food))
    home.kept("/v1/packets", {"food": food, "read_on": "2026-11-20", "ingredients": "Oats, sesame seeds."})
    assert week_of(home, child)["corrections"] == []
    home.ask("PATCH", f"/v1/children/{child}", {"avoids": [{"allergen": "sesame"}]}, if_match="*")
    found = [one for one in week_of(home, child)["corrections"] if one["do_not_pack"]]
    assert [(one["kind"], one["names"], one["allergens"]) for one in found] == [("avoids", ["oat bar"], ["sesame"])]


def test_what_is_no_longer_avoided_or_banned_is_offered_where_the_week_speaks_of_it(home: Home) -> None:
    """Milk, and eggs at school; neither by now. An empty edit takes it over."""
    child = home.kept("/v1/children", child_body(avoids=[{"allergen": "milk"}], bans=["egg"]))
    told = {"acknowledged": {"reason": "a day out"}}
    lunch = home.kept("/v1/lunches", lunch_body(child, DAY, "milk-1-percent", "apple", **told))
    before = week_of(home, child)
    home.ask("PATCH", f"/v1/children/{child}", {"avoids": [], "bans": []}, if_match="*")
    after = week_of(home, child)
    assert after["allergens"] == before["allergens"]
    assert {row["avoided_by"] for row in after["allergens"]} == {"child", "setting"}
    (offered,) = after["corrections"]
    assert (offered["kind"], offered["allergens"], offered["do_not_pack"]) == ("avoids", ["milk"], False)
    home.ask("PATCH", f"/v1/lunches/{lunch}", {}, if_match="*")
    taken_over = week_of(home, child)
    assert (taken_over["allergens"], taken_over["corrections"]) == ([], [])


def test_a_stricter_threshold_is_a_danger_where_a_warning_is_printed(home: Home) -> None:
    """May contain milk: packed while only what contains it counted. A warning counts now, and later again does not."""
    only = {"avoids": [{"allergen": "milk", "threshold": "contains"}]}
    child = home.kept("/v1/children", child_body(**only))
    food = home.kept("/v1/foods", food_body(may_contain="May contain milk."))
    lunch = home.kept("/v1/lunches", lunch_body(child, DAY, food))
    home.ask("PATCH", f"/v1/children/{child}", {"avoids": [{"allergen": "milk"}]}, if_match="*")
    (found,) = week_of(home, child)["corrections"]
    assert (found["kind"], found["do_not_pack"]) == ("avoids", True)
    assert "oat bar may contain milk" in found["sentence"]
    edit = {"acknowledged": {"reason": "it was eaten already"}}
    home.ask("PATCH", f"/v1/lunches/{lunch}", edit, if_match="*")
    assert week_of(home, child)["corrections"] == []
    home.ask("PATCH", f"/v1/children/{child}", only, if_match="*")
    (offered,) = week_of(home, child)["corrections"]
    assert (offered["code"], offered["do_not_pack"]) == ("correction.avoids-relaxed", False)


def test_an_older_lunch_goes_by_what_is_stored_now(home: Home, store: Store) -> None:
    """Records of before say nothing of packets and avoidances: the rows show both as they are now."""
    child = home.kept("/v1/children", child_body(avoids=[]))
    lunch = home.kept("/v1/lunches", lunch_body(child, DAY, "hummus"))
    with store.writing() as connection:
        kept = find(connection, LUNCH, home.id, UUID(lunch))
        assert kept is not None
        for name in ("packets", "avoids", "setting"):
            del kept.body["judged_by"][name]
        connection.execute(update(LUNCH.table).where(LUNCH.table.c.id == kept.id).values(body=kept.body))
    home.kept("/v1/packets", {"food": "hummus", "read_on": "2026-11-20", **SEEDED})
    home.ask("PATCH", f"/v1/children/{child}", {"avoids": [{"allergen": "sesame"}]}, if_match="*")
    reply = week_of(home, child)
    assert [(row["name"], row["do_not_pack"]) for row in reply["allergens"]] == [("hummus, shop bought", True)]
    assert reply["corrections"] == []
