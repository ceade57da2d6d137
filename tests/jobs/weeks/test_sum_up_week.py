"""A week summed up: which days count, what is told of the others, cost, variety, changes, and what is refused."""

from datetime import date, timedelta
from typing import Any

import pytest

from service.domain.errors import LunchError
from service.jobs.weeks.sum_up_week import sum_up_week, week_in_order
from service.reference.foods.lunch_foods import lunch_foods
from service.reference.weeks.school_food_groups import foods_in_groups
from tests.week_days import MONDAY, asked, bought, finding, item, packed, packed_week, statuses, summed

LUNCH = [
    item("bread-whole-wheat", 64),
    item("cheese-cheddar", 28),
    item("apple"),
    item("carrots-raw", 60),
    item("milk-skim", 246),
]
TUESDAY, WEDNESDAY, FRIDAY = (MONDAY + timedelta(days=place) for place in (1, 2, 4))


def refused(**more: Any) -> list[tuple[str, str]]:
    days = more.pop("days", packed_week([LUNCH]))
    with pytest.raises(LunchError) as fault:
        summed(days, more.pop("standard", "us-school-lunch"), **more)
    return [(one.pointer, str(one.value)) for one in fault.value.faults()]


# --- which days count


def test_a_missing_day_is_named_and_never_filled() -> None:
    reply = summed(packed_week([LUNCH] * 4))
    assert reply["missing"] == [FRIDAY.isoformat()]
    assert [day["kind"] for day in reply["days"]] == ["packed"] * 4 + ["missing"]
    assert (reply["school_days"], reply["counted_days"]) == (5, 4)
    sodium = finding(reply, "sodium")
    assert "Worked out from 4 of 5 school days: there are no figures for Friday 4 December." in sodium["sentence"]
    assert finding(reply, "milk-week")["status"] == "unknown"
    assert finding(reply, "milk-week")["amount"] == 4.0
    assert finding(reply, "milk")["status"] == "met"


def test_a_day_without_school_does_not_count() -> None:
    none = {"date": FRIDAY.isoformat(), "kind": "none"}
    reply = summed([*packed_week([LUNCH] * 4), none])
    assert (reply["school_days"], reply["missing"]) == (4, [])
    assert finding(reply, "milk-week")["at_least"] == 4.0
    assert finding(reply, "milk-week")["status"] == "met"
    named = summed(
        packed_week([LUNCH] * 4), school_days=[(MONDAY + timedelta(days=day)).isoformat() for day in range(4)]
    )
    assert statuses(named) == statuses(reply)


def test_a_bought_day_counts_by_its_menu_and_is_shown_apart_without() -> None:
    apart = summed([*packed_week([LUNCH]), bought(TUESDAY)])
    assert apart["shown_apart"] == [TUESDAY.isoformat()]
    assert apart["counted_days"] == 1
    counted = summed([*packed_week([LUNCH]), bought(TUESDAY, facts={"energy_kcal": 700, "sodium_mg": 400})])
    assert counted["counted_days"] == 2
    first = summed(packed_week([LUNCH]))["means"]["energy_kcal"]["mean"]
    assert counted["means"]["energy_kcal"]["mean"] == pytest.approx((first + 700) / 2)
    assert finding(counted, "saturated-fat")["status"] == "unknown"
    assert "bought lunch" in finding(counted, "saturated-fat")["sentence"]


def test_what_came_back_is_taken_off() -> None:
    """Half of a glass of 246 g credits half a cup (245 g make one)."""
    whole = summed(packed_week([LUNCH]))
    half = summed([packed(*LUNCH, on=MONDAY, uneaten=[{"item": 4, "share": 0.5}])])
    none = summed([packed(*LUNCH, on=MONDAY, uneaten=[{"item": 4, "share": 1}])])
    amounts = [finding(reply, "milk-week")["amount"] for reply in (whole, half, none)]
    assert amounts == [1.0, 0.5, 0.0]
    assert half["days"][0]["items"][4]["eaten_grams"] == 123


def test_no_day_with_figures_leaves_everything_open() -> None:
    reply = summed([])
    assert set(statuses(reply).values()) == {"unknown"}
    assert reply["means"] == {}
    assert [one["code"] for one in reply["summary_message"]["params"]["parts"]] == ["week-summary.no-figures"]


def test_rules_that_change_within_a_week_are_told() -> None:
    """The lower sodium limit holds from Thursday 2027-07-01 on: the week is judged by Monday's, and says so."""
    days = packed_week([LUNCH] * 5, date(2027, 6, 28))
    reply = summed(days, week="2027-W26")
    assert finding(reply, "sodium")["at_most"] == 1110.0
    assert "week-note.rules-change" in [one["code"] for one in reply["note_messages"]]
    named = summed(days[3:], week="2027-W26", school_days=["2027-07-01", "2027-07-02"])
    assert finding(named, "sodium")["at_most"] == 935.0
    assert "week-note.rules-change" not in [one["code"] for one in named["note_messages"]]


