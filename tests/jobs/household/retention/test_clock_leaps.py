"""Promise: a clock that leaps deletes nothing. Two years ahead, two years behind, and back again, on both databases.

A household that is used each week of three months is looked at by clocks that are wrong; ``time_machine`` sets them.
"""

import logging
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from uuid import UUID

import pytest
import time_machine
from sqlalchemy import select

from service.jobs.household.access.devices import SIGNED_IN, recognise_device
from service.jobs.household.access.sign_in_links import NewLink, make_link, redeem
from service.jobs.household.once import Made, carry_out
from service.jobs.household.retention.purging import PUT_BACK_FOR, Purged, held_now, purge
from service.jobs.household.retention.removed import put_removed_back, removed_shown
from service.store.access.households import create_household, remove_household
from service.store.database import Store
from service.store.household import kinds
from service.store.household.records import Connection, Record, create, find, remove, replace
from service.store.removed_records import forget_removed_naming
from service.store.tables import lunches, removed_records, school_days, stock, stock_events

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
TODAY = NOON.date()
DAY = timedelta(days=1)
AHEAD, BEHIND = NOON + 731 * DAY, NOON - 731 * DAY
OLD = [date(2025, 10, 24), date(2025, 10, 23)]
"""The first days that are older than thirteen months."""


class Family:
    """A household with a child, and lunches of some days that were logged on them."""

    def __init__(self, store: Store, *, old: bool = False) -> None:
        self.store = store
        with time_machine.travel(NOON - 420 * DAY, tick=False), store.writing() as connection:
            self.id = create_household(connection, {"retention_months": 13})
            self.child = create(connection, kinds.CHILD, self.id, {"nickname": "Rowan"}, {"name": "rowan"}).id
        weekly = [TODAY - weeks * 7 * DAY for weeks in range(56)]
        with store.writing() as connection:
            for day in [*(OLD if old else []), *reversed(weekly)]:
                self._log(connection, datetime.combine(day, time(12), UTC), day)

    def log(self, moment: datetime, day: date) -> Record:
        with self.store.writing() as connection:
            return self._log(connection, moment, day)

    def _log(self, connection: Connection, moment: datetime, day: date) -> Record:
        columns = {"child_id": self.child, "day": day, "kind": "packed"}
        with time_machine.travel(moment, tick=False):
            return create(connection, kinds.LUNCH, self.id, {"date": day.isoformat()}, columns)

    def days(self) -> set[date]:
        with self.store.reading() as connection:
            return set(connection.execute(select(lunches.c.day)).scalars())

    def start(self, moment: datetime, **how: Any) -> Purged:
        """What the server does when it starts at a moment of its clock."""
        with time_machine.travel(moment, tick=False):
            (done,) = purge(self.store, moment.date(), **how)
            return done

    def removed(self) -> dict[str, int]:
        with self.store.reading() as connection:
            return {one["kind"]: one["count"] for one in removed_shown(connection, self.id)}


@pytest.fixture
def family(store: Store) -> Family:
    return Family(store)


def test_two_years_ahead_deletes_nothing(family: Family, caplog: pytest.LogCaptureFixture) -> None:
    """However often the server starts, whatever is logged meanwhile; it is said what would go, in one line without names."""
    before = family.days()
    with caplog.at_level(logging.WARNING, "packed_lunch"):
        done = family.start(AHEAD)
    assert family.days() == before
    assert done.removed["lunches"] == 0
    assert done.held is not None
    assert (done.held.today, done.held.believed) == (AHEAD.date(), TODAY)
    assert done.held.counts == {"lunches": len(before)}
    (line,) = [record.getMessage() for record in caplog.records]
    assert "2028" in line
    assert "Rowan" not in line
    for number in range(1, 20):
        family.log(AHEAD + number * DAY, (AHEAD + number * DAY).date())
        family.start(AHEAD + number * DAY)
    assert before <= family.days()
    assert family.removed() == {}


def test_back_again_nothing_is_said_any_more(family: Family) -> None:
    """The clock is set right: nothing was lost, nothing is held back, and what is really old is removed as ever."""
    family.start(AHEAD)
    with family.store.reading() as connection:
        assert held_now(connection, family.id, AHEAD.date()) is not None
        assert held_now(connection, family.id, TODAY) is None
    assert family.start(NOON + DAY).held is None
    family.log(NOON + DAY, OLD[0])
    done = family.start(NOON + 2 * DAY)
    assert (done.removed["lunches"], done.held) == (1, None)


