"""Forms and regions are entries of the files: one entry is enough for a new one, and a name that is not listed is refused."""

import tomllib
from typing import Any

import pytest
from pydantic import ValidationError

from service.domain.lunch.handling import HandlingRules, HoldingLimit, holding_figure
from service.jobs.requests.lunches import LunchItem
from service.reference.files import data_path
from service.reference.lunch import handling
from service.reference.lunch.handling import handling_rules
from service.reference.lunch.handling_models import ChokingFile, HoldingFile


def choking() -> dict[str, Any]:
    return tomllib.loads(data_path("handling/choking.toml").read_text(encoding="utf-8"))


def holding() -> dict[str, Any]:
    return tomllib.loads(data_path("handling/holding.toml").read_text(encoding="utf-8"))


def test_a_form_or_region_that_is_not_listed_is_refused_with_the_known_ones() -> None:
    raw = choking()
    raw["rule"][0]["allowed_forms"].append("spiralised")
    raw["rule"][0]["limit"][0]["region"] = "AU"
    form, region = handling._choking_faults(ChokingFile.model_validate(raw))
    assert (form.value, region.value) == ("spiralised", "AU")
    assert "quartered_length" in form.remedy
    assert "US, GB" in region.remedy
    raw["form"].append({"id": "spiralised", "words": "in spirals"})
    raw["region"].append({"id": "AU", "title": "Australia"})
    assert list(handling._choking_faults(ChokingFile.model_validate(raw))) == []


def test_a_holding_file_without_a_figure_that_is_needed_is_refused() -> None:
    raw = holding()
    raw["limit"] = [one for one in raw["limit"] if one.get("role") != "flask_fill"]
    (fault,) = handling._holding_faults(HoldingFile.model_validate(raw), ["US", "GB"])
    assert fault.value == "flask_fill"


def test_a_request_with_an_unknown_form_is_told_the_listed_ones() -> None:
    with pytest.raises(ValidationError) as caught:
        LunchItem.model_validate({"food": "apple", "form": "spiralised"})
    (error,) = caught.value.errors()
    assert error["type"] == "not_listed"
    assert error["ctx"]["expected"] == ", ".join(handling_rules().forms)


def test_of_the_regions_asked_for_the_stricter_figure_counts_and_all_count_where_none_has_one() -> None:
    rows = [
        HoldingLimit("a", "US", 60.0, "C", "", "", "read", "hot_holding"),
        HoldingLimit("b", "GB", 63.0, "C", "", "", "read", "hot_holding"),
        HoldingLimit("c", "US", 120.0, "min", "", "", "read", "room_minutes"),
        HoldingLimit("d", "AU", 90.0, "min", "", "", "read", "room_minutes"),
    ]
    rules = HandlingRules({}, {row.id: row for row in rows})
    assert holding_figure(rules, "hot_holding", ("US", "GB")).id == "b"
    assert holding_figure(rules, "hot_holding", ("US",)).id == "a"
    assert holding_figure(rules, "room_minutes", ("US", "AU")).id == "d"
    assert holding_figure(rules, "room_minutes", ("GB",)).id == "d"
