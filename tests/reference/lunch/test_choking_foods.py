"""Promise: foods that guidance on choking names, or that are like them, are found in every form it warns of.

Named by a newspaper's copy of 2021-08-11 of the sheet of the US Department of Agriculture (FNS-305): melon balls, cubes of
cheese, breads and crackers with seeds, ice cubes. The other rows are ours and marked `proposed` in the file.
"""

import pytest

from service.domain.lunch.handling import choking_finding
from service.reference.foods.catalogue import find_food
from service.reference.lunch.handling import handling_rules

RISKY = [
    ("cucumber", "round_slice"),
    ("cucumber", "strip"),
    ("mushrooms-raw", "whole"),
    ("bread-multigrain", "sliced"),
    ("rice-cake-sesame", "whole"),
    ("rice-cake-plain", "whole"),
    ("milk-chocolate", "pieces"),
    ("dark-chocolate", "pieces"),
    ("cereal-bar-fruit", "whole"),
    ("crisped-rice-bar-chocolate", "whole"),
    ("bacon-baked", "strip"),
    ("bacon-turkey", "strip"),
    ("egg-hard-boiled", "whole"),
    ("egg-hard-boiled", None),
    ("ice-cubes", "cubed"),
    ("honeydew", "chunk"),
    ("cheese-cheddar", "cubed"),
]
FINE = [
    ("cucumber", "thin_slice"),
    ("mushrooms-raw", "thin_slice"),
    ("bacon-baked", "chopped"),
    ("egg-hard-boiled", "quartered_length"),
    ("egg-hard-boiled", "mashed"),
]


@pytest.mark.parametrize("region", ["US", "GB"])
@pytest.mark.parametrize(("food_id", "form"), RISKY)
def test_a_risky_form_is_found_at_three_years(food_id: str, form: str | None, region: str) -> None:
    food = find_food(food_id)
    assert food is not None
    finding = choking_finding(handling_rules(), food, form, 40, (region,))
    only_us = food.handling.choking_rule in {"seeded-bread", "ice-cubes", "hard-crisp-snacks"}
    if region == "GB" and only_us:
        assert finding is None
    else:
        assert finding is not None
        assert finding.status == "do_not_pack"


@pytest.mark.parametrize(("food_id", "form"), FINE)
def test_a_form_of_the_guidance_is_in_order(food_id: str, form: str) -> None:
    food = find_food(food_id)
    assert food is not None
    finding = choking_finding(handling_rules(), food, form, 40, ("US", "GB"))
    assert finding is not None
    assert finding.status == "in_order"
