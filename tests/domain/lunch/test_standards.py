"""Rows become whole-number targets; the arithmetic is worked out by hand here."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from service.domain.errors import OutsideDates
from service.domain.lunch.compiling import check_date, compile_targets, first_and_last_day
from service.domain.lunch.standards import AgeGroup, Scoring, Standard, Target, TargetRow
from service.domain.measures import MEASURE_INDEX, SCALE
from tests.refused import refused

GROUP = AgeGroup("pupils", "Pupils", 60, 132, "xx-act 1", "read")
OTHER = AgeGroup("older", "Older pupils", 132, 216, "xx-act 1", "read")


def row(**fields: object) -> TargetRow:
    """A row of an invented standard; fields not named are plain."""
    plain: dict[str, object] = {
        "id": "energy",
        "age_group": "pupils",
        "label": "energy",
        "kind": "measure",
        "terms": {"energy_kcal": Decimal(1)},
        "unit": "kcal",
        "basis": "lunch",
        "at_least": None,
        "at_most": None,
        "above": False,
        "below": False,
        "from_day": date(2020, 9, 1),
        "until_day": None,
        "source": "xx-act 2",
        "status": "read",
    }
    return TargetRow(**{**plain, **fields})  # type: ignore[arg-type]


def standard_of(*rows: TargetRow) -> Standard:
    scoring = {one.id: Scoring(Fraction(1), Fraction(50)) for one in rows}
    return Standard(
        "xx", "XX", "Examplia", "Act", "invented", "", "complete", (), False, None, (GROUP, OTHER), rows, scoring
    )


def compiled(one: TargetRow) -> list[Target]:
    table = compile_targets(standard_of(one), GROUP, date(2021, 1, 1))
    return [*table.targets, *table.week_targets]


def test_a_plain_bound_is_in_whole_parts() -> None:
    (target,) = compiled(row(at_least=Decimal("550.0"), at_most=Decimal("650.5")))
    assert target.terms == ((MEASURE_INDEX["energy_kcal"], 1),)
    assert (target.low, target.high, target.per_unit) == (550 * SCALE, 1301 * SCALE // 2, SCALE)
    assert (target.at_least, target.at_most) == (550.0, 650.5)


def test_a_bound_finer_than_the_parts_makes_the_weights_finer() -> None:
    (target,) = compiled(row(at_most=Decimal("650.000000005")))
    assert target.terms == ((MEASURE_INDEX["energy_kcal"], 2),)
    assert (target.high, target.per_unit) == (2 * 650 * SCALE + 1, 2 * SCALE)


def test_a_share_of_energy_folds_its_bound_into_the_weights() -> None:
    """Below 10 % of energy: 900 * saturated fat - 10 * energy < 0."""
    terms = {"saturated_fat_g": Decimal("9.0")}
    (target,) = compiled(row(kind="share_of_energy", terms=terms, at_most=Decimal("10.0"), below=True))
    assert dict(target.terms) == {MEASURE_INDEX["saturated_fat_g"]: 900, MEASURE_INDEX["energy_kcal"]: -10}
    assert (target.low, target.high) == (None, 0)
    assert target.below


def test_a_share_with_two_bounds_becomes_two_targets() -> None:
    terms = {"protein_g": Decimal("4.0")}
    least, most = compiled(
        row(id="protein", kind="share_of_energy", terms=terms, at_least=Decimal(13), at_most=Decimal(20))
    )
    assert (least.id, least.low, least.high) == ("protein-least", 0, None)
    assert (most.id, most.low, most.high) == ("protein-most", None, 0)
    assert dict(least.terms)[MEASURE_INDEX["energy_kcal"]] == -13
    assert dict(most.terms)[MEASURE_INDEX["energy_kcal"]] == -20


def test_a_combination_stays_exact() -> None:
    """Salt from sodium: 0.00254 g for 1 mg; 1.5 g of salt is 75,000 units of 0.00002 g, in parts."""
    (target,) = compiled(
        row(kind="combination", terms={"sodium_mg": Decimal("0.00254")}, at_most=Decimal("1.5"), below=True, unit="g")
    )
    ((measure, weight),) = target.terms
    assert measure == MEASURE_INDEX["sodium_mg"]
    assert Fraction(weight, target.per_unit) == Fraction("0.00254") / SCALE
    assert Fraction(target.high or 0, target.per_unit) == Fraction("1.5")


@pytest.mark.parametrize(
    ("basis", "firm"), [("lunch", True), ("school_day", True), ("week_mean", False), ("week_total", False)]
)
def test_what_one_lunch_must_meet(basis: str, firm: bool) -> None:
    (target,) = compiled(row(at_least=Decimal(1), basis=basis))
    assert target.firm == firm
    table = compile_targets(standard_of(row(at_least=Decimal(1), basis=basis)), GROUP, date(2021, 1, 1))
    assert bool(table.week_targets) == (basis == "week_total")


def test_a_row_holds_on_its_first_and_last_day() -> None:
    one = row(at_least=Decimal(1), until_day=date(2024, 8, 31))
    for day, holds in (
        (date(2020, 8, 31), False),
        (date(2020, 9, 1), True),
        (date(2024, 8, 31), True),
        (date(2024, 9, 1), False),
    ):
        assert one.in_force(day) == holds


def test_days_outside_all_rows() -> None:
    known = standard_of(row(at_least=Decimal(1), until_day=date(2024, 8, 31)))
    assert first_and_last_day(known) == (date(2020, 9, 1), date(2024, 8, 31))
    for day in (date(2020, 8, 31), date(2024, 9, 1)):
        with refused(OutsideDates, match="from 2020-09-01 to 2024-08-31") as caught:
            check_date(known, day)
        assert caught.value.value == day.isoformat()
    check_date(known, date(2024, 8, 31))


def test_an_open_row_has_no_last_day() -> None:
    known = standard_of(row(at_least=Decimal(1)), row(id="fat", at_least=Decimal(1), until_day=date(2024, 8, 31)))
    assert first_and_last_day(known) == (date(2020, 9, 1), None)
    check_date(known, date(2099, 1, 1))


def test_an_age_group_whose_rows_begin_later() -> None:
    later = row(age_group="older", at_least=Decimal(1), from_day=date(2022, 1, 1))
    known = standard_of(row(at_least=Decimal(1)), later)
    with refused(OutsideDates, match="2022-01-01"):
        compile_targets(known, OTHER, date(2021, 1, 1))
    with refused(OutsideDates, match="another age group"):
        compile_targets(standard_of(row(at_least=Decimal(1))), OTHER, date(2021, 1, 1))
