"""A table of lunches against the obvious pandas code, against a loop of single checks, and against parsing alone.

``BULK_LUNCHES`` in the environment says how many lunches (default 300,000, which takes some minutes; a million takes
three times as long and some 6 GB of memory); the ratios hardly depend on it.
"""

import os
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import orjson
import pandas as pd

from service.domain.foods.amounts import credit_option, most_of_missing
from service.domain.foods.packets import NOTHING_KNOWN_OF_FOODS
from service.domain.lunch.compiling import compile_targets, without_avoided
from service.domain.lunch.judging_arrays import STATUSES
from service.domain.measures import MEASURE_COUNT, MEASURES, NUTRIENT_COUNT, SCALE
from service.domain.tables.judging import judge_groups, measured_rows
from service.domain.tables.totals import add_up_many
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.lunches import LunchCheckRequest
from service.jobs.tables.check_table import check_table
from service.jobs.tables.files.run import check_file
from service.jobs.tables.files.write import arrow_table, ndjson
from service.jobs.tables.items import item_fields
from service.jobs.tables.lunches import lunch_fields
from service.jobs.tables.rows import read_rows
from service.reference.foods.lunch_foods import lunch_foods
from service.reference.lunch.standards import crediting_scheme, standard
from tests.benchmarks.figure import Figure

LUNCHES = int(os.environ.get("BULK_LUNCHES", "300000"))
STANDARD, FIRST_DAY = "us-school-lunch", date(2026, 9, 1)
AVOIDS = ["", "", "", "", "", "", "peanut", "milk;egg", "tree_nut", "sesame:contains"]
MEASURE_IDS = [measure.id for measure in MEASURES]


def made_up(lunches: int, seed: int) -> pd.DataFrame:
    """So many made-up lunches of 3 to 9 items, half of them weighed in grams, the others in household units.

    A few foods are eaten often and most of them seldom: the r-th food as often as 1/r, in an order of chance.
    """
    pick = np.random.default_rng(seed)
    foods = list(lunch_foods())
    sizes = pick.integers(3, 10, lunches)
    of = np.repeat(np.arange(lunches), sizes)
    often = 1 / np.arange(1, len(foods) + 1)
    which = pick.permutation(len(foods))[pick.choice(len(foods), len(of), p=often / often.sum())]
    grams = pick.random(lunches) < 0.5
    days = np.array([(FIRST_DAY + timedelta(days=day)).isoformat() for day in range(180)])
    units = np.array([food.units[0].name for food in foods])
    return pd.DataFrame(
        {
            "lunch": np.char.mod(f"S{seed}-%07d", np.arange(lunches))[of],
            "age_months": pick.integers(60, 228, lunches)[of],
            "avoids": np.array(AVOIDS)[pick.integers(0, len(AVOIDS), lunches)][of],
            "standard": STANDARD,
            "on": days[pick.integers(0, len(days), lunches)][of],
            "food": np.array([food.id for food in foods])[which],
            "quantity": np.where(grams[of], pick.integers(5, 200, len(of)), pick.integers(1, 5, len(of)) / 2),
            "unit": np.where(grams[of], "g", units[which]),
        }
    )


