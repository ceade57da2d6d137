"""The shipped standards: they load, their sources are listed, and a snapshot shows the reach of every edit.

Snapshots hold each compiled row once with the spans of days in which it holds. After a wanted change
write them anew with ``UPDATE_SNAPSHOTS=1 python -m pytest tests/reference/lunch/test_standards.py`` and read
the difference: it shows all age groups and days that an edited line reaches.
"""

import json
import os
import re
import tomllib
from collections.abc import Iterator
from datetime import date, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from service.domain.errors import OutsideAgeGroups, OutsideDates, UnknownName
from service.domain.lunch.compiling import compile_targets, first_and_last_day
from service.domain.lunch.standards import AgeGroup, MilkRule, ProductRule, Standard, Target
from service.domain.measures import MEASURES, PARTS_IN_A_THOUSANDTH
from service.reference.fault_words import fault_sentence, fault_words
from service.reference.files import data_path
from service.reference.lunch.standards import crediting_scheme, standard, standard_ids, standard_paths
from tests.refused import refused
from tests.strategies import first_days

SNAPSHOTS = Path(__file__).parent / "snapshots"
OWN = "ours: no source"


def listed_sources() -> set[str]:
    return set(tomllib.loads(data_path("sources.toml").read_text(encoding="utf-8"))["sources"])


def values_of(node: Any, key: str) -> Iterator[str]:
    """Every value of a key, at any depth of parsed TOML."""
    if isinstance(node, dict):
        for name, value in node.items():
            if name == key:
                yield value
            else:
                yield from values_of(value, key)
    elif isinstance(node, list):
        for value in node:
            yield from values_of(value, key)


@pytest.mark.parametrize("standard_id", standard_ids())
def test_a_shipped_standard_loads(standard_id: str) -> None:
    known = standard(standard_id)
    assert known.id == standard_id
    assert standard_paths()[standard_id] == f"standards/{known.jurisdiction.lower()}/{standard_id}.toml"
    if known.crediting:
        assert crediting_scheme(known.crediting) is not None
    for group in known.age_groups:
        assert compile_targets(known, group, first_and_last_day(known)[0]).age_group is group


def test_the_standards_promised_are_there() -> None:
    promised = {
        "us-school-lunch",
        "us-child-care-lunch",
        "gb-sct-school-lunch",
        "gb-eng-lunch-box-guideline",
        "jp-school-lunch",
    }
    assert promised <= set(standard_ids())


@pytest.mark.parametrize(
    "name", [*standard_paths().values(), "crediting/us-school-meals.toml", "energy/nasem-2023.toml"]
)
def test_every_source_is_listed(name: str) -> None:
    """The first word of a source is a key of sources.toml; our own choices say so and are never 'read'."""
    content = tomllib.loads(data_path(name).read_text(encoding="utf-8"))
    sources = set(values_of(content, "source"))
    assert sources
    unlisted = {source for source in sources if source != OWN and source.split()[0] not in listed_sources()}
    assert not unlisted


@pytest.mark.parametrize("standard_id", standard_ids())
def test_no_target_rests_on_a_choice_of_ours(standard_id: str) -> None:
    for row in standard(standard_id).rows:
        assert row.source != OWN, row.id
        assert row.status != "proposed", row.id


@pytest.mark.parametrize("standard_id", standard_ids())
def test_units_are_those_of_the_measures(standard_id: str) -> None:
    """A plain row speaks in its measure's unit, a share of energy in percent of it."""
    for row in standard(standard_id).rows:
        if row.kind == "share_of_energy":
            assert row.unit == "% of energy", row.id
        elif row.kind == "measure":
            (measure,) = row.terms
            unit = next(one.unit for one in MEASURES if one.id == measure)
            assert row.unit in (unit, unit.split()[0]), row.id


@pytest.mark.parametrize("standard_id", standard_ids())
def test_a_file_does_not_say_a_thing_twice(standard_id: str) -> None:
    """Age groups and scoring rows once each, and no scoring row without a target."""
    content = tomllib.loads(data_path(standard_paths()[standard_id]).read_text(encoding="utf-8"))
    groups = [row["id"] for row in content["age_group"]]
    scored = [row["target"] for row in content["scoring"]]
    assert len(set(groups)) == len(groups)
    assert len(set(scored)) == len(scored)
    assert set(scored) == {row["id"] for row in content["target"]}


def test_an_unknown_standard_names_near_ones() -> None:
    with refused(UnknownName, match="Did you mean us-school-lunch"):
        standard("us-school-lunh")


@pytest.mark.parametrize("standard_id", standard_ids())
def test_a_day_outside_names_the_first_and_last_known_day(standard_id: str) -> None:
    known = standard(standard_id)
    first, last = first_and_last_day(known)
    with pytest.raises(OutsideDates) as caught:
        compile_targets(known, known.age_groups[0], first - timedelta(days=1))
    assert first.isoformat() in fault_words(caught.value).remedy
    assert (last.isoformat() if last else "no end known") in fault_words(caught.value).remedy
    assert (first - timedelta(days=1)).isoformat() in fault_sentence(caught.value)


