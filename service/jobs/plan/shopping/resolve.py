"""Resolves a shopping list: foods in their amounts with their ingredients, what is at hand, the children, the packs."""

from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction

from service.domain.errors import Faults, at
from service.domain.foods.food import Food
from service.domain.foods.packets import NO_PACKETS
from service.domain.plan.as_bought import BoughtAs
from service.domain.plan.shopping import Lot, Piece, Want
from service.domain.weeks.cost import PriceBook
from service.jobs.foods.resolve import amount_of, food_of
from service.jobs.plan.kitchen.ingredients import ingredients_of
from service.jobs.plan.kitchen.resolve import Kitchen, resolve_kitchen
from service.jobs.plan.shopping.requests import AtHand, Need, ShoppingListRequest
from service.jobs.plan.shopping.shelf import Shelf, shelf_on
from service.jobs.requests.foods import LabelFood, Recipe
from service.jobs.weeks.prices import price_book
from service.reference.foods.bought_as import is_free, kitchen_names
from service.reference.foods.catalogue import find_food
from service.reference.plan.buying import as_bought


@dataclass(slots=True)
class Shopping:
    """A shopping list, resolved.

    ``foods``: by key, as eaten; ``keys``: under what each key may be priced; ``shelf``: what is for sale on the first day of
    shopping, ``shelves``: by day. ``wanted``: the keys of what is wanted and of all that is in it, in order; what is only at home
    is none of them.
    """

    wants: list[Want]
    lots: list[Lot]
    kitchen: Kitchen
    book: PriceBook | None
    shelf: Shelf
    foods: dict[str, Food]
    keys: dict[str, tuple[str, ...]]
    shelves: dict[date, Shelf] = field(default_factory=dict)
    wanted: dict[str, None] = field(default_factory=dict)

    def shelf_at(self, day: date) -> Shelf:
        """What is for sale on a day."""
        if day not in self.shelves:
            self.shelves[day] = shelf_on(self.book, day)
        return self.shelves[day]

    def bought(self, key: str) -> BoughtAs:
        """How a food is bought."""
        if find_food(key) is None:
            return BoughtAs(key, Fraction(1), "", "", "")
        return as_bought(key, frozenset(self.shelf.packs))

    def shop_food(self, key: str) -> Food:
        """The food behind a key of the shop, by its name in a kitchen."""
        if key not in kitchen_names() or key in self.wanted:
            return self.foods.get(key) or food_of(key)
        return replace(food_of(key), name=kitchen_names()[key])

    def table_name(self, key: str) -> str | None:
        """What the composition table calls it, where a kitchen calls it otherwise; None: it has one name."""
        return food_of(key).name if key in kitchen_names() and key not in self.wanted else None


def resolve_shopping(asked: ShoppingListRequest) -> Shopping:
    """What is asked as objects of the domain; raises ``LunchError``, all faults together."""
    faults = Faults()
    kitchen = Kitchen((), NO_PACKETS)
    with faults.at():
        kitchen = resolve_kitchen(asked)
    book: PriceBook | None = None
    with faults.at():
        book = price_book(asked.prices, asked.school_meal)
    shelf = shelf_on(book, asked.shop_on)
    made = Shopping([], [], kitchen, book, shelf, {}, {}, {asked.shop_on: shelf})
    for place, need in enumerate(asked.needs):
        with faults.at("needs", place):
            piece = _piece_of(need, made)
            eaters = () if need.child is None else (need.child,)
            made.wants.append(Want(piece, need.on, need.made_on or need.on, place, eaters))
            made.wanted |= dict.fromkeys(piece.all_keys())
    for place, lot in enumerate(asked.at_hand):
        with faults.at("at_hand", place):
            piece = _piece_of(lot, made)
            made.lots.append(Lot(piece.key, piece.amount_mg, lot.use_by))
    faults.raise_all()
    return made


def _piece_of(asked: Need | AtHand, made: Shopping) -> Piece:
    with at("food"):
        food = food_of(asked.food, made.kitchen.packets)
    amount_mg, _unit = amount_of(food, asked.quantity, asked.unit)
    return _piece(asked.food, food, amount_mg * Fraction(asked.portions), made)


def _piece(sent: str | LabelFood | Recipe, food: Food, amount_mg: Fraction, made: Shopping) -> Piece:
    """A food with its ingredients; a dish that is sold as such has none."""
    key = sent if isinstance(sent, str) else sent.id or sent.name
    made.foods.setdefault(key, food)
    made.keys.setdefault(key, _price_keys(key, food))
    parts: list[Piece] = []
    if not made.shelf.of(made.keys[key]):
        parts = [
            _piece(one.sent, food_of(one.sent, made.kitchen.packets), one.amount_mg, made)
            for one in ingredients_of(sent, food, amount_mg)
        ]
    return Piece(key, food, amount_mg, tuple(parts), is_free(key))


def _price_keys(key: str, food: Food) -> tuple[str, ...]:
    """The key, and the name of a food of one's own that is not named like one of the tables."""
    by_name = find_food(key) is None and find_food(food.name) is None
    return (key, food.name) if by_name and food.name != key else (key,)
