"""A prep sheet: what a parent makes, by hand; the PDF read back by another library."""

import io
from typing import Any

import pytest
from pydantic import ValidationError
from pypdf import PdfReader

from service.domain.errors import LunchError
from service.jobs.plan.prep.pdf import prep_pdf
from service.jobs.plan.prep.prep_sheet import prep_sheet
from service.jobs.plan.prep.requests import PrepSheetRequest
from tests.refused import refused

FAMILY = [{"nickname": "Rowan"}, {"nickname": "Linden", "avoids": [{"allergen": "milk"}]}]


def asked(batches: list[dict[str, Any]], **more: Any) -> PrepSheetRequest:
    body = {"on": "2026-11-29", "children": FAMILY, "batches": batches, **more}
    return PrepSheetRequest.model_validate(body)


def test_six_sandwiches_take_six_times_what_one_takes() -> None:
    """The recipe: 64 g of bread, 28.35 g of cheese, 5 g of butter; a slice of bread is 32 g."""
    (batch,) = prep_sheet(asked([{"food": "sandwich-cheese", "portions": 6}]))["batches"]
    assert [(one["food"], one["exact_grams"]) for one in batch["ingredients"]] == [
        ("bread-whole-wheat", 384.0),
        ("cheese-cheddar", 170.1),
        ("butter", 30.0),
    ]
    assert [one["count_text"] for one in batch["ingredients"]] == ["12 slices", "", ""]
    assert [one["metric_text"] for one in batch["ingredients"]] == ["380 g", "170 g", "30 g"]


def test_a_recipe_sent_along_is_scaled_by_its_weight_when_ready() -> None:
    """100 g of rice become 300 g; two portions of 150 g take 100 g."""
    own = {
        "name": "rice pot",
        "ingredients": [{"food": "sr28-20044", "grams": 100}],
        "weight_change_percent": 200,
        "portions": 2,
    }
    (batch,) = prep_sheet(asked([{"food": own, "portions": 2, "quantity": 150, "unit": "g"}]))["batches"]
    assert [one["exact_grams"] for one in batch["ingredients"]] == [100.0]


@pytest.mark.parametrize(("food", "grams"), [("sour-cream", 230), ("cheese-parmesan-grated", 100), ("ketchup", 240)])
def test_what_weighs_a_cup_is_a_cup(food: str, grams: int) -> None:
    """Weights of a cup: USDA SR28, household measures, which gives a tablespoon of each in whole grams as well."""
    dip = {"name": "dip", "portions": 1, "ingredients": [{"food": food, "grams": grams}]}
    (batch,) = prep_sheet(asked([{"food": dip, "portions": 1}]))["batches"]
    assert [one["us"] for one in batch["ingredients"]] == [[{"amount": 1.0, "unit": "cup"}]]


def test_what_holds_milk_is_made_last_or_everything_is_washed_for_linden() -> None:
    """Both eat the apple; nobody needs a washing where the cheese comes last."""
    reply = prep_sheet(
        asked([{"food": "cheese-cheddar", "portions": 2, "eaters": [0]}, {"food": "apple", "portions": 2}])
    )
    assert [step["batch"] for step in reply["steps"]] == [1, 0]
    assert all(step["clean"] == "" for step in reply["steps"])


def test_where_no_order_helps_it_says_to_wash_and_for_whom() -> None:
    """Rowan avoids peanut, Linden milk: what each may have holds what the other avoids."""
    family = [{"nickname": "Rowan", "avoids": [{"allergen": "peanut"}]}, FAMILY[1]]
    batches = [
        {"food": "cheese-cheddar", "portions": 1, "eaters": [0]},
        {"food": "peanut-butter-smooth", "portions": 1, "eaters": [1]},
    ]
    reply = prep_sheet(asked(batches, children=family))
    second = reply["steps"][1]
    assert second["clean_before"]
    assert second["clean"].startswith("First wash the board, knife, worktop and hands with hot soapy water, for ")


def test_cut_apples_have_their_dips_with_sources_and_say_what_these_are() -> None:
    """MSU Extension: 3 g of ascorbic acid to a US gallon; Ask Extension: three quarters of a cup of lemon juice; 10 minutes."""
    reply = prep_sheet(asked([{"food": "apple", "portions": 4}]))
    dips = {one["id"]: one for one in reply["dips"]}
    assert dips["ascorbic-acid"]["amount_per_litre"] == pytest.approx(3 / 3.785, abs=0.01)
    assert dips["lemon-juice"]["amount_per_litre"] == pytest.approx(0.75 * 236.6 / 3.785, abs=0.2)
    assert {one["minutes"] for one in reply["dips"]} == {10.0}
    assert all(one["source"] for one in reply["dips"])
    assert any("canning, freezing and drying" in note for note in reply["notes"])
    assert prep_sheet(asked([{"food": "raisins", "portions": 4}]))["dips"] == []


