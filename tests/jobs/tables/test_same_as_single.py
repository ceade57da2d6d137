"""Law: a table of lunches gets the answers that each lunch gets by itself, figure by figure."""

from collections import Counter
from typing import Any

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.allergens.screening import OUTCOME_RANK
from service.domain.measures import MEASURES
from service.jobs.tables.check_table import check_table
from tests.jobs.tables.table_cases import Case, Reply, Row, cases, spoilt_cases
from tests.strategies import LAW, SHORT_LAW

pytestmark = pytest.mark.property

SCORES = ("score", "score_low", "score_high")
STATUSES = ("met", "short", "over", "unknown", "not_applicable")


def frame_of(lunches: list[Case]) -> pd.DataFrame:
    """The lunches as a table, numbered."""
    return pd.DataFrame([row for number, case in enumerate(lunches) for row in case.rows(f"L{number}")])


def plain(frame: pd.DataFrame) -> list[Row]:
    """Rows as dictionaries, empty cells as None."""
    return [
        {name: None if pd.isna(value) else value for name, value in row.items()} for row in frame.to_dict("records")
    ]


def intervals(told: str | None) -> dict[str, tuple[float, float | None]]:
    """The cell of incomplete totals, read back."""
    found = {}
    for entry in (told or "").split(";") if told else []:
        name, ends = entry.split(":")
        low, high = ends.split("..")
        found[name] = (float(low), float(high) if high else None)
    return found


def assert_same_lunch(row: Row, reply: Reply) -> None:
    """One row of lunches against the reply of the single check."""
    assert row["verdict"] == reply["verdict"]
    assert [row[name] for name in SCORES] == [reply[name] for name in SCORES]
    assert (row["standard"], row["on"], row["age_group"]) == tuple(
        reply["standard"][name] for name in ("id", "on", "age_group")
    )
    assert row["items"] == len(reply["items"])
    assert row["grams"] == pytest.approx(sum(item["grams"] for item in reply["items"]), abs=1e-6)
    statuses = Counter(one["status"] for one in reply["findings"])
    assert {name: row[name] for name in STATUSES} == {name: statuses[name] for name in STATUSES}
    off = [one for one in reply["findings"] if one["kind"] == "target" and not one["counts"]]
    assert row["off_the_mean"] == sum(one["status"] in ("short", "over", "unknown") for one in off)
    wanted = {f"{one['id']}:{one['status']}" for one in reply["findings"] if one["counts"]}
    assert set((row["to_change"] or "").split(";")) - {""} == wanted
    ranks: dict[str, int] = {}
    for one in reply["allergens"]:
        ranks[one["allergen"]] = max(ranks.get(one["allergen"], 0), OUTCOME_RANK[one["outcome"]])
    names = {rank: name for name, rank in OUTCOME_RANK.items()}
    assert row["allergen_outcome"] == (names[max(ranks.values())] if ranks else None)
    told = dict(entry.split(":") for entry in (row["allergens"] or "").split(";") if entry)
    assert told == {allergen: names[rank] for allergen, rank in ranks.items() if rank}
    handled = {f"{one['id']}:{one['status']}" for one in reply["handling"] if one["status"] != "in_order"}
    assert set((row["handling"] or "").split(";")) - {""} == handled
    beside = [f"{one['id']}/{row['id']}:{row['status']}" for one in reply["yardsticks"] for row in one["findings"]]
    beside += [f"{one['id']}:no_rows" for one in reply["yardsticks"] if not one["findings"]]
    assert (row["yardsticks"] or "") == ";".join(beside)
    open_ends = intervals(row["incomplete"])
    for measure in MEASURES:
        total = reply["totals"].get(measure.id)
        if total is None or not total["complete"]:
            assert row[measure.id] is None
        if total is not None and total["complete"]:
            assert row[measure.id] == total["amount"]
        if total is not None and not total["complete"]:
            assert open_ends.pop(measure.id) == (total["low"], total["high"])
    assert open_ends == {}


def assert_same_findings(rows: list[Row], reply: Reply) -> None:
    """The findings of one lunch against those of the single check, kind by kind."""
    same = ("id", "status", "counts", "amount", "amount_low", "amount_high", "at_least", "at_most", "exclusive")
    same += ("basis", "source", "source_status")
    told = [one for one in rows if one["kind"] in ("target", "product_rule")]
    assert sorted(((*(one[name] for name in same), one["unit"] or "") for one in told), key=repr) == sorted(
        ((*(one[name] for name in same), one["unit"]) for one in reply["findings"]), key=repr
    )
    screened = [
        (one["food"], one["id"], one["avoided_by"], one["threshold"], one["status"])
        for one in rows
        if one["kind"] == "allergen"
    ]
    assert sorted(screened) == sorted(
        (one["food"], one["allergen"], one["avoided_by"], one["threshold"], one["outcome"])
        for one in reply["allergens"]
    )
    handled = [(one["id"], one["status"], one["source"]) for one in rows if one["kind"] == "handling"]
    assert sorted(handled) == sorted((one["id"], one["status"], one["source"]) for one in reply["handling"])


def assert_same(lunches: list[Case]) -> None:
    """A table against its lunches one by one."""
    checked = check_table(frame_of(lunches))
    rows = {row["lunch"]: row for row in plain(checked.lunches)}
    findings: dict[str, list[Row]] = {}
    for one in plain(checked.findings):
        findings.setdefault(one["lunch"], []).append(one)
    rejected = set(checked.rejects["lunch"])
    for number, case in enumerate(lunches):
        name, reply = f"L{number}", case.reply()
        assert (name in rejected) == (reply is None)
        assert (name in rows) == (reply is not None)
        if reply is not None:
            assert_same_lunch(rows[name], reply)
            assert_same_findings(findings[name], reply)


@given(lunches=st.lists(cases(), min_size=1, max_size=6))
@LAW
def test_a_table_says_what_the_single_check_says(lunches: list[Case]) -> None:
    """Verdict, score, statuses, totals, intervals, allergens, forms and holding."""
    assert_same(lunches)


@given(lunches=st.lists(spoilt_cases(), min_size=1, max_size=6))
@LAW
def test_a_lunch_is_rejected_exactly_if_the_single_check_refuses_it(lunches: list[Case]) -> None:
    """And all others are kept, with the same answers."""
    assert_same(lunches)


@given(lunches=st.lists(cases(), min_size=2, max_size=6))
@SHORT_LAW
def test_a_table_in_two_parts_is_the_table(lunches: list[Case]) -> None:
    """Which lunches stand together in a frame makes no difference."""
    whole = check_table(frame_of(lunches))
    frame = frame_of(lunches)
    first = frame["lunch"] == "L0"
    parts = [check_table(frame[first]), check_table(frame[~first])]
    for name in ("lunches", "findings"):
        joined = pd.concat([getattr(part, name) for part in parts], ignore_index=True)
        joint_codes: Any = getattr(whole, name)
        pd.testing.assert_frame_equal(
            joined.drop(columns="line", errors="ignore"), joint_codes.drop(columns="line", errors="ignore")
        )
