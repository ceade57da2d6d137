"""A line with what was made of it: its food and grams, or what is still to be answered."""

from enum import StrEnum
from typing import NamedTuple

from service.domain.foods.food import Food
from service.domain.messages import Message
from service.domain.recipes.lines import LineReading
from service.jobs.recipes.matching import Candidate

ABOUT_FOOD = frozenset(
    {"doubt.two-foods", "doubt.no-food", "doubt.unit-or-food", "doubt.which-food", "doubt.no-such-food"}
)
"""Doubts that the name of a food settles; all others are settled by grams."""
ABOUT_COUNTRY = frozenset({"doubt.which-country"})
"""Doubts that a country settles for all lines."""


class LineState(StrEnum):
    """Whether a line goes into the dish."""

    READ = "read"
    ASK = "ask"
    LEFT_OUT = "left_out"


class SettledLine(NamedTuple):
    """A line. ``food`` and ``grams``: None where they are not known yet; ``how``: how the weight came about."""

    reading: LineReading
    state: LineState
    candidates: tuple[Candidate, ...]
    food: Food | None
    grams: float | None
    how: Message | None
    doubts: tuple[Message, ...]

    def answer_with(self, doubt: Message) -> list[str]:
        """What settles a doubt: fields of an answer, or the country of the request."""
        if doubt.code == "doubt.heading":
            return ["food", "grams"]
        if doubt.code in ABOUT_FOOD:
            return ["food", "leave_out"]
        return ["country", "grams", "leave_out"] if doubt.code in ABOUT_COUNTRY else ["grams", "leave_out"]