class Yardstick:
    """The straightforward way: merge figures and portions onto the rows, weigh, sum by lunch, compare column by column.

    It gives the totals (nothing where one is not known exactly) and the statuses of the targets, no more; ours adds
    scores, verdicts, allergens, forms and holding, and what is wrong with each row.
    """

    def __init__(self) -> None:
        foods = list(lunch_foods())
        scheme = crediting_scheme("us-school-meals")
        assert scheme is not None
        known = standard(STANDARD)
        self.groups = [(group, compile_targets(known, group, FIRST_DAY)) for group in known.age_groups]
        avoided = {one: frozenset(part.split(":")[0] for part in one.split(";") if part) for one in set(AVOIDS)}
        self.not_asked = {
            (table, target.id, avoids)
            for _group, table in self.groups
            for avoids, allergens in avoided.items()
            for target, _rule in without_avoided(table, allergens).left_out
        }
        figures = np.zeros((len(foods), MEASURE_COUNT))
        for place, food in enumerate(foods):
            figures[place, :NUTRIENT_COUNT] = [np.nan if value is None else value for value in food.nutrients]
            option = credit_option(food, None)
            for credit in option.credits if option else ():
                if credit.measure in scheme.rounding:
                    figures[place, credit.measure] = float(credit.per_basis * SCALE / 100_000)
        self.figures = pd.DataFrame(figures, columns=MEASURE_IDS)
        used = {m for _group, table in self.groups for target in table.targets for m, _weight in target.terms}
        self.open = [m for m in sorted(used) if self.figures[MEASURE_IDS[m]].isna().any()]
        for m in self.open:  # what is missing is at least nothing and at most all of what it is a part of
            most = [most_of_missing(food, m) if food.nutrients[m] is None else food.nutrients[m] for food in foods]
            self.figures[f"{MEASURE_IDS[m]}_low"] = self.figures[MEASURE_IDS[m]].fillna(0.0)
            self.figures[f"{MEASURE_IDS[m]}_high"] = [np.inf if one is None else one for one in most]
        self.sums = list(self.figures.columns)
        self.figures.insert(0, "food", [food.id for food in foods])
        units = [(food.id, unit.name, unit.grams_mg) for food in foods for unit in food.units]
        units += [(food.id, "g", 1000) for food in foods]
        self.portions = pd.DataFrame(units, columns=["food", "unit", "unit_mg"]).drop_duplicates(["food", "unit"])
        self.steps = {MEASURE_IDS[m]: (one.step, one.minimum) for m, one in scheme.rounding.items()}

    def run(self, rows: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
        """Totals and statuses by lunch."""
        merged = rows.merge(self.portions, on=["food", "unit"], how="left").merge(self.figures, on="food", how="left")
        amount = np.floor(merged["quantity"] * merged["unit_mg"] + 0.5)
        for name in self.sums:
            value = merged[name] * amount  # thousandths in 100 g are parts in a milligram
            if name in self.steps:
                step, minimum = self.steps[name]
                value = np.floor(value / step + 1e-9) * step
                value = value.where(value >= minimum, 0)
            elif name.endswith("_high"):
                value = np.where(merged[name[:-5]].isna(), np.ceil(value), np.floor(value + 0.5))
            else:
                value = np.floor(value + 0.5)
            merged[name] = value
        by_lunch = merged.groupby("lunch", sort=False)
        totals = by_lunch[self.sums].sum(skipna=False)
        ages, avoids = by_lunch["age_months"].first(), by_lunch["avoids"].first()
        statuses = []
        for group, table in self.groups:
            part = totals[(ages >= group.from_age_months) & (ages < group.below_age_months)]
            found = pd.DataFrame(index=part.index)
            for target in table.targets:
                low = sum(weight * part[self.end(m, weight < 0)] for m, weight in target.terms)
                high = sum(weight * part[self.end(m, weight > 0)] for m, weight in target.terms)
                status = pd.Series("met", index=part.index)
                if target.low is not None:
                    status = status.mask(low < target.low, "unknown").mask(high < target.low, "short")
                if target.high is not None:
                    top = target.high - 1 if target.below else target.high
                    status = status.mask((high > top) & (status == "met"), "unknown").mask(low > top, "over")
                others = [one for known, name, one in self.not_asked if (known, name) == (table, target.id)]
                found[target.id] = status.mask(avoids.loc[part.index].isin(others), "") if others else status
            statuses.append(found)
        return totals[MEASURE_IDS], pd.concat(statuses).loc[totals.index]

    def end(self, measure: int, upper: bool) -> str:
        """The column of an end of a total."""
        name = MEASURE_IDS[measure]
        return name if measure not in self.open else f"{name}_high" if upper else f"{name}_low"


def totals_and_statuses(frame: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Ours as far as the yardstick goes: the same frame in, the same two frames out."""
    rows = read_rows(frame)
    lunches = lunch_fields(rows.texts, rows.numbers, rows.starts, rows.faults)
    items = item_fields(rows.texts, rows.numbers["quantity"], rows.faults, NOTHING_KNOWN_OF_FOODS)
    assert not rows.faults.any.any()
    lunch_of_row = np.repeat(np.arange(len(rows.sizes)), rows.sizes)
    schemes = [crediting_scheme(table.standard.crediting) for table in lunches.tables]
    measured = measured_rows(lunches, items, lunch_of_row, schemes)
    totals = add_up_many(measured.arrays, measured.item, rows.starts)
    widened = totals.measures_with_intervals()
    sums = {}
    for measure, name in enumerate(MEASURE_IDS):
        sums[name] = totals.nominal[measure].astype(np.float64)
        if measure in widened:
            sums[name][totals.is_interval(frozenset({measure}))] = np.nan
    ids = [target.id for table in lunches.tables for target in table.targets]
    found = {name: np.full(len(totals), -1, np.int8) for name in dict.fromkeys(ids)}
    for group in judge_groups(lunches, totals):
        for one in group.targets:
            found[one.target.id][group.lunch] = one.status
    names = pd.Index(rows.names.to_pandas())
    statuses = {name: pd.Categorical.from_codes(codes, STATUSES) for name, codes in found.items()}
    return pd.DataFrame(sums, index=names, copy=False), pd.DataFrame(statuses, index=names, copy=False)


def assert_same(ours: tuple[pd.DataFrame, pd.DataFrame], theirs: tuple[pd.DataFrame, pd.DataFrame]) -> None:
    """The race is only fair if both come to the same."""
    assert ours[0].index.equals(theirs[0].index)
    for name in MEASURE_IDS:
        assert np.array_equal(ours[0][name], theirs[0][name], equal_nan=True), name
    for name in theirs[1].columns:
        assert (ours[1][name].astype(object).fillna("") == theirs[1][name].fillna("")).all(), name


def fastest(*works: Callable[[], object], rounds: int = 3) -> list[float]:
    """Seconds that each piece of work takes, the best of some rounds; they take turns, so a busy minute hits all."""
    best = [float("inf")] * len(works)
    for _ in range(rounds):
        for place, work in enumerate(works):
            began = time.perf_counter()
            work()
            best[place] = min(best[place], time.perf_counter() - began)
    return best


def figures() -> Iterator[Figure]:
    """Against pandas, against the single check, against parsing."""
    yardstick = Yardstick()
    small = made_up(2_000, 1)
    assert_same(totals_and_statuses(small), yardstick.run(small))
    check_table(small, with_findings=False)
    frame = made_up(LUNCHES, 2)
    rows = len(frame)
    quick, whole, obvious = fastest(
        lambda: totals_and_statuses(frame),
        lambda: check_table(frame, with_findings=False),
        lambda: yardstick.run(frame),
    )
    yield Figure(
        "bulk: totals and statuses against plain pandas",
        obvious / quick,
        5.0,
        detail=f"{rows / quick:,.0f} rows/s against {rows / obvious:,.0f}, {LUNCHES:,} lunches",
    )
    yield Figure(
        "bulk: the whole answer against the same pandas",
        obvious / whole,
        1.0,
        detail=f"{rows / whole:,.0f} rows/s with scores, verdicts, allergens, forms, holding",
    )
    requests = [request_of(lunch) for _name, lunch in frame.head(12_000).groupby("lunch", sort=False)]
    (looped,) = fastest(lambda: [check_lunch(one) for one in requests], rounds=2)
    yield Figure(
        "bulk: lunches against a loop over the single check",
        (looped / len(requests)) / (whole / LUNCHES),
        100.0,
        detail=f"{LUNCHES / whole:,.0f} lunches/s against {len(requests) / looped:,.0f}",
    )
    yield from file_figures(frame[frame["lunch"].isin(frame["lunch"].drop_duplicates().head(LUNCHES // 4))])


def request_of(lunch: pd.DataFrame) -> LunchCheckRequest:
    """The same lunch as a request to check it alone."""
    first = lunch.iloc[0]
    avoids = [one.split(":") for one in first["avoids"].split(";") if one]
    return LunchCheckRequest.model_validate(
        {
            "standard": first["standard"],
            "on": first["on"],
            "child": {
                "age_months": int(first["age_months"]),
                "avoids": [dict(zip(("allergen", "threshold"), one, strict=False)) for one in avoids],
            },
            "lunch": {
                "items": [
                    {"food": row.food, "quantity": float(row.quantity), "unit": row.unit} for row in lunch.itertuples()
                ]
            },
            "max_changes": 0,
        }
    )


def file_figures(frame: pd.DataFrame) -> Iterator[Figure]:
    """NDJSON in and out against parsing the same bytes, line by line, with orjson."""
    with tempfile.TemporaryDirectory() as folder:
        source, out, rejects = (Path(folder) / f"{name}.ndjson" for name in ("table", "lunches", "rejects"))
        with source.open("wb") as file:
            for first in range(0, len(frame), 200_000):
                file.write(ndjson(arrow_table(frame.iloc[first : first + 200_000])))
        check_file(source, out, None, rejects, lambda _done: None)
        ours, read, written = fastest(
            lambda: check_file(source, out, None, rejects, lambda _done: None),
            lambda: parse(source),
            lambda: parse(out),
        )
        sizes = source.stat().st_size, out.stat().st_size
    told = f"{len(frame) / ours:,.0f} rows/s, {sizes[0] / 1e6:.0f} MB in, {sizes[1] / 1e6:.0f} MB out"
    yield Figure("bulk: NDJSON in and out against parsing both", (read + written) / ours, 0.5, detail=told)
    yield Figure(
        "bulk: the same against parsing the input alone", read / ours, 0.25, detail=f"{read:.1f} s to parse it"
    )


def parse(path: Path) -> None:
    """Parse each line, and no more."""
    with path.open("rb") as file:
        for line in file:
            orjson.loads(line)
