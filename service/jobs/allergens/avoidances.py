"""What must be kept away from a child: its allergens and the setting's bans, their names resolved."""

from collections.abc import Sequence
from contextlib import suppress
from functools import lru_cache
from typing import Protocol

from service.domain.allergens.screening import Avoidance
from service.domain.allergens.vocabulary import resolve
from service.domain.errors import Faults, LunchError, Place
from service.jobs.requests.people import AvoidedAllergen, Setting
from service.reference.allergens.vocabulary import vocabulary


class Avoids(Protocol):
    """A child of any kind of request."""

    @property
    def avoids(self) -> Sequence[AvoidedAllergen]:
        """The allergens it must avoid."""


@lru_cache(maxsize=1024)
def _meant(name: str) -> tuple[str, ...]:
    """The allergen ids a name means."""
    return resolve(vocabulary(), name)


def avoidances_of(
    child: Avoids, setting: Setting, child_at: Place = ("child",), setting_at: Place = ("setting",)
) -> list[Avoidance]:
    """What must be kept away; of an allergen named twice the stricter threshold holds.

    ``child_at``, ``setting_at``: where the two lie in the request. Raises ``UnknownName`` (several together) for unknown allergens.
    """
    faults = Faults()
    found: dict[tuple[str, str], Avoidance] = {}
    for place, avoided in enumerate(child.avoids):
        with faults.at(*child_at, "avoids", place, "allergen"):
            for allergen in _meant(avoided.allergen):
                key = (allergen, "child")
                if key not in found or avoided.threshold == "may_contain":
                    found[key] = Avoidance(allergen, avoided.threshold, "child")
    for place, banned in enumerate(setting.bans):
        with faults.at(*setting_at, "bans", place):
            for allergen in _meant(banned):
                found[(allergen, "setting")] = Avoidance(allergen, setting.ban_threshold, "setting")
    faults.raise_all()
    return [found[key] for key in sorted(found)]


def allergens_avoided(child: Avoids) -> frozenset[str]:
    """The ids of the allergens a child must avoid; a name that is not known is reported by `avoidances_of`."""
    found: set[str] = set()
    for avoided in child.avoids:
        with suppress(LunchError):
            found.update(_meant(avoided.allergen))
    return frozenset(found)
