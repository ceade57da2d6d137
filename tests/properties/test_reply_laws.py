"""Laws of the whole reply to a lunch check: order, additions, and changes that do what they say."""

from datetime import date
from typing import Any

import orjson
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.allergens.screening import OUTCOME_RANK
from service.domain.foods.impossible import impossible_figures
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.lunches import LunchCheckRequest
from service.reference.foods.catalogue import find_food
from service.reference.foods.label_units import label_limits
from service.reference.foods.lunch_foods import lunch_foods
from service.reference.foods.recipes import recipes
from service.reference.lunch.standards import standard_ids
from tests.builders import placeless
from tests.strategies import LAW, SHORT_LAW

pytestmark = pytest.mark.property

FOOD_IDS = [*lunch_foods().rows(), *recipes()]
AVOIDED = ["peanut", "milk", "tree_nut", "almond", "wheat", "egg", "sesame", "kiwi"]
VERDICTS = ["pack", "adjust", "check_label", "do_not_pack"]

table_items = st.builds(
    lambda food, quantity: {"food": food, "quantity": quantity},
    st.sampled_from(FOOD_IDS),
    st.sampled_from([0.5, 1, 1, 2]),
)


@st.composite
def label_items(draw: st.DrawFn) -> dict[str, Any]:
    """A food from its label. Names are few on purpose: two labels may bear one name."""
    figures = st.dictionaries(
        st.sampled_from(["energy_kcal", "sodium_mg", "added_sugars_g", "saturated_fat_g", "fat_g"]),
        st.sampled_from([0, 5, 12, 140]),
        max_size=3,
    )
    grams = draw(st.sampled_from([30, 170]))
    label: dict[str, Any] = {
        "name": draw(st.sampled_from(["bar", "pot"])),
        "serving": {"grams": grams},
        "facts": draw(figures.filter(lambda facts: not impossible_figures(facts, grams, True, label_limits()))),
        "facts_rounded": draw(st.booleans()),
        "product_kind": draw(st.sampled_from(["", "yogurt", "breakfast_cereal", "milk_skim"])),
        "perishable": draw(st.sampled_from([None, True, False])),
    }
    words = draw(st.sampled_from([None, "oats, sugar, almonds", "milk, cultures", "natural flavour"]))
    if words:
        label["ingredients"] = words
    if draw(st.booleans()):
        label["may_contain"] = "may contain peanuts"
    if draw(st.booleans()):
        label["credits"] = [{"component": draw(st.sampled_from(["fruit", "grain"])), "per_serving": 1}]
    return {"food": label, "quantity": draw(st.sampled_from([1, 2]))}


LUNCHES = st.lists(table_items | label_items(), min_size=1, max_size=4)
CHILDREN = st.builds(
    lambda months, avoids: {"age_months": months, "avoids": [{"allergen": one} for one in avoids]},
    st.integers(72, 131),
    st.lists(st.sampled_from(AVOIDED), max_size=3, unique=True),
)


def reply_to(items: list[dict[str, Any]], child: dict[str, Any], **more: Any) -> dict[str, Any]:
    asked = {"standard": "us-school-lunch", "on": "2026-09-01", "child": child, "lunch": {"items": items}, **more}
    return check_lunch(LunchCheckRequest.model_validate(asked))


def name_of(item: dict[str, Any]) -> str:
    """The name that a sent item is shown by."""
    food = item["food"]
    if isinstance(food, dict):
        return str(food["name"])
    known = find_food(food)
    assert known is not None
    return known.name


@LAW
@given(st.data(), LUNCHES, CHILDREN, st.sampled_from(standard_ids()))
def test_the_reply_does_not_depend_on_the_order_of_anything(
    data: st.DataObject, items: list[dict[str, Any]], child: dict[str, Any], standard_id: str
) -> None:
    shuffled = data.draw(st.permutations(items))
    turned = {**child, "avoids": data.draw(st.permutations(child["avoids"]))}
    one = reply_to(items, child, standard=standard_id)
    other = reply_to(shuffled, turned, standard=standard_id)
    assert orjson.dumps(placeless(one)) == orjson.dumps(placeless(other))
    for reply, sent in ((one, items), (other, shuffled)):
        for row in (*reply["items"], *reply["allergens"]):
            assert row["name"] == name_of(sent[row["item"]])


@SHORT_LAW
@given(LUNCHES, st.one_of(table_items, label_items()), CHILDREN)
def test_an_item_more_removes_no_allergen_finding(
    items: list[dict[str, Any]], more: dict[str, Any], child: dict[str, Any]
) -> None:
    before = reply_to(items, child, max_changes=0)
    after = reply_to([*items, more], child, max_changes=0)
    left = [orjson.dumps(row) for row in after["allergens"]]
    for row in before["allergens"]:
        left.remove(orjson.dumps(row))
    if before["verdict"] in ("check_label", "do_not_pack"):
        assert VERDICTS.index(after["verdict"]) >= VERDICTS.index(before["verdict"])