# --- cost


PRICES = [
    {"food": "bread-whole-wheat", "amount_minor": 300, "currency": "USD", "pack_grams": 640, "from": "2026-11-01"},
    {"food": "apple", "amount_minor": 200, "currency": "USD", "pack_grams": 1000, "from": WEDNESDAY.isoformat()},
]
MEALS = [{"amount_minor": 310, "currency": "USD", "from": "2026-09-01"}]


def test_packed_against_bought() -> None:
    """64 g of 640 g for 3.00 is 0.30 a day by hand; an apple has no price before Wednesday, then 182 g are of 202.2 g with the core: 0.404."""
    days = [*packed_week([[item("bread-whole-wheat", 64), item("apple", 182)]] * 3), bought(FRIDAY)]
    cost = summed(days, prices=PRICES, school_meal=MEALS)["cost"]
    assert [day["amount_minor"] for day in cost["days"]] == [30, 30, 70, 310]
    assert [day["unpriced"] for day in cost["days"]] == [["apple"], ["apple"], [], []]
    assert cost["packed"] == {"days": 3, "amount_minor": 130, "a_day_minor": 43, "complete": False}
    assert cost["bought"] == {"days": 1, "amount_minor": 310, "a_day_minor": 310, "complete": True}
    assert cost["params"]["parts"][-1] == {"code": "cost.no-price", "params": {"names": ["apple"]}}
    assert "3 packed lunches: at least 1.30 USD, at least 0.43 USD a day." in cost["sentence"]


def test_a_cost_of_which_nothing_is_known_is_not_told_as_nothing() -> None:
    cost = summed([packed(item("apple", 182), on=MONDAY), bought(FRIDAY)], prices=PRICES[:1])["cost"]
    assert cost["sentence"].startswith(
        "1 packed lunch: what it costs is not known. 1 bought lunch: what it costs is not known. There is no price for"
    )


def test_currencies_are_never_mixed() -> None:
    pounds = {**PRICES[1], "currency": "GBP"}
    assert refused(prices=[PRICES[0], pounds]) == [("/prices/1/currency", "GBP")]
    assert refused(prices=[PRICES[0], PRICES[0]]) == [("/prices/1/from", "2026-11-01")]


# --- variety, earlier weeks


def test_variety_counts_kinds_and_repeats() -> None:
    """Clementine and canned mandarin are one kind; romaine and iceberg too."""
    first = [item("clementine"), item("lettuce-romaine", 30), item("sandwich-ham")]
    second = [item("mandarin-canned-in-juice", 80), item("lettuce-iceberg", 30), item("pear"), item("sandwich-ham")]
    variety = summed(packed_week([first, second]))["variety"]
    assert variety["fruit"] == ["mandarin", "pear"]
    assert variety["vegetables"] == ["lettuce"]
    assert {"group": "fruit", "kind": "mandarin", "days": 2} in variety["repeats"]
    assert variety["new_foods"] is None


def test_earlier_weeks_serve_the_trend_and_tell_what_is_new() -> None:
    before = packed_week([[item("apple"), item("milk-skim", 244)]], MONDAY - timedelta(days=7))
    reply = summed([*packed_week([[item("apple"), item("pear")]]), *before])
    assert reply["variety"]["new_foods"] == ["pear"]
    assert [week["week"] for week in reply["trend"]] == ["2026-W48", "2026-W49"]
    assert reply["trend"][1]["counted_days"] == 1
    own = reply["trend"][1]
    assert own["met"] == sum(one["status"] == "met" for one in reply["findings"])
    earlier = summed(before, week="2026-W48")
    assert reply["trend"][0] == earlier["trend"][0]


# --- allergens, changes


def test_what_must_be_kept_away_is_told_first() -> None:
    child = {"age_years": 8, "avoids": [{"allergen": "milk"}]}
    reply = summed(packed_week([LUNCH] * 2), child=child)
    away = [row["name"] for row in reply["allergens"] if row["do_not_pack"]]
    assert away == ["Cheddar cheese", "skim milk"]
    assert reply["allergens"][0]["dates"] == [MONDAY.isoformat(), TUESDAY.isoformat()]
    first = reply["summary_message"]["params"]["parts"][0]
    assert first == {"code": "week-summary.held", "params": {"names": ["Cheddar cheese", "skim milk"]}}
    assert not week_in_order(reply)


def test_no_change_brings_in_what_the_child_avoids() -> None:
    """With soy, egg, milk and wheat avoided, no food comes in that contains them or is unknown for them."""
    child = {"age_years": 8, "avoids": [{"allergen": one} for one in ("soy", "egg", "milk", "wheat")]}
    reply = summed(packed_week([LUNCH] * 5), child=child, max_changes=3)
    assert reply["changes"]
    for change in reply["changes"]:
        if change["kind"] in ("add", "swap"):
            food = lunch_foods().get(change["food"])
            assert food is not None
            for allergen in ("soy", "egg", "milk", "wheat"):
                assert food.allergens.of(allergen).level == "free", change["food"]


