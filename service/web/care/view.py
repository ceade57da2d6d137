"""What the pages of care show."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from service.domain.messages import Message
from service.reference.sources import Source
from service.web.care.held import HeldView
from service.web.forms.form import Form
from service.web.language.words import moment, moment_with_year


@dataclass(frozen=True)
class CareView:
    """The context of ``care/care.html``.

    ``regions``: those whose guidance there is, each with its words; ``first_day``: the first day whose lunches are kept now (YYYY-MM-DD);
    ``held``: what is not removed since the computer's date looks wrong; ``removed``: what can be put back, a row a kind, for
    ``put_back_for`` days at the least; ``households``: how many the store holds: a backup holds them all.
    """

    household: Form
    regions: Sequence[tuple[str, str]]
    retention: Form
    first_day: str
    held: HeldView | None
    removed: Sequence[Mapping[str, Any]]
    put_back_for: int
    households: int
    cautions: Sequence[Message]


@dataclass(frozen=True)
class RetentionView:
    """The context of ``care/retention.html``: what is removed if lunches are kept ``months`` months from now on."""

    months: int
    first_day: str
    lunches: int


@dataclass(frozen=True)
class FoundInFile:
    """What an export holds. ``name``: of its household; ``counts``: records by the name of their collection."""

    name: str
    counts: dict[str, int]


@dataclass(frozen=True)
class ImportView:
    """The context of ``care/import.html``. ``empty``: whether this household can take one in; ``faults``: of the file."""

    empty: bool
    form: Form
    found: FoundInFile | None = None


KEY_DAYS = (30, 90, 365)
"""For how many days a key may be made on the page; other programs choose freely."""


@dataclass(frozen=True)
class KeyShown:
    """An access key. ``rights``: ``keep``, ``pack`` or ``read``; ``used``, ``ends``, ``revoked``: when, or empty; ``ended``: it has."""

    id: str
    name: str
    rights: str
    made: str
    used: str
    ends: str
    ended: bool
    revoked: str

    @property
    def works(self) -> bool:
        """Whether it opens anything."""
        return not (self.ended or self.revoked)


@dataclass(frozen=True)
class KeysView:
    """The context of ``care/keys.html``. ``secret``: of the key just made, shown this once."""

    keys: list[KeyShown]
    form: Form
    secret: str = ""
    refused: str = ""
    days: tuple[int, ...] = KEY_DAYS


@dataclass(frozen=True)
class SourcesView:
    """The context of ``care/sources.html``. ``pictures``: what goes with the pictures of foods, as it was given."""

    sources: list[Source] = field(default_factory=list)
    pictures: str = ""

    @property
    def kinds(self) -> list[tuple[str, list[Source]]]:
        """The sources by what their figures are about, in the order of the file."""
        found: dict[str, list[Source]] = {}
        for one in self.sources:
            found.setdefault(one.kind, []).append(one)
        return list(found.items())


def keys_view(
    keys: Sequence[Mapping[str, Any]], language: str, form: Form, secret: str = "", refused: str = ""
) -> KeysView:
    """The page from the job's list; keys that still work come first."""
    rows = [
        KeyShown(
            id=one["id"],
            name=one["name"],
            rights=one["rights"],
            made=moment(one["created_at"], language),
            used=moment(one["last_used_at"], language) if one["last_used_at"] else "",
            ends=moment_with_year(one["ends_at"], language) if one["ends_at"] else "",
            ended=one["ended"],
            revoked=moment(one["revoked_at"], language) if one["revoked_at"] else "",
        )
        for one in keys
    ]
    return KeysView(sorted(rows, key=lambda one: not one.works), form, secret, refused)
