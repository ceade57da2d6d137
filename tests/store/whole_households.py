"""Whole households drawn by hypothesis: awkward names, ids of own foods inside bodies, every kind of record."""

from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from hypothesis import strategies as st

from service.jobs.household.transfer.whole_household import MODELS, WholeHousehold
from service.store.household.records import Record

AWKWARD = [
    "=1+1", "-5", "+x", "@y", "'quoted", "''#", "'#5", "#5", "12", "1.0", "true", "null", '{"a":1}', "[]", '"x"',
    "a,b", 'a"b', "Møller 你好", "𝟙 🥕", "1e5", "123456789012345678901234567890", "NaN", "-", "=", "\ufeffmark", "x;y",
]  # fmt: skip
PLAIN = st.text(st.characters(exclude_categories=["Cc", "Cs"]), min_size=1, max_size=30).filter(
    lambda t: t == t.strip()
)
NAMES = st.sampled_from(AWKWARD) | PLAIN
LINES = st.lists(NAMES, max_size=3).map("\r\n".join) | st.sampled_from(["a\tb", "a\rb", "a\n\nb"])
MOMENTS = st.datetimes(datetime(2020, 1, 1), datetime(2030, 1, 1)).map(lambda one: one.replace(tzinfo=UTC))  # noqa: DTZ001
DAYS = st.dates(date(2020, 1, 1), date(2030, 12, 31)).map(date.isoformat)
AMOUNTS = st.floats(0.001, 9_999, allow_nan=False) | st.integers(1, 9_999).map(float)
FIGURES = st.none() | st.floats(0, 99_999, allow_nan=False)


def _record(draw: st.DrawFn, name: str, body: dict[str, Any], record_id: UUID) -> Record:
    asked = MODELS[name].model_validate(body, strict=False)
    kept = asked.model_dump(mode="json", by_alias=True, exclude_unset=name == "household")
    return Record(record_id, draw(st.integers(1, 2**31 - 1)), draw(MOMENTS), draw(MOMENTS), kept)


@st.composite
def items(draw: st.DrawFn, own: list[str]) -> dict[str, Any]:
    """One item of a lunch: a food of the tables, an own one by its id, or a label."""
    label = {"name": draw(NAMES), "serving": {"grams": draw(st.floats(0.5, 3_000))}}
    return {
        "food": draw(st.sampled_from([*own, "apple", "milk-skim"]) | st.just(label)),
        "quantity": draw(AMOUNTS),
        "unit": draw(st.none() | st.sampled_from(["g", "cup"])),
    }


@st.composite
def whole_households(draw: st.DrawFn) -> WholeHousehold:
    """A household with up to a few records of every kind, in the order of their ids."""
    first = draw(st.integers(0, 2**64))
    ids = iter(UUID(int=(first + number * 2**60) * 2**40 + number) for number in range(30))
    named = st.lists(NAMES, max_size=3, unique=True)
    said = {"name": draw(NAMES), "retention_months": draw(st.integers(1, 240))}
    household = _record(draw, "household", draw(st.sampled_from([said, {}])), next(ids))
    records: dict[str, list[Record]] = {name: [] for name in MODELS if name != "household"}

    def add(name: str, body: dict[str, Any]) -> None:
        records[name].append(_record(draw, name, body, next(ids)))

    for name in draw(st.lists(NAMES.filter(lambda one: len(one) <= 40), max_size=2, unique=True)):
        add("children", {
            "nickname": name, "standard": "us-school-lunch", "birth_month": "2019-05", "height_cm": draw(st.none() | st.floats(40, 220)),
            "avoids": draw(st.lists(st.fixed_dictionaries({"allergen": NAMES}), max_size=2)), "dislikes": draw(st.lists(NAMES, max_size=3)),
        })  # fmt: skip
    for name in draw(named):
        add("foods", {
            "name": name, "serving": {"name": "bar", "grams": draw(st.floats(0.5, 3_000))}, "facts": {"energy_kcal": draw(FIGURES)},
            "ingredients": draw(st.none() | LINES), "perishable": draw(st.none() | st.booleans()),
        })  # fmt: skip
    own = [str(record.id) for record in records["foods"]]
    for day in draw(st.lists(DAYS, max_size=2, unique=True)):
        add("packets", {"food": draw(st.sampled_from([*own, "hummus"])), "read_on": day, "ingredients": "oats"})
    for name in draw(named):
        add("recipes", {
            "name": name, "ingredients": [{"food": draw(st.sampled_from([*own, "rice-cooked"])), "grams": draw(AMOUNTS)}],
            "weight_change_percent": draw(st.floats(-99.9, 399)),
        })  # fmt: skip
    for name in draw(named):
        group = {"id": draw(NAMES), "items": draw(st.lists(items(own), min_size=1, max_size=3))}
        add("offers", {"name": name, "groups": [group]})
    for day in draw(st.lists(DAYS, max_size=3, unique=True)):
        add(
            "prices",
            {"what": "school_meal", "amount_minor": draw(st.integers(0, 10**8)), "currency": "EUR", "from": day},
        )
    if records["children"] and draw(st.booleans()):
        child, day = str(records["children"][0].id), draw(DAYS)
        add("prices", {"what": "school_meal", "child": child, "amount_minor": 0, "currency": "EUR", "from": day})
    if records["children"]:
        child = str(records["children"][0].id)
        for day in draw(st.lists(DAYS, max_size=4, unique=True)):
            kind = draw(st.sampled_from(["packed", "bought", "none"]))
            packed = {
                "items": draw(st.lists(items(own), min_size=1, max_size=3)),
                "uneaten": draw(st.none() | st.just([]) | st.just([{"item": 0, "share": 0.5}])),
                "found": {"verdict": "adjust", "standard": "us-school-lunch", "age_group": "grades-k-5", "do_not_pack": []},
            }  # fmt: skip
            menu = {"menu": draw(st.none() | st.fixed_dictionaries({"name": NAMES}))}
            more = packed if kind == "packed" else menu if kind == "bought" else {}
            add("lunches", {"child": child, "date": day, "kind": kind, **more})
        for day in draw(st.lists(DAYS, max_size=2, unique=True)):
            offer = str(records["offers"][0].id) if records["offers"] and draw(st.booleans()) else None
            menu = draw(st.none() | st.fixed_dictionaries({"name": NAMES}))
            add(
                "school_days", {"date": day, "offer": offer, "menu": menu, "buys": draw(st.sampled_from([[], [child]]))}
            )
        for name in draw(named if records["offers"] else st.just([])):
            offer = str(records["offers"][0].id)
            plan = {"days": ["2026-11-30"], "children": [child], "offers": [{"id": "a", "offer": offer}]}
            add("plans", {"name": name, "asked": plan})
    for day in draw(st.lists(DAYS, max_size=2)):
        grams = draw(st.integers(0, 10**7)) / 1000
        food = draw(st.sampled_from([*own, "apple"]))
        add("stock", {
            "food": food, "place": draw(st.sampled_from(["freezer", "fridge", "cupboard"])), "portions": draw(st.floats(0, 99)),
            "portion_grams": draw(st.floats(0.1, 900)), "made_on": day, "grams": grams, "note": draw(LINES),
        })  # fmt: skip
        add(
            "stock_events",
            {"stock": str(records["stock"][-1].id), "event": "made", "on": day, "portions": 1.0, "grams": grams},
        )
    return WholeHousehold(household, records)


