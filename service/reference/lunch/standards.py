"""Standards, crediting schemes and energy equations from their files, each read once when asked for."""

import itertools
from collections.abc import Collection
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from service.domain.errors import ReferenceFault, UnknownName, raise_all
from service.domain.foods.amounts import near_names
from service.domain.foods.crediting import CreditingScheme, Rounding
from service.domain.lunch.standards import (
    EnergyRule,
    MilkRule,
    PointsOff,
    ProductRule,
    Scoring,
    Standard,
    SubstituteRule,
    TargetRow,
    TermKind,
)
from service.domain.measures import MEASURE_INDEX, MEASURES, SCALE
from service.domain.messages import message
from service.reference.files import data_path, paths_by_id, read_toml
from service.reference.foods.components import components
from service.reference.lunch.standard_models import CreditingFile, GroupRule, ScoringFile, StandardFile, TargetFileRow


@lru_cache(maxsize=1)
def standard_paths() -> dict[str, str]:
    """Standard id -> its path under reference_data, in alphabetical order."""
    return paths_by_id("standards")


def standard_ids() -> tuple[str, ...]:
    """All standards at hand."""
    return tuple(standard_paths())


@lru_cache(maxsize=1)
def yardstick_ids() -> tuple[str, ...]:
    """The standards that are shown beside one for lunches."""
    return tuple(one for one in standard_ids() if standard(one).yardstick)


def yardstick(yardstick_id: str) -> Standard:
    """The yardstick of that id; ``UnknownName`` with the known ones otherwise."""
    known = yardstick_ids()
    if yardstick_id not in known:
        raise UnknownName(
            value=yardstick_id,
            kind=message("kind.yardstick"),
            near=near_names(yardstick_id, known),
            known=message("help.known", names=list(known)),
        )
    return standard(yardstick_id)


@lru_cache(maxsize=1)
def points_off() -> PointsOff:
    """What is taken off every score besides what its targets leave."""
    file = read_toml(data_path("scoring.toml"), ScoringFile)
    return PointsOff(
        file.points_for_a_product,
        file.points_for_handling,
        file.discretionary_kcal_per_point,
        file.points_for_far_over,
        file.most_distances_over,
        EnergyRule(file.energy_rule, file.energy_label, file.source, file.status),
    )


@lru_cache(maxsize=32)
def standard(standard_id: str) -> Standard:
    """The standard of that id; ``UnknownName`` with the known ones otherwise."""
    paths = standard_paths()
    check_known_standard(standard_id, paths)
    file = read_toml(data_path(paths[standard_id]), StandardFile)
    return standard_from_file(file, standard_id)


def check_known_standard(standard_id: str, known: Collection[str]) -> None:
    """Raise ``UnknownName`` with the ``known`` ones for an id that is none of them."""
    if standard_id not in known:
        raise UnknownName(
            field="standard",
            value=standard_id,
            kind=message("kind.standard"),
            near=near_names(standard_id, known),
            known=message("help.known", names=list(known)),
        )


