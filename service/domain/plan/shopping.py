"""What is still to be bought: what is wanted, less what is there, dishes as their ingredients, as the shop has it."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from service.domain.foods.food import Food


class Piece(NamedTuple):
    """A food or dish in an amount. ``key``: what tells it from others; ``parts``: the ingredients of a dish; ``free``: from the tap."""

    key: str
    food: Food
    amount_mg: Fraction
    parts: tuple["Piece", ...] = ()
    free: bool = False

    def all_keys(self) -> Iterator[str]:
        """Its key, and those of all that is in it."""
        yield self.key
        for part in self.parts:
            yield from part.all_keys()

    def of(self, amount_mg: Fraction) -> "Piece":
        """The same in another amount."""
        share = amount_mg / self.amount_mg
        return self._replace(amount_mg=amount_mg, parts=tuple(one.of(one.amount_mg * share) for one in self.parts))


class Want(NamedTuple):
    """A piece that is wanted: eaten on a day, there by another; ``place``: of the row that asks for it; ``eaters``: places of children."""

    piece: Piece
    on: date
    there_by: date
    place: int
    eaters: tuple[int, ...]


@dataclass(slots=True)
class Lot:
    """So much of a food that is there, and until when it may be eaten."""

    key: str
    left_mg: Fraction
    use_by: date | None


class Missing(NamedTuple):
    """So much of a food, as eaten, that is not there; ``want``: what asks for it."""

    piece: Piece
    want: Want


@dataclass(slots=True)
class Bought:
    """One food of the shop: how much of it is bought, for what, and under which keys it may be priced."""

    key: str
    missing: list[Missing] = field(default_factory=list)
    exact_mg: Fraction = Fraction(0)


def taken(wants: Iterable[Want], lots: Iterable[Lot]) -> tuple[list[Missing], dict[str, Fraction]]:
    """What is not there, and how much was taken of each food that is (milligrams by key).

    What is wanted first is served first, by what ends first and still holds on the day it is eaten. A dish that is there is
    taken whole; what is missing of it is looked for as its ingredients. Source: common practice (use first what ends first).
    """
    of_key: dict[str, list[Lot]] = {}
    for lot in sorted(lots, key=lambda one: (one.use_by is None, one.use_by or date.max)):
        of_key.setdefault(lot.key, []).append(lot)
    missing: list[Missing] = []
    used: dict[str, Fraction] = {}

    def serve(piece: Piece, want: Want) -> None:
        left = piece.amount_mg
        for lot in of_key.get(piece.key, ()):
            if lot.left_mg > 0 and left > 0 and (lot.use_by is None or lot.use_by >= want.on):
                some = min(lot.left_mg, left)
                lot.left_mg -= some
                left -= some
                used[piece.key] = used.get(piece.key, Fraction(0)) + some
        if left <= 0:
            return
        if piece.parts:
            for part in piece.of(left).parts:
                serve(part, want)
        elif not piece.free:
            missing.append(Missing(piece.of(left), want))

    for want in sorted(wants, key=lambda one: (one.on, one.place)):
        serve(want.piece, want)
    return missing, used


def gathered(
    missing: Sequence[Missing], bought_as: Callable[[str], tuple[str, Fraction]], days: Mapping[int, date]
) -> dict[tuple[date, str], Bought]:
    """What is missing by day of shopping and food of the shop.

    ``bought_as``: key as eaten -> key as bought and grams bought for one eaten; ``days``: place in ``missing`` -> day of shopping.
    """
    found: dict[tuple[date, str], Bought] = {}
    for place, one in enumerate(missing):
        key, per_gram = bought_as(one.piece.key)
        row = found.setdefault((days[place], key), Bought(key))
        row.missing.append(one)
        row.exact_mg += one.piece.amount_mg * per_gram
    return found