def one_of_each() -> WholeHousehold:
    """A household with something of every kind, always the same."""
    moment = datetime(2026, 11, 25, 7, 30, 0, 123456, UTC)
    ids = [str(UUID(int=number * 2**80 + 1)) for number in range(1, 13)]
    packed = {"verdict": "adjust", "standard": "us-school-lunch", "age_group": "grades-k-5", "do_not_pack": []}
    bar = {"name": "=bar", "serving": {"grams": 30.0}, "ingredients": "oats, sugar"}
    bodies = {
        "household": [{"name": "Hazel", "retention_months": 13}],
        "children": [{"nickname": "Rowan", "standard": "us-school-lunch", "birth_month": "2018-05"}],
        "foods": [bar],
        "packets": [],
        "recipes": [{"name": "-soup", "ingredients": [{"food": ids[2], "grams": 50.0}], "weight_change_percent": -5.0}],
        "offers": [{"name": "usual", "groups": [{"id": "fruit", "items": [{"food": "apple"}]}]}],
        "prices": [{"what": "food", "food": ids[2], "amount_minor": 250, "currency": "EUR", "pack_grams": 180.0, "from": "2026-11-01"}],
        "lunches": [
            {"child": ids[1], "date": "2026-11-23", "kind": "packed", "items": [{"food": ids[2]}], "offer": ids[4], "found": packed},
            {"child": ids[1], "date": "2026-11-24", "kind": "bought", "menu": {"name": "soup, +bread"}},
        ],
        "school_days": [{"date": "2026-11-24", "offer": ids[4], "menu": {"name": "soup, +bread"}, "buys": [ids[1]]}],
        "stock": [{"food": ids[2], "place": "freezer", "portions": 2.5, "portion_grams": 30.0, "grams": 75.0, "made_on": "2026-11-20"}],
        "stock_events": [{"stock": ids[9], "event": "made", "on": "2026-11-20", "portions": 2.5, "grams": 75.0}],
        "plans": [{"name": "=weeks", "asked": {"days": ["2026-11-30"], "children": [ids[1]], "offers": [{"id": "a", "offer": ids[4]}]}}],
    }  # fmt: skip
    records: dict[str, list[Record]] = {}
    number = 0
    for name, some in bodies.items():
        records[name] = []
        for body in some:
            asked = MODELS[name].model_validate(body, strict=False)
            kept = asked.model_dump(mode="json", by_alias=True)
            records[name].append(Record(UUID(ids[number]), 3, moment, moment, kept))
            number += 1
    return WholeHousehold(records.pop("household")[0], records)
