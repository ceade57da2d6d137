"""Children who are covered by another one: what they get, and that their lunches keep their rows; sums by hand."""

from service.domain.plan.robust import Candidates, Row, Sized, broken
from service.planning.offer_model import ChildToServe, Width, alike, design

FOODS = {
    "bread": (Sized(0, (12,)), Sized(1, (9,), 1.0)),
    "rice": (Sized(0, (8,)), Sized(1, (4,), 1.0)),
    "nut bar": (Sized(0, (10,)), Sized(1, (5,), 1.0)),
}
WEIGHTS = {("mains", food): 1.0 for food in FOODS}


def child(name: str, without: str = "", bound: int = 10) -> ChildToServe:
    """A child who takes one of the foods and must find two."""
    foods = {food: sizes for food, sizes in FOODS.items() if food != without}
    return ChildToServe(name, [Row("energy", "energy", bound)], [Candidates("mains", foods, 1, 1, False, 2)])


def test_a_child_with_a_part_of_the_foods_gets_them_in_the_sizes_of_the_other() -> None:
    children = [child("Wren", without="nut bar"), child("Juniper"), child("Hazel"), child("Jay", bound=9)]
    found = design(children, {"mains": Width(1, 3)}, WEIGHTS, seconds=10)
    assert found is not None
    # Wren must find two and may have two: both stand; bread is over 10 but in its smaller size.
    assert found.sizes["Wren"]["mains"] == {"bread": 1, "rice": 0}
    for name in ("Hazel", "Wren"):
        mine = found.sizes[name]["mains"]
        assert mine == {food: found.sizes["Juniper"]["mains"][food] for food in mine}
    assert not any(broken(one.rows, one.groups, found.sizes[one.name]) for one in children)


def test_a_child_with_a_lower_bound_is_not_covered() -> None:
    found = design([child("Juniper"), child("Jay", bound=7)], {"mains": Width(1, 3)}, WEIGHTS, seconds=10)
    assert found is not None
    assert found.sizes["Jay"]["mains"] == {"rice": 1, "nut bar": 1}
    assert found.sizes["Juniper"]["mains"] == {"rice": 0, "nut bar": 0}


def test_alike_are_those_who_differ_in_the_name_alone() -> None:
    assert alike([child("Juniper"), child("Wren", without="nut bar"), child("Hazel"), child("Jay", bound=9)]) == [
        0,
        1,
        0,
        3,
    ]


def test_an_unknown_figure_that_can_only_help_leaves_the_others_as_they_are() -> None:
    """At least 5 of a nutrient: the seeds have no known end, and with either of the others only the apple's 3 are enough."""
    sides = {
        "seeds": (Sized(0, (-(1 << 50),)),),
        "crackers": (Sized(0, (-1,)), Sized(1, (-2,), 1.0)),
        "carrots": (Sized(0, (-2,)), Sized(1, (-3,), 1.0)),
    }
    fruit = {"apple": (Sized(0, (-3,)),), "pear": (Sized(0, (-2,)),), "grapes": (Sized(0, (-1,)),)}
    groups = [Candidates("sides", sides, 1, 1, False, 2), Candidates("fruit", fruit, 1, 1, False, 1)]
    asked = ChildToServe("Wren", [Row("fibre", "fibre", -5, short=True)], groups)
    weights = {("sides", food): 1.0 for food in sides} | {("fruit", food): 1.0 for food in fruit}
    found = design([asked], {"sides": Width(2, 2), "fruit": Width(1, 1)}, weights, seconds=10)
    assert found is not None
    assert not broken(asked.rows, asked.groups, found.sizes["Wren"])
    assert found.sizes["Wren"]["fruit"] == {"apple": 0}
