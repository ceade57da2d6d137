"""What the taking page shows. Nothing on it judges: no figures, no scores, no praise."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlencode

from service.domain.offers.taking import Key
from service.reference.foods.pictures import picture_of
from service.web.language.words import amount

BETWEEN = "~"
"""Between group and item in an address; group and item keys are names, which may hold anything else."""


@dataclass(frozen=True)
class Tile:
    """One food. ``key``: group and item; ``state``: ``mine``, ``can`` or ``off``; ``much``: how much, in words, or empty."""

    key: str
    name: str
    picture: str
    much: str
    cut: str
    state: str
    times: int
    why_not: str


@dataclass(frozen=True)
class TileGroup:
    """One choice group. ``at_most``: a group of which one is taken lets one tile take the place of another."""

    id: str
    at_most: int
    tiles: list[Tile]


@dataclass(frozen=True)
class TakingView:
    """The context of ``taking/taking.html``.

    ``taken``: keys, in the order they were taken. ``still``: sentences. ``whole``: it may be done. ``repeat``: a new key,
    so that a form that is sent twice is carried out once.
    """

    child: str
    nickname: str
    date: str
    offer: str
    groups: list[TileGroup] = field(default_factory=list)
    taken: list[str] = field(default_factory=list)
    still: list[str] = field(default_factory=list)
    whole: bool = False
    repeat: str = ""
    fault: str = ""


@dataclass(frozen=True)
class TakenView:
    """The context of ``taking/taken.html``: what was taken, and whether it can still be undone."""

    child: str
    nickname: str
    date: str
    what: list[Tile]
    kind: str
    can_undo: bool
    version: int


@dataclass(frozen=True)
class NothingView:
    """The context of ``taking/nothing.html``. ``why``: of the words that say why there is nothing to take."""

    nickname: str
    why: str


def taking_view(choice: dict[str, Any], repeat: str, language: str, fault: str = "") -> TakingView:
    """The page from the job's reply (``jobs.household.taking.choice_of``)."""
    return TakingView(
        child=choice["child"],
        nickname=choice["nickname"],
        date=choice["date"],
        offer=choice["offer"],
        groups=[] if choice["no_lunch"] else [_group(group, language) for group in choice["groups"] if group["items"]],
        taken=[key_text((group, item)) for group, item in choice["taken"]],
        still=[one["sentence"] for one in choice["still"]],
        whole=choice["whole"],
        repeat=repeat,
        fault=fault,
    )


def _group(group: dict[str, Any], language: str) -> TileGroup:
    return TileGroup(group["id"], group["at_most"], [_tile(group, item, language) for item in group["items"]])


def _tile(group: dict[str, Any], item: dict[str, Any], language: str) -> Tile:
    # Where one is taken, another tile takes its place: nothing needs to be put back first.
    instead = group["at_most"] == 1 and any(one["taken"] for one in group["items"])
    state = "mine" if item["taken"] else "can" if item["can_take"] or (instead and not item["gone"]) else "off"
    return Tile(
        key=key_text((group["id"], item["item"])),
        name=item["name"],
        picture=picture_of(item["name"], item["category"]),
        much=amount(item["quantity"], item["unit"], language),
        cut=item["cut"],
        state=state,
        times=item["taken"],
        why_not="" if state != "off" else item["why_not"],
    )


def key_text(key: Key) -> str:
    """An item as an address holds it."""
    return BETWEEN.join(key)


def key_of(text: str) -> Key:
    """An item from an address; one that is not there is no item of any offer."""
    group, _between, item = text.partition(BETWEEN)
    return group, item


def address(child: str, date: str, offer: str, taken: Sequence[Key]) -> str:
    """The address of the page with these items taken."""
    query = [("day", date), ("offer", offer), *(("take", key_text(key)) for key in taken)]
    return f"/take/{child}?{urlencode(query)}"
