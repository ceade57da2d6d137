"""The packets worth reading: for which lunches of which child it would be settled whether they can be taken."""

from collections.abc import Sequence
from typing import Any

from service.domain.allergens.screening import Screened
from service.domain.messages import message
from service.domain.offers.handled import lunches_with
from service.domain.offers.offer import Branch, KnownLists, branches, without
from service.domain.offers.rows import Key
from service.jobs.offers.layout import ChildOffer
from service.reference.allergens.vocabulary import vocabulary
from service.reference.messages import worded

Reply = dict[str, Any]


def to_read(children: Sequence[ChildOffer], laid_out: Sequence[Sequence[Branch]]) -> list[Reply]:
    """The packets to read, those on which most lunches depend first.

    ``laid_out``: each child's offer. For an item that stays, the lunches that hold it; for one that was taken out until
    its packet is read, those that would hold it.
    """
    rows: dict[Key, Reply] = {}
    for place, (one, its_branches) in enumerate(zip(children, laid_out, strict=True), 1):
        who = one.child.nickname or f"child {place}"
        for key, screened in one.unread.items():
            _add(rows, one, key, who, screened, lunches_with(its_branches, [key]))
        known: KnownLists = {}
        for gone in one.left_out:
            if gone.read_first:
                _add(rows, one, gone.key, who, gone.screened, _lunches_it_would_bring(one, gone.key, known))
    for row in rows.values():
        said = message(
            "offer.read-packet",
            name=row["name"],
            allergens=row["allergens"],
            lunches=row["lunches"],
            children=len(row["children"]),
        )
        row.update(worded(said))
    return sorted(rows.values(), key=lambda row: (-row["lunches"], row["group"], row["item"]))


def _add(
    rows: dict[Key, Reply], one: ChildOffer, key: Key, who: str, screened: Sequence[Screened], lunches: int
) -> None:
    name = one.items[key].food.name
    empty: Reply = {"group": key[0], "item": key[1], "name": name, "children": [], "allergens": [], "lunches": 0}
    row = rows.setdefault(key, empty)
    row["children"].append(who)
    row["lunches"] += lunches
    names = [vocabulary().allergens[found.avoidance.allergen].name for found in screened]
    row["allergens"] += [name for name in dict.fromkeys(names) if name not in row["allergens"]]


def _lunches_it_would_bring(one: ChildOffer, key: Key, known: KnownLists) -> int:
    """How many lunches would hold an item if it were put back."""
    gone: dict[str, set[str]] = {}
    for other in one.left_out:
        if other.key != key:
            gone.setdefault(other.key[0], set()).add(other.key[1])
    put_back = without(one.whole, {group: frozenset(keys) for group, keys in gone.items()})
    return lunches_with(branches(put_back, known), [key])