def standard_from_file(file: StandardFile, expected_id: str) -> Standard:
    """Turn a standard's file into the domain object, telling every fault."""
    where = f"{expected_id}.toml"
    faults: list[ReferenceFault] = []

    def fault(place: str, value: object, problem: str, remedy: str) -> None:
        faults.append(ReferenceFault(pointer=f"{where}#/{place}", value=value, problem=problem, remedy=remedy))

    if file.id != expected_id:
        fault("id", file.id, "is not the file's name", f"Write id = {expected_id!r}, or rename the file.")
    groups = {row.id: row for row in file.age_group}
    ordered = sorted(file.age_group, key=lambda row: row.from_age_months)
    for before, after in itertools.pairwise(ordered):
        if after.from_age_months < before.below_age_months:
            fault("age_group", after.id, f"overlaps {before.id}", "Make the groups half-open, one after the other.")
    for row_ids, place in (
        ([g.id for g in file.age_group], "age_group"),
        ([x.target for x in file.scoring], "scoring"),
    ):
        for doubled in sorted({one for one in row_ids if row_ids.count(one) > 1}):
            fault(place, doubled, "appears twice", "Keep one of the two rows.")
    scored = {row.target for row in file.scoring}
    for unused in sorted(scored - {row.id for row in file.target}):
        fault("scoring", unused, "scores a target that the file does not have", "Remove the row, or correct its name.")
    for index, row in enumerate(file.target):
        place = f"target/{index}"
        if row.age_group not in groups:
            fault(
                f"{place}/age_group",
                row.age_group,
                "is not an age group of this file",
                "Give one of " + ", ".join(groups),
            )
        if row.id not in scored:
            fault(f"{place}/id", row.id, "has no scoring row", "Add a [[scoring]] row for it.")
        for measure in _terms(row):
            if (
                measure in MEASURE_INDEX
                and row.measure == measure
                and row.unit != MEASURES[MEASURE_INDEX[measure]].unit
            ):
                unit = MEASURES[MEASURE_INDEX[measure]].unit
                fault(
                    f"{place}/unit", row.unit, f"is not the unit of {measure}", f"Write {unit!r}, or use combination."
                )
            if measure not in MEASURE_INDEX:
                fault(f"{place}", measure, "is not a measure", "Give one of the ids in service/domain/measures.py.")
    seen: dict[tuple[str, str], list[TargetFileRow]] = {}
    for row in file.target:
        seen.setdefault((row.id, row.age_group), []).append(row)
    for (row_id, group), rows in seen.items():
        rows.sort(key=lambda row: row.from_)
        for earlier, later in itertools.pairwise(rows):
            if earlier.until is None or later.from_ <= earlier.until:
                fault(
                    "target",
                    f"{row_id} for {group} from {later.from_}",
                    "overlaps the row before it in time",
                    "End the earlier row on the day before with until.",
                )
    dated: list[GroupRule] = [*file.product_rule, *file.milk_rule, *file.substitute_rule]
    for rule in dated:
        for other in dated:
            same = other is not rule and (type(other), other.id) == (type(rule), rule.id)
            together = same and bool(set(other.age_groups) & set(rule.age_groups))
            if together and rule.from_ <= other.from_ and (rule.until is None or other.from_ <= rule.until):
                fault(
                    rule.id,
                    f"from {other.from_}",
                    f"overlaps the row from {rule.from_} in time",
                    "End the earlier row on the day before with until.",
                )
    for rule in file.product_rule:
        if rule.measure not in MEASURE_INDEX:
            fault(
                "product_rule", rule.measure, "is not a measure", "Give one of the ids in service/domain/measures.py."
            )
    for substitute in file.substitute_rule:
        for measure in (*substitute.holds_per_cup, *substitute.look_at):
            if measure not in MEASURE_INDEX:
                remedy = "Give one of the ids in service/domain/measures.py."
                fault("substitute_rule", measure, "is not a measure", remedy)
        for unknown in sorted(set(substitute.targets) - {row.id for row in file.target}):
            fault("substitute_rule", unknown, "is not a target of the file", "Correct its name.")
    for named in dated:
        for group in named.age_groups:
            if group not in groups:
                fault(
                    f"{named.id}/age_groups",
                    group,
                    "is not an age group of this file",
                    "Give one of " + ", ".join(groups),
                )
    raise_all(faults)
    return Standard(
        points_off=points_off(),
        id=file.id,
        jurisdiction=file.jurisdiction,
        title=file.title,
        citation=file.citation,
        about=file.about,
        crediting=file.crediting,
        complete=file.complete,
        missing=tuple(file.missing),
        historical=file.historical,
        checked_until=file.checked_until,
        age_groups=file.age_groups(),
        rows=tuple(_row(row) for row in file.target),
        yardstick=file.yardstick,
        scoring={row.target: Scoring(Fraction(row.weight), Fraction(row.distance_percent)) for row in file.scoring},
        product_rules=tuple(
            ProductRule(
                r.id,
                r.label,
                frozenset(r.applies_to),
                r.measure,
                r.at_most,
                r.per_grams,
                frozenset(r.age_groups),
                r.from_,
                r.until,
                r.source,
                r.status,
            )
            for r in file.product_rule
        ),
        milk_rules=tuple(
            MilkRule(r.id, r.label, frozenset(r.allowed), frozenset(r.age_groups), r.from_, r.until, r.source, r.status)
            for r in file.milk_rule
        ),
        substitute_rules=tuple(
            SubstituteRule(
                r.id,
                r.label,
                r.allergen,
                frozenset(r.targets),
                {measure: float(amount) for measure, amount in r.holds_per_cup.items()},
                tuple(r.look_at),
                frozenset(r.age_groups),
                r.from_,
                r.until,
                r.source,
                r.status,
            )
            for r in file.substitute_rule
        ),
    )


def _terms(row: TargetFileRow) -> dict[str, Decimal]:
    if row.measure is not None:
        return {row.measure: Decimal(1)}
    return row.share_of_energy or row.combination or {}


def _row(row: TargetFileRow) -> TargetRow:
    kind: TermKind = "measure"
    if row.share_of_energy is not None:
        kind = "share_of_energy"
    elif row.combination is not None:
        kind = "combination"
    return TargetRow(
        id=row.id,
        age_group=row.age_group,
        label=row.label,
        kind=kind,
        terms=_terms(row),
        unit=row.unit,
        basis=row.basis,
        at_least=row.at_least if row.at_least is not None else row.above,
        at_most=row.at_most if row.at_most is not None else row.below,
        above=row.above is not None,
        below=row.below is not None,
        from_day=row.from_,
        until_day=row.until,
        source=row.source,
        status=row.status,
        note=row.note,
    )


@lru_cache(maxsize=8)
def crediting_scheme(scheme_id: str) -> CreditingScheme | None:
    """The crediting scheme of that id; None for a standard without food-group credits."""
    if not scheme_id:
        return None
    file = read_toml(data_path(f"crediting/{scheme_id}.toml"), CreditingFile)
    faults = [
        ReferenceFault(
            pointer=f"{scheme_id}.toml#/rounding",
            value=row.measure,
            problem="is not a measure",
            remedy="Give one of the ids in service/domain/measures.py.",
        )
        for row in file.rounding
        if row.measure not in MEASURE_INDEX
    ]
    faults += [
        ReferenceFault(
            pointer=f"{scheme_id}.toml#/amount",
            value=amount.component,
            problem="is not a component",
            remedy="Give one of " + ", ".join(components()) + ".",
        )
        for amount in file.amount
        if amount.component not in components()
    ]
    raise_all(faults)
    return CreditingScheme(
        id=file.id,
        title=file.title,
        rounding={
            MEASURE_INDEX[row.measure]: Rounding(
                int(row.step * SCALE), int(row.minimum * SCALE), row.source, row.status
            )
            for row in file.rounding
        },
        grain_group_grams_mg={row.id: int(row.grams_per_oz_eq * 1000) for row in file.grain_group},
        creditable_grain_mg=int(file.creditable_grain.grams_per_oz_eq * 1000),
        source=file.source,
    )
