"""What the lunches cost: for each, each child and each week; from large packs or small ones; against the school's price."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from fractions import Fraction
from typing import Any, NamedTuple

from service.domain.messages import Message, Value, message
from service.domain.plan.packs import Pack
from service.domain.plan.shopping import Piece, Want
from service.domain.weeks.cost import MealPrice, NotCounted, meal_price_on, rounded
from service.jobs.plan.shopping.resolve import Shopping
from service.jobs.weeks.cost_rows import decimals_of, not_counted_rows
from service.reference.messages import worded_as

Reply = dict[str, Any]


class Spent(NamedTuple):
    """What is eaten costs so much by the cheapest gram; ``from_single``: by the smallest packs; what has no price.

    ``not_counted``: prices of it in another currency.
    """

    exact: Fraction
    from_single: Fraction
    unpriced: tuple[str, ...]
    not_counted: tuple[NotCounted, ...] = ()


NOTHING = Spent(Fraction(0), Fraction(0), ())


def spent_on(made: Shopping) -> list[tuple[Want, Spent]]:
    """What is eaten of each thing that is wanted costs."""
    return [(want, _spent(made, want.piece, want.on)) for want in made.wants]


def not_counted_in(made: Shopping, spent: Sequence[tuple[Want, Spent]]) -> list[NotCounted]:
    """The prices in another currency: of what is eaten, and of the meal that children would have on the same days."""
    meals = () if made.book is None else made.book.meals
    mine = dict.fromkeys(_lunch(want) for want, _one in spent)
    prices = [meal_price_on(meals, on, child) for child, on in mine if child is not None]
    of_meals = [NotCounted("", one) for one in dict.fromkeys(prices) if one is not None and one.elsewhere]
    return [*_sum(one for _want, one in spent).not_counted, *of_meals]


def cost_row(
    made: Shopping, spent: Sequence[tuple[Want, Spent]], not_counted: Sequence[NotCounted], to_pay: Fraction
) -> Reply | None:
    """What the lunches cost; None without any price. ``to_pay``: the packs on the list, in minor units.

    ``not_counted``: see ``not_counted_in``.

    What is there already counts as what it would cost to buy. Sums are exact and rounded once, half up.
    """
    if made.book is None:
        return None
    currency, meals = made.book.currency, made.book.meals
    money: dict[str, Value] = {"currency": currency, "digits": decimals_of(currency)}
    whole = _sum(one for _want, one in spent)
    lunches = {key: _sum(_of(spent, key)) for key in sorted({_lunch(want) for want, _one in spent}, key=_order)}
    names = [eater.name for eater in made.kitchen.eaters]
    weeks = sorted({_week(want.on) for want, _one in spent})
    return {
        "currency": currency,
        "digits": money["digits"],
        "to_pay_minor": rounded(to_pay),
        "eaten_minor": rounded(whole.exact),
        "complete": not whole.unpriced,
        "unpriced": list(whole.unpriced),
        "lunches": [
            {"child": None if child is None else names[child], "on": on.isoformat(), **_amount(one)}
            for (child, on), one in lunches.items()
        ],
        "children": list(_children(names, lunches)),
        "weeks": [{"week": week, **_amount(_sum(one for want, one in spent if _week(want.on) == week))} for week in weeks],
        "single_packs_minor": rounded(whole.from_single),
        **worded_as("single_packs", _single_packs(whole, money)),
        "school": _school(lunches, meals, money),
        "not_counted": not_counted_rows(not_counted, currency, names),
    }  # fmt: skip


def _spent(made: Shopping, piece: Piece, on: date) -> Spent:
    """By the prices of the day it is eaten, as a week tells it."""
    if piece.parts:
        return _sum(_spent(made, part, on) for part in piece.parts)
    form = made.bought(piece.key)
    keys = (form.food, *made.keys.get(piece.key, ()))
    shelf = made.shelf_at(on)
    packs: Sequence[Pack] = shelf.of(keys)
    elsewhere = [one for key in dict.fromkeys(keys) for one in shelf.elsewhere.get(key, ())]
    not_counted = tuple(NotCounted(piece.food.name, one) for one in elsewhere)
    if not packs:
        unpriced = () if piece.free else (piece.food.name,)
        return Spent(Fraction(0), Fraction(0), unpriced, not_counted)
    amount = piece.amount_mg * form.per_gram
    single = min(packs, key=lambda one: one.pack_mg)
    return Spent(amount * min(one.per_mg for one in packs), amount * single.per_mg, (), not_counted)


def _sum(all_of: Iterable[Spent]) -> Spent:
    exact = from_single = Fraction(0)
    unpriced: dict[str, None] = {}
    not_counted: dict[NotCounted, None] = {}
    for one in all_of:
        exact += one.exact
        from_single += one.from_single
        unpriced |= dict.fromkeys(one.unpriced)
        not_counted |= dict.fromkeys(one.not_counted)
    return Spent(exact, from_single, tuple(unpriced), tuple(not_counted))


Lunch = tuple[int | None, date]


def _lunch(want: Want) -> Lunch:
    return (want.eaters[0] if want.eaters else None, want.on)


def _order(lunch: Lunch) -> tuple[date, int]:
    return (lunch[1], -1 if lunch[0] is None else lunch[0])


def _of(spent: Sequence[tuple[Want, Spent]], lunch: Lunch) -> Iterator[Spent]:
    return (one for want, one in spent if _lunch(want) == lunch)


def _week(day: date) -> str:
    year, week, _weekday = day.isocalendar()
    return f"{year}-W{week:02}"


def _amount(one: Spent) -> Reply:
    return {"cost_minor": rounded(one.exact), "complete": not one.unpriced}


def _children(names: Sequence[str], lunches: dict[Lunch, Spent]) -> Iterator[Reply]:
    for place, name in enumerate(names):
        mine = [one for (child, _on), one in lunches.items() if child == place]
        if mine:
            whole = _sum(mine)
            yield {
                "nickname": name,
                "lunches": len(mine),
                **_amount(whole),
                "each_minor": rounded(whole.exact / len(mine)),
            }


def _single_packs(whole: Spent, money: dict[str, Value]) -> Message | None:
    if whole.from_single <= whole.exact:
        return None
    said: dict[str, Value] = {"currency": money["currency"], "digits": money["digits"]}
    eaten, single = rounded(whole.exact), rounded(whole.from_single)
    return message("shopping.single-packs", **said, eaten=eaten, single=single, more=single - eaten)


def _school(lunches: dict[Lunch, Spent], meals: Sequence[MealPrice], money: dict[str, Value]) -> Reply | None:
    """The lunches of single children against the school's meal on the same days; None where there is nothing to compare."""
    mine = {lunch: one for lunch, one in lunches.items() if lunch[0] is not None}
    prices = [meal_price_on(meals, on, child) for child, on in mine]
    known = [one for one in prices if one is not None and not one.elsewhere]
    if not mine or not known or len(known) < len(prices):
        return None
    whole, meals_minor = _sum(mine.values()), sum(one.amount_minor for one in known)
    said: dict[str, Value] = {"currency": money["currency"], "digits": money["digits"], "lunches": len(mine)}
    packed = rounded(whole.exact)
    if whole.unpriced:
        sentence = message(
            "shopping.against-school-in-part", **said, packed=packed, school=meals_minor, names=list(whole.unpriced)
        )
    elif packed == meals_minor:
        sentence = message("shopping.same-cost", **said, packed=packed, school=meals_minor)
    elif packed < meals_minor:
        sentence = message("shopping.cheaper", **said, packed=packed, school=meals_minor, less=meals_minor - packed)
    else:
        sentence = message("shopping.dearer", **said, packed=packed, school=meals_minor, more=packed - meals_minor)
    own = sum(one.child is not None for one in known)
    if own:
        sentence = message("text.sentences", parts=[sentence, message("cost.own-price-meals", lunches=own)])
    return {
        "lunches": len(mine),
        "packed_minor": packed,
        "school_minor": meals_minor,
        "own_price_lunches": own,
        "saved_minor": None if whole.unpriced else meals_minor - packed,
        **worded_as("sentence", sentence),
    }
