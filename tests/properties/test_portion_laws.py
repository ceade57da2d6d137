"""An audit of an offer with an amount per child is the same as audits of each child alone, its amounts written into the offer."""

from copy import deepcopy
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.requests import OfferAuditRequest
from tests.properties.test_offer_laws import LAW, requests

pytestmark = pytest.mark.property


def written_in(offer: dict[str, Any], nickname: str) -> dict[str, Any]:
    """The offer in the amounts of one child."""
    made = deepcopy(offer)
    for group in made["groups"]:
        for item in group["items"]:
            own = {one["child"]: one["quantity"] for one in item.pop("portions")}
            item["quantity"] = own.get(nickname, item.get("quantity", 1))
    return made


@st.composite
def families(draw: st.DrawFn) -> dict[str, Any]:
    """An audit for up to three children, who get amounts of their own of some items."""
    asked = draw(requests())
    (child,) = asked["children"]
    names = ["Rowan", "Linden", "Wren"][: draw(st.integers(1, 3))]
    asked["children"] = [{**child, "nickname": name} for name in names]
    for group in asked["offer"]["groups"]:
        for item in group["items"]:
            some = draw(st.lists(st.sampled_from(names), unique=True))
            item["portions"] = [{"child": name, "quantity": draw(st.sampled_from([0.5, 1, 2, 3]))} for name in some]
    return asked


@LAW
@given(families())
def test_amounts_per_child_are_the_same_as_written_into_the_offer_of_each(asked: dict[str, Any]) -> None:
    together = audit_offer(OfferAuditRequest.model_validate(asked))
    for child, row in zip(asked["children"], together["children"], strict=True):
        offer = written_in(asked["offer"], child["nickname"])
        alone = audit_offer(OfferAuditRequest.model_validate({**asked, "offer": offer, "children": [child]}))
        (expected,) = alone["children"]
        # The card alone says an amount of its own, which is nothing of the child's own once it is written in.
        assert {**row, "card": None} == {**expected, "card": None}
