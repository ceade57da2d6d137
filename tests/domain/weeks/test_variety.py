"""Promise: variety counts kinds on days, not portions, and says what it cannot tell."""

from datetime import date

from service.domain.weeks.frequency import CountedItem
from service.domain.weeks.variety import variety_of

MONDAY, TUESDAY = date(2026, 11, 23), date(2026, 11, 24)


def item(name: str, *groups: str, kind: str | None = None) -> CountedItem:
    """An item that counts in the groups named; without any, nobody said which."""
    return CountedItem(name, frozenset(groups) or None, kind or name, amount_mg=0, portions={})


def test_two_portions_on_a_day_are_one_kind_on_one_day() -> None:
    """A repeat is a kind on another day."""
    once = variety_of([(MONDAY, [item("apple", "fruit"), item("apple", "fruit")])], [])
    assert once.kinds["fruit"] == ("apple",)
    assert once.repeats == ()
    twice = variety_of(
        [(MONDAY, [item("apple", "fruit")]), (TUESDAY, [item("apple slices", "fruit", kind="apple")])], []
    )
    assert twice.repeats == (("fruit", "apple", 2),)


def test_what_nobody_sorted_is_named_and_counts_nowhere() -> None:
    """More kinds may be among it."""
    seen = variety_of([(MONDAY, [item("surprise")])], [])
    assert seen.unsorted == ("surprise",)
    assert not any(seen.kinds.values())


def test_new_is_unknown_without_an_earlier_day() -> None:
    """None is not the same as nothing new."""
    days = [(MONDAY, [item("kiwi", "fruit"), item("apple", "fruit")])]
    assert variety_of(days, []).new is None
    assert variety_of(days, [[item("apple", "fruit")]]).new == ("kiwi",)
    assert variety_of(days, [[item("apple", "fruit"), item("kiwi", "fruit")]]).new == ()


def test_the_order_of_days_plays_no_part() -> None:
    """Tuesday first gives the same."""
    days = [(MONDAY, [item("pear", "fruit")]), (TUESDAY, [item("peas", "vegetable"), item("pear", "fruit")])]
    assert variety_of(days, []) == variety_of(days[::-1], [])
