"""Takes from the stock what was used up, and puts it back: for a lunch that is packed, and for a dish that is made.

Nothing is ever refused for it: what was not there is said. What is wanted cooked takes what is there of it, then what it is
made of: boiled eggs the raw ones, cooked rice the dry.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from fractions import Fraction
from typing import Literal, NamedTuple
from uuid import UUID

from service.domain.stock.lots import take
from service.jobs.household.records import Body
from service.jobs.household.stock.amounts import grams_of, mg_of, portions_of
from service.jobs.household.stock.entries import entry_of, lot_of, start_of, today
from service.jobs.household.stock.events import changed_by, keep_event
from service.jobs.household.stock.known_foods import KnownFoods
from service.reference.foods.bought_as import raw_forms
from service.store.household.records import Connection, Record


class UsedBy(NamedTuple):
    """What uses up: a lunch, or an entry of the stock for which it was used (``event``). ``id``: of the one or the other."""

    event: Literal["lunch", "used"]
    id: UUID

    def is_of(self, event: Record) -> bool:
        """Whether an event took for it, or gave back."""
        body, name = event.body, "lunch" if self.event == "lunch" else "other"
        return body["event"] in (self.event, "given_back") and body[name] == str(self.id)

    def keep(
        self, connection: Connection, household: UUID, entry: Record, event: str, amount_mg: int, on: date
    ) -> None:
        """Keep an event of an entry with what it happened for."""
        lunch, other = (self.id, None) if self.event == "lunch" else (None, self.id)
        keep_event(connection, household, entry, event, amount_mg, on, lunch=lunch, other=other)


class Took(NamedTuple):
    """What was taken from an entry since it was last counted, and before.

    A count says how much is there, whatever was noted before: what it has seen to be gone is neither there again nor taken again.
    """

    back_mg: int
    counted_mg: int


def took(events: Sequence[Record], by: UsedBy) -> Took:
    """``events``: all that happened to the entry, oldest first."""
    back = counted = 0
    for event in events:
        if event.body["event"] == "counted":
            back, counted = 0, counted + back
        elif by.is_of(event):
            back -= mg_of(event.body["grams"])
    return Took(back, counted)


def forms_of(food: str) -> Sequence[tuple[str, Fraction]]:
    """A food, then what it is made of that may be at home instead, each with how much of it one gram of the food is."""
    return ((food, Fraction(1)), *raw_forms(food))


def give_back(connection: Connection, household: UUID, entry: Record, amount_mg: int, by: UsedBy) -> Record:
    """Put back so much of what was taken from an entry; the entry as it is now."""
    after = changed_by(connection, household, entry, amount_mg)
    by.keep(connection, household, after, "given_back", amount_mg, today())
    return after


class TakenFood(NamedTuple):
    """What was taken of a food, from which entries (as they are then, with milligrams), and what was not there."""

    food: str
    name: str
    wanted_mg: int
    short_mg: int
    parts: Sequence[tuple[Record, int]]

    def said(self) -> Body:
        """As it is replied."""
        return {
            "food": self.food,
            "name": self.name,
            "taken_grams": grams_of(self.wanted_mg - self.short_mg),
            "short_grams": grams_of(self.short_mg),
            "from": [
                {
                    "id": str(entry.id),
                    "place": entry.body["place"],
                    "portions": portions_of(part, mg_of(entry.body["portion_grams"])),
                    "grams": grams_of(part),
                }
                for entry, part in self.parts
            ],
        }


def missing(foods: Sequence[TakenFood]) -> list[tuple[str, float]]:
    """The foods of which too little was there: name, and the grams that were not."""
    return [(one.name, round(one.short_mg / 1000, 1)) for one in foods if one.short_mg]


def take_wanted(
    connection: Connection,
    household: UUID,
    wanted: Mapping[str, int],
    held: dict[UUID, Record],
    foods: KnownFoods,
    day: date,
    by: UsedBy,
) -> list[TakenFood]:
    """Take what is wanted on a day, milligrams by food, from entries that are held; ``held`` has them as they are afterwards."""
    found = []
    for food, amount in wanted.items():
        left = Fraction(amount)
        all_parts: list[tuple[str, int]] = []
        for form, factor in forms_of(food):
            lots = [lot_of(one, foods) for one in held.values() if one.body["food"] == form]
            if by.event == "used":  # what was bought is often ticked only after what was made of it
                lots = [one._replace(made_on=min(one.made_on, day)) for one in lots]
            taken = take(lots, form, round(left * factor), day)
            all_parts += taken.parts
            left = taken.short_mg / factor if taken.short_mg else Fraction(0)
        parts = []
        for lot, part in all_parts:
            entry = held[UUID(lot)] = changed_by(connection, household, held[UUID(lot)], -part)
            by.keep(connection, household, entry, by.event, -part, max(day, start_of(entry_of(entry.body))))
            parts.append((entry, part))
        found.append(TakenFood(food, foods.name(food), amount, round(left), parts))
    return found
