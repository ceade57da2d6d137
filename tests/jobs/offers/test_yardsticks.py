"""Yardsticks beside an offer: every lunch counted as the single check shows it, apart, and without a say in the answer."""

import json
from typing import Any

import pytest

from service.domain.counting import survey
from service.domain.errors import LunchError
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.lunches import LunchCheckRequest
from tests.contract.example_files import FOLDER
from tests.jobs.offers.test_audit_offer import LABEL, OFFER, audit, every_lunch

WHO, GUIDELINES = "who-free-sugars-2015", "us-dietary-guidelines-2025"
BOTH = [WHO, GUIDELINES]
SWEET: dict[str, Any] = {
    "groups": [
        {
            "id": "mains",
            "items": [
                {"food": "sandwich-cheese"},
                {"food": "pasta-tomato-chickpea"},
                {"food": LABEL, "key": "cracker"},
            ],
        },
        {
            "id": "fruit",
            "items": [{"food": "apple"}, {"food": "peaches-canned-light-syrup"}],
            "take": {"at_least": 0, "at_most": 2},
        },
        {"id": "drinks", "items": [{"food": "water"}, {"food": "apple-juice"}, {"food": "milk-1-percent"}]},
    ]
}


def beside(items: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The yardsticks of the single check of a lunch."""
    plain = [{name: value for name, value in item.items() if name != "key"} for item in items]
    body = {
        "standard": "us-school-lunch",
        "on": "2026-12-01",
        "child": {"age_years": 8},
        "lunch": {"items": plain},
        "max_changes": 0,
        "yardsticks": BOTH,
    }
    found: list[dict[str, Any]] = check_lunch(LunchCheckRequest.model_validate(body))["yardsticks"]
    return found


@pytest.mark.parametrize("offer", [OFFER, SWEET])
@pytest.mark.parametrize("written", [True, False])
def test_every_lunch_is_counted_as_its_single_check_shows_it(
    offer: dict[str, Any], written: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Written out and counted, as a large offer is: all limits together, and each by itself."""
    if not written:
        monkeypatch.setattr(survey.survey, "__kwdefaults__", {"written_most": 0})
    told = audit(offer=offer, child={"yardsticks": BOTH})["children"][0]
    singles = [beside(items) for items in every_lunch(offer)]
    assert told["total"] == len(singles)
    assert [one["id"] for one in told["yardsticks"]] == BOTH
    for place, one in enumerate(told["yardsticks"]):
        rows = [[row["status"] for row in single[place]["findings"]] for single in singles]
        broken = sum("over" in row or "short" in row for row in rows)
        kept = sum(not {"over", "short", "unknown"} & set(row) for row in rows)
        assert (one["kept"], one["broken"], one["unknown"]) == (kept, broken, len(rows) - kept - broken)
        for number, target in enumerate(one["targets"]):
            statuses = [row[number] for row in rows]
            assert target["kept"] == statuses.count("met"), target["id"]
            assert target["broken"] == sum(status in ("short", "over") for status in statuses), target["id"]
            assert target["unknown"] == statuses.count("unknown"), target["id"]
            assert target["not_applicable"] == statuses.count("not_applicable"), target["id"]
    if offer is SWEET:
        assert told["yardsticks"][0]["kept"]
        assert told["yardsticks"][0]["broken"]
        assert told["yardsticks"][0]["unknown"]  # the cracker's label says nothing of sugars


def test_they_change_nothing_else_and_none_is_shown_unless_named() -> None:
    without, with_them = (audit(examples=2, max_changes=1, child=more) for more in ({}, {"yardsticks": BOTH}))
    assert without["children"][0].pop("yardsticks") == []
    assert len(with_them["children"][0].pop("yardsticks")) == 2
    assert with_them == without


def test_each_child_has_its_own() -> None:
    """Two children who are alike but for what they are shown beside."""
    child = {"age_years": 8, "standard": "us-school-lunch"}
    children = [{**child, "nickname": "Robin"}, {**child, "nickname": "Wren", "yardsticks": [WHO]}]
    robin, wren = audit(children=children, child={})["children"]
    assert robin["yardsticks"] == []
    assert [one["id"] for one in wren["yardsticks"]] == [WHO]


def test_a_rule_of_the_day_that_is_not_there_yet_is_said() -> None:
    (one,) = audit(on="2026-01-06", child={"yardsticks": [GUIDELINES]})["children"][0]["yardsticks"]
    assert one["code"] == "yardstick.no-rows"
    assert [one["kept"], one["broken"], one["unknown"], one["targets"]] == [None, None, None, []]


def test_an_offer_too_large_to_count_says_so() -> None:
    request = json.loads((FOLDER / "audit-offer" / "estimate-of-a-large-offer.request.json").read_text("utf-8"))
    request["children"][0]["yardsticks"] = [WHO]
    request["children"] = request["children"][:1]
    child = audit(**request | {"child": {}})["children"][0]
    assert not child["counted"]
    (one,) = child["yardsticks"]
    assert one["code"] == "yardstick.lunches-not-counted"
    assert (one["kept"], one["targets"]) == (None, [])


def test_an_unknown_one_is_refused_at_its_place() -> None:
    with pytest.raises(LunchError) as caught:
        audit(child={"yardsticks": [WHO, "who-free-sugar"]})
    assert [one.pointer for one in caught.value.faults()] == ["/children/0/yardsticks/1"]
