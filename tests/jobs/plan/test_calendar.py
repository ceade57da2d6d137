"""A calendar: read back by another library, and by hand against RFC 5545."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
import vobject
from pydantic import ValidationError

from service.domain.errors import LunchError
from service.jobs.plan.calendar.calendar import calendar_file, calendar_reply
from service.jobs.plan.calendar.requests import CalendarRequest
from tests.refused import refused

NOW = datetime(2026, 11, 27, 6, 0, tzinfo=UTC)
WEEK: dict[str, Any] = {
    "calendar": "plan-1",
    "prep_days": [{"on": "2026-11-29", "at": "15:00", "minutes": 90, "batches": ["soup; thick, hot", "crêpes à l'œuf " * 6]}],
    "move_tonight": [{"on": "2026-11-30", "at": "20:00", "what": [{"name": "soup", "portions": 2}]}],
    "bought_days": [{"on": "2026-12-04", "child": "Rowan"}, {"on": "2026-12-04", "child": "Linden"}],
    "read_packets": [{"on": "2026-11-29", "foods": ["bread"], "children": ["Linden"], "allergens": ["milk"]}],
}  # fmt: skip


def asked(**more: Any) -> CalendarRequest:
    return CalendarRequest.model_validate({**WEEK, **more})


def read_back(written: bytes) -> list[Any]:
    """The events as vobject reads them."""
    return list(vobject.readOne(written.decode()).vevent_list)


def test_another_library_reads_every_event() -> None:
    events = {one.uid.value: one for one in read_back(calendar_file(asked(), NOW))}
    for one in calendar_reply(asked())["events"]:
        event = events[one["uid"]]
        assert event.summary.value == one["title"]
        assert (event.description.value if one["text"] else "") == one["text"]
        if one["at"] is None:
            assert event.dtstart.value == date.fromisoformat(one["on"])
            assert event.dtend.value == event.dtstart.value + timedelta(days=1)
        else:
            assert event.dtstart.value == datetime.fromisoformat(f"{one['on']}T{one['at']}:00")
            assert event.dtend.value - event.dtstart.value == timedelta(minutes=one["minutes"])
        assert event.dtstamp.value == NOW
    assert len(events) == 5


def test_lines_are_folded_and_end_as_the_standard_says() -> None:
    """RFC 5545 section 3.1: lines end with CR LF and are no longer than 75 octets."""
    written = calendar_file(asked(), NOW)
    assert written.endswith(b"END:VCALENDAR\r\n")
    assert b"\n" not in written.replace(b"\r\n", b"")
    assert all(len(line) <= 75 for line in written.split(b"\r\n"))


def test_no_health_data_unless_chosen() -> None:
    """Neither the allergen nor for whom; a bought lunch names its child in any case."""
    plain = calendar_file(asked(bought_days=[]), NOW).decode()
    assert "milk" not in plain
    assert "Linden" not in plain
    chosen = calendar_file(asked(bought_days=[], with_health=True), NOW).decode().replace("\r\n ", "")
    assert "Read the packets of bread for Linden\\, and look for milk." in chosen


def test_the_same_days_have_the_same_ids_whatever_else_changes() -> None:
    def ids(**more: Any) -> dict[str, str]:
        return {f"{one['kind']} {one['title']}": one["uid"] for one in calendar_reply(asked(**more))["events"]}

    first = ids()
    assert ids(with_health=True, prep_days=[{**WEEK["prep_days"][0], "batches": []}]) == first
    assert set(ids(calendar="plan-2").values()).isdisjoint(first.values())
    assert len(set(first.values())) == 5


def test_two_events_that_cannot_be_told_apart_are_refused() -> None:
    with refused(LunchError, "same kind") as fault:
        calendar_reply(asked(prep_days=WEEK["prep_days"] * 2))
    assert fault.value.pointer == "/prep_days/1/on"


@pytest.mark.parametrize(
    ("more", "kind"),
    [
        ({"prep_days": [{"on": "2026-11-29", "at": "25:00"}]}, "string_pattern_mismatch"),
        ({"move_tonight": [{"on": "2026-11-29", "what": []}]}, "too_short"),
        ({"bought_days": [{"on": "2026-12-04"}] * 10_000}, "too_long"),
        ({"prep_days": [{"on": "soon"}]}, "no_day"),
    ],
)
def test_what_is_no_day_or_hour_is_refused(more: dict[str, Any], kind: str) -> None:
    with pytest.raises(ValidationError) as fault:
        asked(**more)
    assert fault.value.errors()[0]["type"] == kind
