"""A code or words asked of a stub of the source: what is found, kept, and said where the network gives no answer."""

import socket
import sqlite3
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from requests_cache import CachedResponse, CachedSession

from service.domain.errors import BadInput
from service.lookup.live.pace import FEWEST_LEFT
from service.lookup.live.source import LiveSource
from tests.lookup.live.stub import CODE, KEY, Answer, Stub, entry, hit

GTIN = f"00{CODE}"


def grown_old(cache: Path, days: int = 31) -> None:
    """Make all that was kept look as if it had been read so many days ago."""
    with CachedSession(str(cache), backend="sqlite", serializer="json") as session:
        for key, kept in list(session.cache.responses.items()):
            assert isinstance(kept, CachedResponse)
            kept.created_at = datetime.now(UTC) - timedelta(days=days)
            kept.expires = kept.created_at + timedelta(days=30)
            session.cache.responses[key] = kept


def test_an_answer_from_a_day_to_come_is_asked_for_anew(stub: Stub, source: LiveSource, cache: Path) -> None:
    """It was kept by a clock two years ahead, and would count as fresh until then; where the network is down it is still used."""
    stub.answers(hit(7))
    source.by_code(CODE)
    grown_old(cache, days=-731)
    before = len(stub.asked)
    answer = source.by_code(CODE)
    assert (len(stub.asked), answer.kept, answer.stale) == (before + 2, False, False)
    assert answer.read == datetime.now(UTC).date()
    grown_old(cache, days=-731)
    stub.always(Answer(503))
    answer = source.by_code(CODE)
    assert [food.fdc_id for food in answer.foods] == [7]
    assert (answer.kept, answer.stale) == (True, True)


def test_a_code_gives_the_food_with_source_and_date_on_every_value(stub: Stub, source: LiveSource) -> None:
    stub.answers(hit(7))

    answer = source.by_code(CODE)

    (food,) = answer.foods
    assert (food.gtin, food.fdc_id, food.source, food.household_serving) == (GTIN, 7, "live", "1 bar")
    assert food.read == answer.read == datetime.now(UTC).date()
    amounts = {one.nutrient: one.amount for one in food.values}
    assert (amounts["energy_kcal"], amounts["sodium_mg"]) == (500.0, 400.0)
    assert amounts["vitamin_b12_ug"] == 2.4  # the search says UG, an entry µg
    assert amounts["vitamin_d_ug"] == 1.0  # 40 IU are 1 µg (21 CFR 101.9(c)(8)(iv))
    assert amounts["iron_mg"] is None
    assert {(one.fdc_id, str(one.date), one.basis) for one in food.values} == {(7, "2025-04-01", "100 g")}
    assert (answer.kept, answer.stale, answer.problem) == (False, False, None)
    assert stub.asked == [f"/v1/foods/search?{CODE}", "/v1/food/7"]
    assert set(stub.keys) == {KEY}


def test_the_newest_version_counts_and_other_codes_that_a_search_finds_do_not(stub: Stub, source: LiveSource) -> None:
    stub.answers(
        hit(3, modified="2024-01-01"), hit(9, modified="2025-06-01"), hit(8, modified="2025-06-01"), hit(10, "111")
    )

    (food,) = source.by_code(CODE).foods

    assert food.fdc_id == 9
    assert stub.asked[-1] == "/v1/food/9"


def test_a_version_without_values_takes_those_of_the_newest_that_has_some(stub: Stub, source: LiveSource) -> None:
    stub.answers(
        hit(9, modified="2025-06-01", foodNutrients=[]),
        hit(5),
        entries={9: entry(9, foodNutrients=[]), 5: entry(5)},
    )

    (food,) = source.by_code(CODE).foods

    assert (food.fdc_id, food.values_fdc_id) == (9, 5)
    assert "branded-note.values-of-other-version" in [one.code for one in food.notes]


def test_values_that_do_not_say_of_which_nutrient_they_are_are_unknown_and_not_nil(
    stub: Stub, source: LiveSource
) -> None:
    nameless = [{"type": "FoodNutrient", "id": 1, "amount": 12.0}, {"id": 2, "amount": 0.0}]
    stub.answers(hit(7, foodNutrients=[]), entries={7: entry(7, foodNutrients=nameless)})

    (food,) = source.by_code(CODE).foods

    assert food.values
    assert {one.amount for one in food.values} == {None}
    assert "branded-note.no-values" in [one.code for one in food.notes]


def test_a_value_in_another_unit_is_unknown(stub: Stub, source: LiveSource) -> None:
    sodium = [{"id": 1, "amount": 0.4, "nutrient": {"id": 1093, "number": "307", "unitName": "g"}}]
    stub.answers(hit(7), entries={7: entry(7, foodNutrients=sodium)})

    (food,) = source.by_code(CODE).foods

    assert food.value("sodium_mg").amount is None  # type: ignore[union-attr]