def test_no_change_gives_more_of_what_the_child_avoids() -> None:
    """Half a cup of milk is made a whole one, but for a child that must not have it: then it may go, never grow."""
    half = {"food": "milk-1-percent", "quantity": 0.5, "unit": "cup"}
    days = packed_week([[*LUNCH[:-1], half]] * 5)
    plain = summed(days, max_changes=3, offer=["water"])
    assert any(change["kind"] == "portion" and change["food"] == "milk-1-percent" for change in plain["changes"])
    child = {"age_years": 8, "avoids": [{"allergen": "milk"}]}
    for change in summed(days, child=child, max_changes=3, offer=["water"])["changes"]:
        assert change["food"] != "milk-1-percent"


@pytest.mark.parametrize("standard", ["us-school-lunch", "gb-sct-school-lunch", "gb-eng-school-food-2014"])
def test_a_change_carried_out_mends_what_it_says_and_breaks_nothing(standard: str) -> None:
    """Each addition or removal is put into the days asked for, and the week summed up anew."""
    days = packed_week([LUNCH] * 5)
    before = summed(days, standard, max_changes=3)
    assert before["changes"]
    was = statuses(before)
    for change in before["changes"]:
        after_days = []
        for day in days:
            weekday = date.fromisoformat(day["date"]).strftime("%A")
            items = list(day["items"])
            if weekday in change["days"]:
                if change["kind"] in ("remove", "swap"):
                    items = [one for one in items if one["food"] != change["instead_of"]]
                if change["kind"] == "portion":
                    items = [
                        {**one, "quantity": change["quantity"], "unit": change["unit"]}
                        if one["food"] == change["food"]
                        else one
                        for one in items
                    ]
                if change["kind"] in ("add", "swap"):
                    items.append({"food": change["food"], "quantity": change["quantity"], "unit": change["unit"]})
            after_days.append({**day, "items": items})
        now = statuses(summed(after_days, standard))
        for name in change["mends"]:
            assert was[name] not in ("met", "not_applicable")
            assert now[name] in ("met", "not_applicable"), (change["sentence"], name)
        for name, status in was.items():
            if status in ("met", "not_applicable"):
                assert now[name] in ("met", "not_applicable"), (change["sentence"], name)


# --- refused


def test_days_that_do_not_fit_are_refused() -> None:
    (day,) = packed_week([LUNCH])
    assert refused(days=[day, day]) == [("/days/1/date", MONDAY.isoformat())]
    assert refused(days=[{**day, "date": "2026-12-07"}]) == [("/days/0/date", "2026-12-07")]
    assert refused(days=[{**day, "date": "2026-06-01"}]) == [("/days/0/date", "2026-06-01")]
    assert refused(school_days=["2026-12-07"])[0] == ("/school_days/0", "2026-12-07")
    assert refused(school_days=[TUESDAY.isoformat()]) == [("/days/0/date", MONDAY.isoformat())]
    assert refused(week="2025-W53", days=[]) == [("/week", "2025-W53")]
    assert refused(week="2020-W30", days=[]) == [("/week", "2020-07-20")]
    assert refused(days=packed_week([LUNCH, [item("appel")]])) == [("/days/1/items/0/food", "appel")]


def test_the_order_of_days_and_prices_does_not_matter() -> None:
    days = packed_week([LUNCH, LUNCH[:3], LUNCH[1:]])
    one = summed(days, prices=PRICES, max_changes=3)
    assert summed(days[::-1], prices=PRICES[::-1], max_changes=3) == one


def test_a_request_is_not_changed_by_being_answered() -> None:
    request = asked(packed_week([LUNCH]))
    before = request.model_dump_json()
    sum_up_week(request)
    assert request.model_dump_json() == before


def test_every_lunch_food_is_placed_for_a_week() -> None:
    """In a group or known to count as nothing."""
    assert set(foods_in_groups()) == set(lunch_foods().rows())


def test_faults_of_every_part_are_reported_together() -> None:
    """The child, an item of a day, a price, and what must be avoided: one answer, each with its place."""
    days = [packed(item("apple"), item("appel"), on=MONDAY)]
    price = {"amount_minor": 300, "currency": "USD", "from": "2026-11-01"}
    found = refused(
        days=days,
        child={"age_months": 7, "avoids": [{"allergen": "martian"}]},
        school_meal=[price, {**price, "currency": "GBP"}],
    )
    assert sorted(pointer for pointer, _value in found) == [
        "/child/age_months",
        "/child/avoids/0/allergen",
        "/days/0/items/1/food",
        "/school_meal/1/currency",
        "/school_meal/1/from",
    ]