def test_two_years_behind_deletes_nothing_and_is_forgotten(family: Family) -> None:
    """Nor when it is set right, nor with a clock that begins in 1970 at each start until the network tells it the time."""
    before = family.days()
    for moment in (BEHIND, datetime(1970, 1, 1, 0, 1, tzinfo=UTC), NOON, BEHIND, NOON + DAY):
        done = family.start(moment)
        assert (done.removed["lunches"], done.held) == (0, None)
    assert family.days() == before


def test_a_first_start_with_a_clock_of_1970(store: Store) -> None:
    """Before any run was noted: nothing is removed, and the right clock is believed afterwards."""
    family = Family(store)
    for moment in (datetime(1970, 1, 1, tzinfo=UTC), NOON):
        assert (family.start(moment).removed["lunches"], family.start(moment).held) == (0, None)


def test_what_is_old_goes_and_can_be_put_back(store: Store) -> None:
    """Thirteen months by the clock and by use; everything of it is as it was; put back twice is put back once."""
    family = Family(store, old=True)
    with store.reading() as connection:
        rows = connection.execute(select(lunches).order_by(lunches.c.id)).all()
    assert family.start(NOON).removed["lunches"] == 2
    assert not family.days() & set(OLD)
    assert family.removed() == {"lunches": 2}
    assert put_removed_back(store, family.id, TODAY) == [{"kind": "lunches", "count": 2, "in_place": 0}]
    assert put_removed_back(store, family.id, TODAY) == []
    with store.reading() as connection:
        assert connection.execute(select(lunches).order_by(lunches.c.id)).all() == rows


def test_another_lunch_in_the_place_stays(store: Store) -> None:
    """Nothing that was stored since is overwritten; the removed one stays where it can be looked for."""
    family = Family(store, old=True)
    family.start(NOON)
    new = family.log(NOON, OLD[0])
    assert put_removed_back(store, family.id, TODAY) == [{"kind": "lunches", "count": 1, "in_place": 1}]
    with store.reading() as connection:
        assert find(connection, kinds.LUNCH, family.id, new.id) is not None
    assert family.removed() == {"lunches": 1}


def test_what_was_removed_goes_after_thirty_days_of_use(store: Store) -> None:
    """Not by a leap of the clock, nor on the day before; a month in which it was started each day is enough."""
    assert PUT_BACK_FOR == 30
    family = Family(store, old=True)
    family.start(NOON)
    family.start(NOON + 80 * DAY)  # believed, but a pause is a week at most
    family.start(AHEAD)
    for number in range(80, 103):
        family.start(NOON + number * DAY)
        assert _days_removed(store) >= set(OLD)
    assert family.start(NOON + 103 * DAY).dropped == 2
    assert not _days_removed(store) & set(OLD)


def test_a_household_that_was_not_used_for_five_months(family: Family) -> None:
    """The clock is right, but nothing says so: it is held back until a person says it, for this household and from then on."""
    later = NOON + 150 * DAY
    done = family.start(later)
    assert done.held is not None
    assert done.removed["lunches"] == 0
    sure = family.start(later, only=family.id, sure=True)
    assert (sure.removed["lunches"], sure.held) == (done.held.counts["lunches"], None)
    assert family.start(later + DAY).held is None


def test_a_date_that_was_said_to_be_right_by_mistake(family: Family) -> None:
    """All of it comes back, and the next leap to that date is not believed again."""
    before = family.days()
    family.start(AHEAD, sure=True)
    assert family.days() == set()
    with time_machine.travel(NOON + DAY):
        put_removed_back(family.store, family.id, (NOON + DAY).date())
    assert family.days() == before
    assert family.start(NOON + DAY).removed["lunches"] == 0
    assert family.start(AHEAD).held is not None
    assert family.days() == before