def test_what_is_null_there_is_missing(stub: Stub, source: LiveSource) -> None:
    nothing = {"ingredients": None, "foodNutrients": None, "brandOwner": None, "modifiedDate": None}
    stub.answers(hit(7, **nothing), entries={7: entry(7, **nothing)})

    (food,) = source.by_code(CODE).foods

    assert (food.ingredients, food.values, food.brand_owner, food.values_fdc_id) == (None, (), "", None)


def test_values_for_100_ml_stay_so(stub: Stub, source: LiveSource) -> None:
    stub.answers(hit(7), entries={7: entry(7, servingSizeUnit="MLT", servingSize=240.0)})

    (food,) = source.by_code(CODE).foods

    assert {one.basis for one in food.values} == {"100 ml"}
    assert (food.serving_amount, food.serving_unit) == (240.0, "ml")


def test_a_code_is_asked_for_in_its_other_spellings_once_it_is_not_found(stub: Stub, source: LiveSource) -> None:
    stub.lay = lambda path, query: (
        Answer({"foods": [hit(7, GTIN)] if GTIN in query["query"] else []}) if "search" in path else Answer(entry(7))
    )

    (food,) = source.by_code(CODE).foods

    assert food.gtin == GTIN
    assert stub.asked == [
        f"/v1/foods/search?{CODE}",
        f"/v1/foods/search?0{CODE} {GTIN} {int(CODE)}",
        "/v1/food/7",
    ]


def test_a_short_code_is_asked_for_written_out_once_it_is_not_found(stub: Stub, source: LiveSource) -> None:
    """04252614 is the UPC-E of 042100005264 (GS1 General Specifications, zero suppression)."""
    stub.answers(hit(7, "042100005264"), entries={7: entry(7, "042100005264")})

    (food,) = source.by_code("04252614").foods

    assert food.gtin == "00042100005264"


def test_what_was_answered_is_kept_and_the_network_is_not_asked_again(
    stub: Stub, source: LiveSource, cache: Path
) -> None:
    stub.answers(hit(7))
    source.by_code(CODE)
    asked = len(stub.asked)

    again = LiveSource("another-key-987654321", stub.url, cache).by_code(CODE)

    assert [one.fdc_id for one in again.foods] == [7]
    assert (again.kept, again.stale, len(stub.asked)) == (True, False, asked)


def test_after_thirty_days_it_is_asked_again(stub: Stub, source: LiveSource, cache: Path) -> None:
    stub.answers(hit(7))
    source.by_code(CODE)
    grown_old(cache, days=29)
    assert source.by_code(CODE).kept
    grown_old(cache)
    stub.answers(hit(8))

    answer = source.by_code(CODE)

    assert ([one.fdc_id for one in answer.foods], answer.kept) == ([8], False)


@pytest.mark.parametrize(
    ("bad", "said"),
    [
        (Answer({"error": {"code": "API_KEY_INVALID"}}, 403), "live.key-refused"),
        (Answer({}, 404), "live.not-there"),
        (Answer({}, 429), "live.too-many"),
        (Answer({}, 500), "live.fault-there"),
        (Answer(b"", 302, {"Location": "http://127.0.0.1:9/sign-in"}), "live.not-understood"),
        (Answer(b"<html>Welcome to the hotel</html>", media_type="text/html"), "live.not-understood"),
        (Answer({"welcome": "to the hotel"}), "live.not-understood"),
        (Answer([1, 2]), "live.not-understood"),
        (Answer({"foods": [hit(7)]}, cut=True), "live.not-reached"),
        (Answer({"foods": [hit(7)]}, wait=5), "live.too-slow"),
        (Answer({"foods": [hit(7)]}, drip=True), "live.too-slow"),
    ],
)
def test_a_bad_answer_is_said_and_takes_nothing_away_that_was_kept(
    stub: Stub, cache: Path, bad: Answer, said: str
) -> None:
    stub.always(bad)
    before = LiveSource(KEY, stub.url, cache, seconds=1).by_code(CODE)
    stub.answers(hit(7))
    LiveSource(KEY, stub.url, cache, seconds=5).by_code(CODE)
    grown_old(cache)
    stub.always(bad)

    answer = LiveSource(KEY, stub.url, cache, seconds=1).by_code(CODE)
    after = LiveSource(KEY, stub.url, cache, seconds=1).by_code(CODE)

    assert (before.foods, before.problem and before.problem.code) == ((), said)
    for one in (answer, after):
        assert ([food.fdc_id for food in one.foods], one.stale) == ([7], True)
        assert one.problem is not None
        assert one.problem.code == said
        assert one.read == (datetime.now(UTC) - timedelta(days=31)).date()


def test_where_the_entry_is_gone_what_the_search_said_is_shown(stub: Stub, source: LiveSource) -> None:
    stub.lay = lambda path, _query: Answer({"foods": [hit(7)]}) if "search" in path else Answer({}, 404)

    answer = source.by_code(CODE)

    (food,) = answer.foods
    assert (food.fdc_id, food.value("sodium_mg").amount) == (7, 400.0)  # type: ignore[union-attr]
    assert answer.problem is not None
    assert answer.problem.code == "live.not-there"


