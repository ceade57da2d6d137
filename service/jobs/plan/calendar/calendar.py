"""The days of a plan as events, and as an iCalendar file (RFC 5545)."""

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from typing import Any, NamedTuple
from uuid import NAMESPACE_URL, uuid5

from service import __version__
from service.domain.errors import BadInput, Faults
from service.domain.messages import Message, message
from service.jobs.plan.calendar.requests import CalendarDay, CalendarRequest, ReadPackets
from service.jobs.plan.pdf_fonts import plain
from service.reference.messages import say, worded_as

SPACE = "https://packed-lunch.invalid/calendars/"
"""Where the ids of events begin: a name that nobody can have (RFC 2606)."""


class Event(NamedTuple):
    """One event: its stable id (RFC 7986: a UUID and nothing else), what it is, when, and in words."""

    uid: str
    kind: str
    day: CalendarDay
    title: Message
    text: Message | None


def calendar_reply(asked: CalendarRequest) -> dict[str, Any]:
    """The events in order; raises ``BadInput`` for two of a kind for the same child at the same time."""
    return {
        "calendar": asked.calendar,
        **worded_as("title", _title(asked)),
        "with_health": asked.with_health,
        "events": [
            {
                "uid": one.uid,
                "kind": one.kind,
                "on": one.day.on.isoformat(),
                "at": one.day.at,
                "minutes": None if one.day.at is None else one.day.minutes,
                **worded_as("title", one.title),
                **worded_as("text", one.text),
            }
            for one in events(asked)
        ],
    }


def calendar_file(asked: CalendarRequest, now: datetime) -> bytes:
    """The events as an iCalendar file. ``now``: when it is made, with its zone (DTSTAMP).

    An hour is local wherever it is read (a floating time); without one it is an event of the whole day.
    """
    from icalendar import Calendar
    from icalendar import Event as CalendarEvent

    calendar = Calendar()
    calendar.add("prodid", f"-//packed-lunch//{__version__}//EN")
    calendar.add("version", "2.0")
    title = plain(say(_title(asked)))
    calendar.add("name", title)
    calendar.add("x-wr-calname", title)  # what calendars read that do not know RFC 7986
    for one in events(asked):
        event = CalendarEvent()
        event.add("uid", one.uid)
        event.add("dtstamp", now)
        begin, end = _span(one.day)
        event.add("dtstart", begin)
        event.add("dtend", end)
        event.add("summary", plain(say(one.title)))
        if one.text is not None:
            event.add("description", plain(say(one.text)))
        event.add("transp", "TRANSPARENT")
        calendar.add_component(event)
    written: bytes = calendar.to_ical()
    return written


def _span(day: CalendarDay) -> tuple[date, date]:
    """Beginning and end; of a whole day the next one, which is not part of it (RFC 5545 section 3.6.1)."""
    if day.at is None:
        return day.on, day.on + timedelta(days=1)
    begin = datetime.combine(day.on, time.fromisoformat(day.at))
    return begin, begin + timedelta(minutes=day.minutes)


def events(asked: CalendarRequest) -> list[Event]:
    """All events, by day and hour; raises ``BadInput`` for two of a kind for the same child at the same time."""
    faults = Faults()
    found: dict[str, Event] = {}
    for field, place, event in _all(asked):
        if event.uid in found:
            value = event.day.on.isoformat()
            faults.add(BadInput(field=(field, place, "on"), value=value, problem=message("fault.event-twice")))
        found[event.uid] = event
    faults.raise_all()
    return sorted(found.values(), key=lambda one: (one.day.on, one.day.at or "", one.kind, one.uid))


def _all(asked: CalendarRequest) -> Iterator[tuple[str, int, Event]]:
    def event(kind: str, day: CalendarDay, whom: str, title: Message, text: Message | None) -> Event:
        name = "/".join((asked.calendar, kind, day.on.isoformat(), day.at or "", whom))
        return Event(str(uuid5(NAMESPACE_URL, SPACE + name)), kind, day, title, text)

    for place, prep in enumerate(asked.prep_days):
        text = message("calendar.batches", names=list(prep.batches)) if prep.batches else None
        yield "prep_days", place, event("prep", prep, "", message("calendar.prep"), text)
    for place, move in enumerate(asked.move_tonight):
        parts = [message("calendar.portions", portions=one.portions, name=one.name) for one in move.what]
        text = message("calendar.moved", parts=parts)
        yield "move_tonight", place, event("move", move, "", message("calendar.move"), text)
    for place, bought in enumerate(asked.bought_days):
        title = message("calendar.bought")
        if bought.child is not None:
            title = message("calendar.bought-for", name=bought.child)
        yield "bought_days", place, event("bought", bought, bought.child or "", title, None)
    for place, read in enumerate(asked.read_packets):
        text = _to_read(read, asked.with_health)
        yield "read_packets", place, event("read", read, "", message("calendar.read"), text)


def _to_read(read: ReadPackets, with_health: bool) -> Message:
    """Which packets; for whom and for what only where that was chosen."""
    if not with_health or not (read.children or read.allergens):
        return message("calendar.packets", foods=list(read.foods))
    if not read.allergens:
        return message("calendar.packets-for", foods=list(read.foods), names=list(read.children))
    if not read.children:
        return message("calendar.packets-allergens", foods=list(read.foods), allergens=list(read.allergens))
    return message(
        "calendar.packets-for-whom",
        foods=list(read.foods),
        names=list(read.children),
        allergens=list(read.allergens),
    )


def _title(asked: CalendarRequest) -> Message:
    return message("calendar.lunches") if asked.title is None else message("calendar.own-title", title=asked.title)