def test_school_days_and_stock_as_well(store: Store) -> None:
    """A day set out long ago, an entry that is used up with its events; both come back."""
    family = Family(store)
    with time_machine.travel(NOON - 419 * DAY, tick=False), store.writing() as connection:
        create(connection, kinds.SCHOOL_DAY, family.id, {"buys": [str(family.child)]}, {"day": OLD[0]})
        entry = create(connection, kinds.STOCK, family.id, {"grams": 0.0}, {"food": "apple"})
        create(connection, kinds.STOCK_EVENT, family.id, {"event": "made"}, {"stock_id": entry.id})
        create(connection, kinds.STOCK, family.id, {"grams": 5.0}, {"food": "pear"})
    assert family.start(NOON).removed == {"lunches": 0, "school_days": 1, "stock": 1}
    tables = (school_days, stock, stock_events)
    with store.reading() as connection:
        assert [len(connection.execute(select(table)).all()) for table in tables] == [0, 1, 0]
    put_removed_back(store, family.id, TODAY)
    with store.reading() as connection:
        assert [len(connection.execute(select(table)).all()) for table in tables] == [1, 2, 1]


def test_deleted_is_deleted_there_too(store: Store) -> None:
    """With the child its removed lunches go, and it buys on no removed day; with a food what names it; with the household all."""
    family = Family(store, old=True)
    with time_machine.travel(NOON - 419 * DAY, tick=False), store.writing() as connection:
        food = create(connection, kinds.FOOD, family.id, {}, {"name": "stew"}).id
        create(connection, kinds.SCHOOL_DAY, family.id, {"buys": [str(family.child)]}, {"day": OLD[0]})
        entry = create(connection, kinds.STOCK, family.id, {"grams": 0.0, "food": str(food)}, {"food": str(food)})
        create(connection, kinds.STOCK_EVENT, family.id, {"event": "made"}, {"stock_id": entry.id})
    family.start(NOON)
    assert family.removed() == {"lunches": 2, "school_days": 1, "stock": 1}
    with store.writing() as connection:
        forget_removed_naming(connection, family.id, food)
    assert _kinds(store) == ["lunches", "lunches", "school_days"]
    with store.writing() as connection:
        forget_removed_naming(connection, family.id, family.child)
        remove(connection, kinds.CHILD, family.id, family.child)
        assert str(family.child) not in str(connection.execute(select(removed_records.c.row)).all())
    assert _kinds(store) == ["school_days"]
    with store.writing() as connection:
        remove_household(connection, family.id)
    assert _kinds(store) == []


def _days_removed(store: Store) -> set[date]:
    with store.reading() as connection:
        return set(connection.execute(select(removed_records.c.day)).scalars())


def _kinds(store: Store) -> list[str]:
    with store.reading() as connection:
        return sorted(connection.execute(select(removed_records.c.kind)).scalars())


def test_updated_at_does_not_go_back(family: Family) -> None:
    """Edited by a clock two years ahead, then by the right one: the version counts on, the moment stays the later one."""
    with time_machine.travel(AHEAD, tick=False), family.store.writing() as connection:
        edited = replace(connection, kinds.CHILD, family.id, family.child, 1, {"nickname": "Rowan", "a": 1}, {})
    with time_machine.travel(NOON, tick=False), family.store.writing() as connection:
        again = replace(connection, kinds.CHILD, family.id, family.child, 2, {"nickname": "Rowan", "a": 2}, {})
    assert (edited.updated_at, again.updated_at, again.version) == (AHEAD, AHEAD, 3)
    with time_machine.travel(AHEAD + DAY, tick=False), family.store.writing() as connection:
        later = replace(connection, kinds.CHILD, family.id, family.child, 3, {"nickname": "Rowan", "a": 3}, {})
    assert later.updated_at == AHEAD + DAY


@pytest.mark.parametrize("leaps", [(AHEAD,), (BEHIND,), (AHEAD, NOON), (BEHIND, NOON), (AHEAD, BEHIND, NOON)])
def test_a_request_that_is_sent_again_is_carried_out_once(family: Family, leaps: tuple[datetime, ...]) -> None:
    """Its clock leaps, the server starts, another creation comes in between: the first reply is given again."""
    made: list[str] = []

    def send(key: str, moment: datetime) -> dict[str, Any]:
        with time_machine.travel(moment, tick=False):
            return carry_out(family.store, family.id, key, "hash", lambda _: _made(made, key)).body

    first = send("one", NOON)
    for number, moment in enumerate(leaps):
        family.start(moment + timedelta(minutes=number))
        send(f"other {number}", moment + timedelta(minutes=number, seconds=1))
        assert send("one", moment + timedelta(minutes=number, seconds=2)) == first
    assert made.count("one") == 1