def test_cooked_food_has_cooling_and_reheating_figures_and_rice_its_own() -> None:
    """Food Code 3-501.14 and the advice of the FSA: rice within an hour, reheated once."""
    (batch,) = prep_sheet(asked([{"food": "rice-white-cooked", "portions": 4}]))["batches"]
    assert [one["id"] for one in batch["cooling"]] == [
        "us-cooling-first-minutes",
        "us-cooling-total-minutes",
        "gb-cooling-minutes",
        "gb-rice-cooling-minutes",
    ]
    assert [one["id"] for one in batch["reheating"]] == ["us-flask-fill", "gb-rice-days"]
    assert prep_sheet(asked([{"food": "apple", "portions": 4}]))["batches"][0]["cooling"] == []


def test_where_the_portions_go_and_what_is_left() -> None:
    goes = [{"place": "freezer", "portions": 4, "container": "two bags"}, {"place": "fridge", "portions": 1}]
    reply = prep_sheet(asked([{"food": "sandwich-cheese", "portions": 6, "goes": goes}]))
    (batch,) = reply["batches"]
    assert [one["sentence"] for one in batch["goes"]] == [
        "4 portions: in the freezer, in two bags",
        "1 portion: in the fridge",
    ]
    assert batch["not_put_away"] == 1
    assert "It is not said where some portions of cheese sandwich go." in reply["notes"]


def test_whom_a_batch_is_not_for_and_which_packets_to_read() -> None:
    (batch,) = prep_sheet(asked([{"food": "sandwich-cheese", "portions": 2}]))["batches"]
    assert batch["not_for"] == ["Linden"]
    assert batch["notes"][0] == "Not for Linden: milk."


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_pdf_holds_what_the_sheet_says(paper: str) -> None:
    """Read back with pypdf: every step, amount, place and caution; the same bytes each time."""
    goes = [{"place": "freezer", "portions": 6, "container": "boîtes à goûter"}]
    reply = prep_sheet(
        asked([{"food": "sandwich-cheese", "portions": 6, "goes": goes}, {"food": "apple", "portions": 3}])
    )
    made = prep_pdf(reply, paper)
    assert made == prep_pdf(reply, paper)
    pages = PdfReader(io.BytesIO(made)).pages
    assert round(float(pages[0].mediabox.width)) == {"a4": 595, "letter": 612}[paper]
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    for wanted in (reply["title"], "12 slices", "boîtes à goûter", "ask-extension-575008"):
        assert wanted in text
    assert all(step["sentence"] in text for step in reply["steps"])
    assert all(caution in text for caution in reply["cautions"])


def test_letters_that_cannot_be_printed_are_refused_not_left_out() -> None:
    own = {"name": "おにぎり", "ingredients": [{"food": "rice-white-cooked", "grams": 100}]}
    reply = prep_sheet(asked([{"food": own, "portions": 1, "quantity": 100, "unit": "g"}]))
    with refused(LunchError, "cannot show"):
        prep_pdf(reply)


@pytest.mark.parametrize(
    ("batches", "kind"),
    [
        ([{"food": "apple", "portions": 0}], "greater_than"),
        ([{"food": "apple", "portions": 1}] * 10_000, "too_long"),
        ([{"food": "apple", "portions": 1, "goes": [{"place": "fridge", "portions": 2}]}], "more_put_away"),
        ([{"food": "apple", "portions": 1, "eaters": [7]}], "no_such_child"),
    ],
)
def test_batches_of_nothing_and_too_many_are_refused(batches: list[dict[str, Any]], kind: str) -> None:
    with pytest.raises(ValidationError) as fault:
        asked(batches)
    assert fault.value.errors()[0]["type"] == kind


def test_an_unknown_dish_is_named_with_its_place() -> None:
    with pytest.raises(LunchError) as fault:
        prep_sheet(asked([{"food": "apple", "portions": 1}, {"food": "sandwich-chese", "portions": 1}]))
    assert [one.pointer for one in fault.value.faults()] == ["/batches/1/food"]
