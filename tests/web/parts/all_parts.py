"""The page of all parts in all their states, which only tests look at."""

from dataclasses import replace

from service.web.bought.view import CostBar
from service.web.cautions import cautions_of
from service.web.foods.shown import Comes, FoodRow
from service.web.forms.conflicts import Again, conflict_between
from service.web.forms.form import Form
from service.web.pages import environment
from service.web.viewer import PARENT_PAGES, Viewer
from service.web.week.bars import Came, bar_of

OPTIONS = [("one", "the first"), ("other", "the other")]
BARS = [
    ("between two bounds", [Came("", "met", 90.0, 90.0)], 80.0, 120.0),
    ("too little", [Came("", "short", 40.0, 40.0)], 80.0, None),
    ("too much", [Came("", "over", 160.0, 160.0)], None, 120.0),
    ("not known", [Came("", "unknown", 40.0, None)], 80.0, 120.0),
]
WRONG = ("wrong", "wrong-lines", "wrong-choice", "wrong-ticks")
FOODS = [
    FoodRow("apple", "apple", "red-apple", "", "/foods/apple"),
    FoodRow("pot", "rice pot", "pot-of-food", "your dish", "/dishes/pot"),
]
READ = [{"food": "hummus", "name": "hummus", "children": ["Robin", "Ash"]}]


CAUTIONS = [
    {"code": "caution.salted-water", "params": {"names": ["pasta"], "field": "salts_cooking_water"}},
    {"code": "caution.read-the-label", "params": {}},
]


def all_parts() -> str:
    """The page, as it is sent."""
    typed = {
        "right": ["typed"],
        "ticks": ["one"],
        "one": ["other"],
        "choice": ["other"],
        "tick": ["yes"],
        "repeat": ["1"],
    }
    form = Form({**typed, **{name: ["typed"] for name in WRONG}})
    for name in WRONG:
        form.wrong(name, "This cannot be read. Type a number.")
    view = {
        "form": form,
        "options": OPTIONS,
        "conflict": replace(
            conflict_between({"Name": "pot"}, {"Name": "pan", "Portions": "6"}, 3, "/nowhere"),
            again=Again("/nowhere", [("name", "pot")]),
        ),
        "cautions": cautions_of({"cautions": ["Salt.", "Read the label."], "caution_messages": CAUTIONS}),
        "bars": [(name, bar_of(came, floor, ceiling), f"It is {name}.") for name, came, floor, ceiling in BARS],
        "foods": FOODS,
        "comes": Comes(["It fills you."], ["Its energy is not known."], [("energy", "549 kcal"), ("iron", None)], READ),
        "costs": [CostBar("packed", 120.0, True, 300, 3, 100), CostBar("bought", 240.0, False, 600, 2, 300)],
    }
    viewer = Viewer("en", token="of nobody", pages=PARENT_PAGES)  # noqa: S106 - no token that opens anything
    return environment().get_template("parts/all.html").render(view=view, viewer=viewer, here="/", back="/")