def test_a_fault_of_the_connection_is_tried_twice_more_and_a_429_not(stub: Stub, source: LiveSource) -> None:
    stub.always(Answer({"foods": [hit(7)]}, cut=True))
    source.by_code(CODE)
    assert len(stub.asked) == 3

    stub.asked.clear()
    stub.always(Answer({}, 429))
    source.by_code(CODE)
    assert len(stub.asked) == 1


def test_a_cut_answer_that_comes_whole_the_second_time_is_used(stub: Stub, source: LiveSource) -> None:
    left = iter([True])
    stub.lay = lambda path, _query: (
        Answer({"foods": [hit(7)]}, cut=next(left, False)) if "search" in path else Answer(entry(7))
    )

    answer = source.by_code(CODE)

    assert ([one.fdc_id for one in answer.foods], answer.problem) == ([7], None)


def test_nobody_there_is_said(cache: Path) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        nobody = f"http://127.0.0.1:{free.getsockname()[1]}"

    answer = LiveSource(KEY, nobody, cache).by_code(CODE)

    assert answer.problem is not None
    assert (answer.foods, answer.problem.code) == ((), "live.not-reached")


@pytest.mark.parametrize("bad", [Answer({"foods": []}, wait=30), Answer({"foods": [hit(7)]}, drip=True)])
def test_one_limit_of_time_holds_for_the_whole_look_up(stub: Stub, cache: Path, bad: Answer) -> None:
    stub.always(bad)
    begun = time.monotonic()

    LiveSource(KEY, stub.url, cache, seconds=0.5).by_code(CODE)

    assert time.monotonic() - begun < 5  # the answer as it is laid out takes half a minute and more


def test_before_the_last_questions_of_a_key_are_used_it_stops(stub: Stub, source: LiveSource) -> None:
    stub.answers(hit(7), headers={"X-RateLimit-Remaining": str(FEWEST_LEFT)})

    answer = source.by_words("oat bars")
    other = source.by_words("other words")

    assert len(answer.foods) == 1
    assert other.problem is not None
    assert (other.foods, other.problem.code, len(stub.asked)) == ((), "live.near-limit", 1)
    assert source.by_words("oat bars").kept  # what was kept needs no question


def test_a_code_that_is_not_found_is_not_asked_for_again_and_not_kept(
    stub: Stub, source: LiveSource, cache: Path
) -> None:
    stub.answers(hit(10, "111"))
    assert source.by_code(CODE).foods == ()
    asked = len(stub.asked)

    assert source.by_code(f"0{CODE}").foods == ()
    assert len(stub.asked) == asked
    stub.answers(hit(7))
    assert [one.fdc_id for one in LiveSource(KEY, stub.url, cache).by_code(CODE).foods] == [7]


def test_a_code_that_could_not_be_asked_for_is_asked_for_again(stub: Stub, source: LiveSource) -> None:
    stub.always(Answer({}, 500))
    source.by_code(CODE)
    stub.answers(hit(7))

    assert len(source.by_code(CODE).foods) == 1


def test_words_give_one_food_a_code_in_the_order_of_the_source(stub: Stub, source: LiveSource) -> None:
    stub.answers(hit(3, "222", modified="2024-01-01"), hit(7), hit(4, "222"), hit(5, ""))

    answer = source.by_words("  oat   bars ")

    assert [(one.gtin, one.fdc_id) for one in answer.foods] == [("00000000000222", 4), (GTIN, 7)]
    assert stub.asked == ["/v1/foods/search?oat bars"]
    assert source.by_words("  ").foods == ()


@pytest.mark.parametrize("code", ["", "abc", "0000", "1" * 15])
def test_what_cannot_be_a_code_is_not_asked_for(stub: Stub, source: LiveSource, code: str) -> None:
    with pytest.raises(BadInput):
        source.by_code(code)
    assert stub.asked == []


def test_a_file_that_is_no_cache_is_said(stub: Stub, source: LiveSource, cache: Path) -> None:
    cache.parent.mkdir()
    cache.write_bytes(b"not a database, and longer than the head of one " * 100)

    answer = source.by_code(CODE)

    assert answer.problem is not None
    assert (answer.problem.code, answer.problem.params["file"]) == ("live.no-cache", str(cache))


def test_only_questions_are_sent(stub: Stub, source: LiveSource) -> None:
    stub.answers(hit(7))
    source.by_code(CODE)

    assert set(stub.methods) == {"GET"}


def test_the_file_is_for_this_user_alone(stub: Stub, source: LiveSource, cache: Path) -> None:
    stub.answers(hit(7))
    source.by_code(CODE)

    assert {one.stat().st_mode & 0o777 for one in cache.parent.iterdir()} == {0o600}
    with sqlite3.connect(cache) as kept:
        assert kept.execute("SELECT count(*) FROM responses").fetchone() == (2,)
