"""A table of lunches against the obvious pandas code, against a loop of single checks, and against parsing alone.

``BULK_LUNCHES`` in the environment says how many lunches (default a million); the ratios hardly depend on it.
"""

import os
from datetime import date, timedelta

import numpy as np
import pandas as pd

from service.domain.amounts import credit_option
from service.domain.measures import MEASURE_COUNT, MEASURES, NUTRIENT_COUNT, SCALE
from service.domain.standards import compile_targets
from service.reference.lunch_foods import lunch_foods
from service.reference.standards import crediting_scheme, standard

LUNCHES = int(os.environ.get("BULK_LUNCHES", "1000000"))
CHUNK = 50_000
"""Lunches to a frame, for ours and for the yardstick alike."""
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

    It gives the totals and the statuses of the targets, no more; ours adds scores, verdicts, allergens, forms and
    holding, and what is wrong with each row.
    """

    def __init__(self) -> None:
        foods = list(lunch_foods())
        scheme = crediting_scheme("us-school-meals")
        assert scheme is not None
        figures = np.full((len(foods), MEASURE_COUNT), np.nan)
        for place, food in enumerate(foods):
            figures[place, :NUTRIENT_COUNT] = [np.nan if value is None else value for value in food.nutrients]
            figures[place, NUTRIENT_COUNT:] = 0
            option = credit_option(food, None)
            for credit in option.credits if option else ():
                if credit.measure in scheme.rounding:
                    figures[place, credit.measure] = float(credit.per_basis * SCALE)
        self.figures = pd.DataFrame(figures, columns=MEASURE_IDS)
        self.figures.insert(0, "food", [food.id for food in foods])
        units = [(food.id, unit.name, unit.grams_mg) for food in foods for unit in food.units]
        units += [(food.id, "g", 1000) for food in foods]
        self.portions = pd.DataFrame(units, columns=["food", "unit", "unit_mg"]).drop_duplicates(["food", "unit"])
        self.steps = {MEASURE_IDS[m]: (one.step, one.minimum) for m, one in scheme.rounding.items()}
        known = standard(STANDARD)
        self.groups = [(group, compile_targets(known, group, FIRST_DAY)) for group in known.age_groups]

    def run(self, rows: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
        """Totals and statuses by lunch."""
        merged = rows.merge(self.portions, on=["food", "unit"], how="left").merge(self.figures, on="food", how="left")
        amount = np.floor(merged["quantity"] * merged["unit_mg"] + 0.5)
        for name in MEASURE_IDS:
            value = merged[name] * amount / 100_000
            if name in self.steps:
                step, minimum = self.steps[name]
                value = np.floor(value / step + 1e-9) * step
                value = value.where(value >= minimum, 0)
            else:
                value = np.floor(value + 0.5)
            merged[name] = value
        by_lunch = merged.groupby("lunch", sort=False)
        totals = by_lunch[MEASURE_IDS].sum()
        missing = merged[MEASURE_IDS].isna().groupby(merged["lunch"], sort=False).any()
        ages = by_lunch["age_months"].first()
        statuses = []
        for group, table in self.groups:
            inside = (ages >= group.from_age_months) & (ages < group.below_age_months)
            part, lacking = totals[inside], missing[inside]
            found = pd.DataFrame(index=part.index)
            for target in table.targets:
                row = sum(weight * part[MEASURE_IDS[measure]] for measure, weight in target.terms)
                unknown = lacking[[MEASURE_IDS[measure] for measure, _weight in target.terms]].any(axis=1)
                status = pd.Series("met", index=part.index)
                if target.low is not None:
                    status = status.mask(row < target.low, "short")
                if target.high is not None:
                    over = row >= target.high if target.below else row > target.high
                    status = status.mask(over, "over")
                found[target.id] = status.mask(unknown, "unknown")
            statuses.append(found)
        return totals, pd.concat(statuses)