@pytest.mark.parametrize("standard_id", standard_ids())
def test_an_age_outside_names_the_ages_covered(standard_id: str) -> None:
    known = standard(standard_id)
    for months in (
        min(g.from_age_months for g in known.age_groups) - 1,
        max(g.below_age_months for g in known.age_groups),
    ):
        with pytest.raises(OutsideAgeGroups) as caught:
            known.group_of_age(months)
        assert all(group.id in fault_words(caught.value).remedy for group in known.age_groups)
    with refused(UnknownName, match=known.age_groups[0].id):
        known.group("nursery of Examplia")


@pytest.mark.parametrize("standard_id", standard_ids())
def test_every_month_of_age_falls_in_one_group(standard_id: str) -> None:
    """From the youngest to the oldest covered, without a gap."""
    groups = standard(standard_id).age_groups
    for months in range(min(g.from_age_months for g in groups), max(g.below_age_months for g in groups)):
        assert sum(g.from_age_months <= months < g.below_age_months for g in groups) == 1, months
        assert standard(standard_id).group_of_age(months) in groups


# --- snapshots


def thousandths(bound: int) -> Fraction:
    """A bound of a row in thousandths, whatever the engine's parts are."""
    return Fraction(bound, PARTS_IN_A_THOUSANDTH)


def target_line(target: Target) -> str:
    """One compiled target with all that decides an answer."""
    terms = " + ".join(f"{weight} {MEASURES[index].id}" for index, weight in target.terms)
    low = "" if target.low is None else f"{thousandths(target.low)} {'<' if target.above else '<='} "
    high = "" if target.high is None else f" {'<' if target.below else '<='} {thousandths(target.high)}"
    shown = f"{target.at_least}..{target.at_most} {target.unit}"
    score = f"weight {target.weight:g}, distance {target.distance_percent:g} %"
    return f"{target.id}: {low}{terms}{high} | {shown} | {target.basis} | {score} | {target.source} ({target.status})"


def rule_line(rule: ProductRule | MilkRule) -> str:
    if isinstance(rule, ProductRule):
        kinds = ", ".join(sorted(rule.applies_to))
        what = f"{kinds}: {rule.measure} <= {rule.at_most} per {rule.per_grams} g"
    else:
        what = "allowed " + ", ".join(sorted(rule.allowed))
    return f"rule {rule.id}: {what} | {rule.source} ({rule.status})"


def spans_by_line(known: Standard, group: AgeGroup) -> dict[str, list[str]]:
    """Every line that ever holds for an age group, and from when to when."""
    starts = first_days(known)
    found: dict[str, list[list[date | None]]] = {}
    for place, start in enumerate(starts):
        end = starts[place + 1] - timedelta(days=1) if place + 1 < len(starts) else first_and_last_day(known)[1]
        table = compile_targets(known, group, start)
        lines = [target_line(t) for t in (*table.targets, *table.week_targets)]
        lines += [rule_line(r) for r in (*table.product_rules, *table.milk_rules)]
        assert len(set(lines)) == len(lines)
        for line in lines:
            spans = found.setdefault(line, [])
            last = spans[-1][1] if spans else None
            if last is not None and last + timedelta(days=1) == start:
                spans[-1][1] = end
            else:
                spans.append([start, end])
    return {
        line: [f"{first} to {last or 'no end known'}" for first, last in spans] for line, spans in sorted(found.items())
    }


@pytest.mark.parametrize("standard_id", standard_ids())
def test_the_compiled_tables_are_those_of_the_snapshot(standard_id: str) -> None:
    known = standard(standard_id)
    compiled = {group.id: spans_by_line(known, group) for group in known.age_groups}
    path = SNAPSHOTS / f"{standard_id}.json"
    if os.environ.get("UPDATE_SNAPSHOTS"):
        path.write_text(json.dumps(compiled, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    assert path.is_file(), "no snapshot yet: run with UPDATE_SNAPSHOTS=1 and read what it wrote"
    assert compiled == json.loads(path.read_text(encoding="utf-8"))


def test_no_snapshot_is_left_over() -> None:
    assert {path.stem for path in SNAPSHOTS.glob("*.json")} == set(standard_ids())


def test_a_snapshot_tells_what_an_edit_reaches() -> None:
    """The lower sodium limits of 2027 stand in the snapshot of each grade group, with their days."""
    content = json.loads((SNAPSHOTS / "us-school-lunch.json").read_text(encoding="utf-8"))
    for group in ("grades-k-5", "grades-6-8", "grades-9-12"):
        lines = {line: spans for line, spans in content[group].items() if line.startswith("sodium:")}
        assert len(lines) == 3
        assert [spans for line, spans in lines.items() if re.search(r"<= (935|1035|1080)000 ", line)] == [
            ["2027-07-01 to no end known"]
        ]
