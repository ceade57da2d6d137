"""Old records are removed, as long as it is not only the clock that says they are old.

What goes can be put back for 30 days (``removed.py``). Where the clock is not believed, nothing goes that would have stayed
on the last day that is believed, and it is said how many records are held back so; a person who has looked at the
computer's date has them removed (``sure``).
"""

import logging
from datetime import UTC, date, datetime, time
from typing import NamedTuple
from uuid import UUID

from service.jobs.household.access.devices import SIGNED_IN
from service.jobs.household.retention.believed import believed_day, days_passed
from service.store.access.devices import end_devices_by, remove_ended_devices
from service.store.access.households import all_households, household_body, lock_household
from service.store.access.sign_in_links import remove_ended_links
from service.store.database import Store
from service.store.household.records import Connection, now
from service.store.kept_replies import remove_old_replies
from service.store.removed_records import drop_removed_on, removal_days
from service.store.retention import count_before, count_lunches_before, first_day_kept, remove_before, retention_months
from service.store.retention_runs import days_of_use, last_run, note_run
from service.store.wiping import note_removal, wipe, wipe_file

PUT_BACK_FOR = 30
"""Days for which what was removed can be put back, at the least (ours)."""
log = logging.getLogger("packed_lunch")

Counts = dict[str, int]


class ToGo(NamedTuple):
    """What the next purge removes of a household: its lunches before a day, and how many these are now."""

    first_day_kept: date
    lunches: int


class Held(NamedTuple):
    """What is not removed since the clock is not believed.

    ``today``: the clock's day; ``believed``: the last day that is; ``first_day_kept``: what it would be by the clock;
    ``counts``: records by kind (``lunches``, ``school_days``, ``stock``).
    """

    today: date
    believed: date
    first_day_kept: date
    counts: Counts


class Purged(NamedTuple):
    """What a purge did for a household: what is from before the day is gone. ``removed``: records by kind; ``dropped``: how many
    can no longer be put back.
    """

    household: UUID
    first_day_kept: date
    removed: Counts
    dropped: int
    held: Held | None


class _Clock(NamedTuple):
    """The clock of a household. ``acted_on``: the day by which it is seen what is old, not later than ``today``; ``sure``: the last
    day that is believed to have come, which is later where the clock was set back; ``days``: on which the household was used.
    """

    today: date
    acted_on: date
    sure: date
    days: list[date]


def to_go(store: Store, household: UUID, months: int, today: date) -> ToGo:
    """What the next purge would remove if lunches were kept so many months."""
    first = first_day_kept(today, months)
    with store.reading() as connection:
        return ToGo(first, count_lunches_before(connection, household, first))


def purge(store: Store, today: date, *, only: UUID | None = None, sure: bool = False) -> list[Purged]:
    """Remove what is older than each household's retention on a day, old replies, and what is of no more use for signing
    in, all in one transaction.

    ``only``: for this household alone. ``sure``: a person has said that the date is right, so it is believed.
    """
    with store.writing() as connection:
        remove_ended_links(connection, now())
        done = [
            _purge_one(connection, household, retention_months(body), today, sure)
            for household, body in all_households(connection)
            if only in (None, household)
        ]
        dropped = any(one.dropped for one in done)
        if dropped:
            note_removal(connection)
    (wipe if dropped else wipe_file)(store)
    for one in done:
        _log(one)
    return done


def held_now(connection: Connection, household: UUID, today: date) -> Held | None:
    """What the next purge would hold back; None where the last one held nothing back, or the clock is believed by now."""
    run = last_run(connection, household)
    if run is None or not run.held:
        return None
    months = retention_months(household_body(connection, household))
    return _held(connection, household, _clock(connection, household, today), months)


def _purge_one(connection: Connection, household: UUID, months: int, today: date, sure: bool) -> Purged:
    lock_household(connection, household)
    remove_old_replies(connection, household)
    clock = _clock(connection, household, today)
    if sure:
        clock = clock._replace(acted_on=today, sure=today)
    held = _held(connection, household, clock, months)
    dropped = sum(
        drop_removed_on(connection, household, day)
        for day in removal_days(connection, household)
        if days_passed(day, clock.days, clock.acted_on) >= PUT_BACK_FOR
    )
    first = first_day_kept(clock.acted_on, months)
    removed = remove_before(connection, household, first, clock.sure)
    if clock.acted_on >= clock.sure:  # a clock that was set back would sign everybody out
        ended = now() if clock.acted_on == today else datetime.combine(clock.acted_on, time(), UTC)
        remove_ended_devices(connection, household, ended)
        end_devices_by(connection, household, now() + SIGNED_IN)
    counts = {} if held is None else held.counts
    note_run(connection, household, now(), clock.sure, removed, counts)
    return Purged(household, first, removed, dropped, held)


def _clock(connection: Connection, household: UUID, today: date) -> _Clock:
    """What is believed of the clock: from the last run on, and without one from the last day of use until today."""
    run, days = last_run(connection, household), days_of_use(connection, household)
    until_today = [day for day in days if day <= today]
    sure = max(until_today or days) if run is None else run.believed
    acted_on = believed_day(sure, days, today)
    return _Clock(today, acted_on, max(sure, acted_on), days)


def _held(connection: Connection, household: UUID, clock: _Clock, months: int) -> Held | None:
    if clock.acted_on >= clock.today:
        return None
    first = first_day_kept(clock.today, months)
    as_believed = count_before(connection, household, first_day_kept(clock.acted_on, months))
    counts = {
        kind: count - as_believed[kind]
        for kind, count in count_before(connection, household, first).items()
        if count > as_believed[kind]
    }
    return Held(clock.today, clock.acted_on, first, counts) if counts else None


def _log(one: Purged) -> None:
    """One line, without a name of anybody."""
    if one.held is not None:
        log.warning(
            "Old records are not removed: the clock says %s, and the household %s was last used on %s. %d would go. If the date "
            "is right: packed-lunch purge --date-is-right",
            one.held.today,
            one.household,
            one.held.believed,
            sum(one.held.counts.values()),
        )
    if any(one.removed.values()):
        log.info("%d old records are removed of household %s", sum(one.removed.values()), one.household)