@SHORT_LAW
@given(LUNCHES, CHILDREN)
def test_the_verdict_follows_from_what_the_reply_shows(items: list[dict[str, Any]], child: dict[str, Any]) -> None:
    reply = reply_to(items, child, max_changes=0)
    rows = [*reply["allergens"], *reply["handling"]]
    forbidden = any(row.get("do_not_pack") or row.get("status") == "do_not_pack" for row in rows)
    unclear = any(row["outcome"] in ("check_label", "label_not_seen") for row in reply["allergens"])
    assert (reply["verdict"] == "do_not_pack") == forbidden
    assert (reply["verdict"] == "check_label") == (unclear and not forbidden)
    assert (reply["score"] is None) == forbidden
    if reply["verdict"] == "pack":
        assert not any(finding["counts"] for finding in reply["findings"])
    assert len(reply["allergens"]) == len(items) * len(child["avoids"])
    assert {row["outcome"] for row in reply["allergens"]} <= set(OUTCOME_RANK)
    assert b" safe" not in orjson.dumps(reply).lower()


def changed(items: list[dict[str, Any]], change: dict[str, Any]) -> list[dict[str, Any]]:
    """The lunch after a change, made from the words of the reply alone."""
    if change["kind"] == "read":
        return items
    kept = [item for item in items if item["food"] != change["instead_of"]]
    if change["kind"] == "remove":
        return kept
    into = {"food": change["food"], "quantity": change["quantity"], "unit": change["unit"]}
    if change["form"]:
        into["form"] = change["form"]
    return [*kept, into]


def kept_targets(reply: dict[str, Any]) -> set[str]:
    """The targets that a lunch keeps."""
    return {one["id"] for one in reply["findings"] if one["kind"] == "target" and one["status"] == "met"}


def is_sweet(food_id: str | None) -> bool:
    """Whether a food is a sweet or a snack; nothing is none."""
    food = None if food_id is None else find_food(food_id)
    return food is not None and food.discretionary


@SHORT_LAW
@given(
    st.lists(st.sampled_from(FOOD_IDS), min_size=1, max_size=4, unique=True),
    CHILDREN,
    st.dates(date(2022, 7, 1), date(2027, 12, 31)),
)
def test_a_change_gives_the_score_it_says_and_breaks_nothing(foods: list[str], child: dict[str, Any], on: date) -> None:
    items = [{"food": one} for one in foods]
    before = reply_to(items, child, on=on.isoformat())
    met = kept_targets(before)
    plain = [one for one in items if not is_sweet(one["food"])]
    # What only a sweet or snack kept is not worth keeping it for.
    met_without = met & kept_targets(reply_to(plain, child, on=on.isoformat(), max_changes=0)) if plain else set()
    for change in before["changes"]:
        after = reply_to(changed(items, change), child, on=on.isoformat(), max_changes=0)
        status = {finding["id"]: finding["status"] for finding in after["findings"] if finding["kind"] == "target"}
        # What forbids packing is taken away whatever else it costs.
        if before["verdict"] != "do_not_pack":
            protected = met_without if is_sweet(change["instead_of"]) else met
            assert all(status[target] in ("met", "not_applicable") for target in protected), change["sentence"]
        for mended in change["mends"]:
            assert status.get(mended, "met") == "met"
        if after["score"] is not None:
            assert after["score"] == pytest.approx(change["score_after"], abs=0.1001)
        assert (after["score"] is None) == (change["score_after"] is None)
        assert VERDICTS.index(after["verdict"]) <= VERDICTS.index(before["verdict"])


def bar(**more: Any) -> dict[str, Any]:
    """A label food; two of these differ only in what is named here."""
    return {"food": {"name": "bar", "serving": {"grams": 30}, "ingredients": "oats, sugar"} | more}


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (
            bar(credits=[{"component": "fruit", "per_serving": 1}]),
            bar(credits=[{"component": "grain", "per_serving": 1}]),
        ),
        (
            bar(facts={"added_sugars_g": 12}, product_kind="yogurt", serving={"grams": 170.1}),
            bar(facts={"added_sugars_g": 12}, product_kind="yogurt", serving={"grams": 170.1}, facts_rounded=False),
        ),
        (bar(facts={"added_sugars_g": 12}, product_kind="yogurt"), bar(facts={"added_sugars_g": 12})),
        (bar(ingredients="oats, milk"), bar(ingredients="oats, egg")),
        (bar(perishable=True), bar(perishable=False)),
        (bar(choking_rule="whole-kernels"), bar()),
        ({**bar(), "quantity": 1}, {**bar(), "quantity": 2}),
    ],
    ids=["credits", "rounded", "product kind", "allergens", "perishable", "choking rule", "quantity"],
)
def test_two_labels_of_one_name_may_come_in_any_order(one: dict[str, Any], other: dict[str, Any]) -> None:
    child = {"age_months": 80, "avoids": [{"allergen": "milk"}, {"allergen": "egg"}]}
    straight, turned = reply_to([one, other], child), reply_to([other, one], child)
    assert orjson.dumps(placeless(straight)) == orjson.dumps(placeless(turned))
    assert [row["item"] for row in straight["items"]] == [1 - row["item"] for row in turned["items"]]
