"""What the pages say where old records are not removed, since the computer's date looks wrong."""

from dataclasses import dataclass

from service.jobs.household.retention.purging import Held


@dataclass(frozen=True)
class HeldView:
    """What is held back. ``day``: the computer's (YYYY-MM-DD); ``used``: the last day before it on which the household was used;
    ``lunches``: how many, from before ``first_day``; ``others``: how many other records.
    """

    day: str
    used: str
    first_day: str
    lunches: int
    others: int


def held_view(held: Held) -> HeldView:
    """What is held back, as the pages show it."""
    lunches = held.counts.get("lunches", 0)
    return HeldView(
        day=held.today.isoformat(),
        used=held.believed.isoformat(),
        first_day=held.first_day_kept.isoformat(),
        lunches=lunches,
        others=sum(held.counts.values()) - lunches,
    )