def _made(made: list[str], key: str) -> Made:
    made.append(key)
    return Made(201, {"key": key, "number": len(made)}, {})


def test_a_reply_goes_after_a_day_and_another(family: Family) -> None:
    """It is marked when it is first seen to be older than a day, and goes when that was a day ago."""
    made: list[str] = []
    for hours, count in ((0, 1), (24, 1), (47, 1), (49, 2)):
        with time_machine.travel(NOON + timedelta(hours=hours), tick=False):
            purge(family.store, TODAY)
            carry_out(family.store, family.id, "one", "hash", lambda _: _made(made, "one"))
        assert len(made) == count, hours


def _signed_in(family: Family, moment: datetime) -> str:
    with family.store.writing() as connection:
        link = make_link(connection, family.id, NewLink(name="tablet", rights="keep"), moment)
    made = redeem(family.store, link.secret, moment)
    assert made is not None
    return made.secret


def test_a_leap_ahead_signs_nobody_out_for_good(family: Family) -> None:
    """While the clock is wrong a device may have to sign in again; set right, it is signed in as before."""
    secret = _signed_in(family, NOON)
    family.start(NOON)
    assert recognise_device(family.store, secret, AHEAD) is None
    family.start(AHEAD)
    known = recognise_device(family.store, secret, NOON + DAY)
    assert known is not None
    assert known.ends_at == NOON + DAY + SIGNED_IN


@pytest.mark.parametrize("used", [True, False])
def test_a_leap_ahead_keeps_nobody_signed_in_for_years(family: Family, used: bool) -> None:
    """A device signed in by a clock two years ahead ends ninety days after its last use by the right clock, or the next start."""
    family.start(NOON)
    secret = _signed_in(family, AHEAD)
    family.start(AHEAD)
    if used:
        assert recognise_device(family.store, secret, NOON + DAY) is not None
    else:
        family.start(NOON + DAY)
    assert recognise_device(family.store, secret, NOON + 2 * DAY + SIGNED_IN) is None


def test_a_clock_behind_signs_nobody_out(family: Family) -> None:
    """A start in 1970 shortens no session."""
    family.start(NOON)
    secret = _signed_in(family, NOON)
    family.start(datetime(1970, 1, 1, tzinfo=UTC))
    assert recognise_device(family.store, secret, NOON + 80 * DAY) is not None


def test_a_device_used_while_the_clock_is_behind_stays_signed_in(family: Family) -> None:
    """A computer that starts in 1970 and is set right an hour later: whoever looked at a page meanwhile need not sign in again."""
    secret = _signed_in(family, NOON)
    family.start(NOON)
    for behind in (datetime(1970, 1, 1, tzinfo=UTC), NOON - 100 * DAY):
        family.start(behind)
        assert recognise_device(family.store, secret, behind) is not None
        assert recognise_device(family.store, secret, NOON + DAY) is not None


def test_a_link_of_a_clock_that_was_ahead_works_no_more(family: Family) -> None:
    """Otherwise it would work for two years; one of this minute works though the clock is set back by seconds."""
    with family.store.writing() as connection:
        far, near = (
            make_link(connection, family.id, NewLink(name="tablet", rights="keep"), moment)
            for moment in (AHEAD, NOON + timedelta(seconds=30))
        )
    assert redeem(family.store, far.secret, NOON) is None
    assert redeem(family.store, near.secret, NOON) is not None


def test_ids_of_other_households_are_left_alone(store: Store) -> None:
    """What one household has said to be right holds for no other."""
    mine, other = Family(store), Family(store)
    with time_machine.travel(AHEAD, tick=False):
        (done,) = purge(store, AHEAD.date(), only=mine.id, sure=True)
    assert done.household == mine.id
    assert _lunches_of(store, mine.id) == 0
    assert _lunches_of(store, other.id) > 50


def _lunches_of(store: Store, household: UUID) -> int:
    with store.reading() as connection:
        return len(connection.execute(select(lunches.c.id).where(lunches.c.household_id == household)).all())
