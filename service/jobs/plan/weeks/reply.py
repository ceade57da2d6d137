"""Says what a plan holds: its days, batches, moves and needs, what is other than before, and how good it is."""

from collections.abc import Iterator
from datetime import date
from fractions import Fraction
from typing import Any

from service.domain.cautions import CAUTIONS
from service.domain.counting.masks import Tick
from service.domain.messages import Message, Value, message
from service.domain.plan.planned import Lunch, Plan, PlannedDay
from service.domain.shares import percent, percent_at_most
from service.domain.weeks.cost import rounded
from service.jobs.foods.packets import days_alike, packets_at_hand
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.offers.requests import OfferedItem, item_key
from service.jobs.plan.weeks.batch_rows import batch_row, move_row
from service.jobs.plan.weeks.buying import Buys
from service.jobs.plan.weeks.changes import changes_since
from service.jobs.plan.weeks.lunches import GivenLunches
from service.jobs.plan.weeks.requests import PlanRequest
from service.jobs.plan.weeks.resolve import ResolvedPlan
from service.jobs.plan.weeks.score import plan_score
from service.jobs.requests.lunches import Lunch as LunchAsked
from service.jobs.requests.lunches import LunchCheckRequest, LunchItem
from service.jobs.requests.people import Child
from service.jobs.weeks.cost_rows import decimals_of, not_counted_messages
from service.reference.messages import listed_as, worded

Reply = dict[str, Any]


def plan_reply(
    asked: PlanRequest, made: ResolvedPlan, plan: Plan, buys: Buys, given: GivenLunches | None, tick: Tick | None
) -> Reply:
    """The reply. ``given``: the lunches given out; None where offers stand."""
    names = {one.key: one.food.name for one in made.foods.values()}
    checks = _Checks(asked, made)
    days = [_day_row(asked, made, day, given, checks, tick) for day in plan.days]
    changes = [] if asked.before is None else changes_since(asked.before, plan.days, plan.batches, made.names, names)
    currency = None if made.book is None else made.book.currency
    return {
        "id": None,
        "way": asked.way,
        "amounts": asked.amounts,
        "days": days,
        "batches": [batch_row(asked, made, one, names) for one in plan.batches],
        "moves": [move_row(made, one, names) for one in plan.moves],
        "needs": [
            {
                "food": one.food,
                "name": names[one.food],
                "grams": one.amount_mg / 1000,
                "portions": one.portions,
                "by_day": one.by_day.isoformat(),
                "dish": one.food in made.dishes,
            }
            for one in plan.needs
        ],
        "from_stock": [
            {
                "lot": one.lot,
                "food": one.food,
                "name": names[one.food],
                "grams": one.amount_mg / 1000,
                "portions": round(one.amount_mg / made.foods[one.food].portion_mg, 3),
                "for_day": one.for_day.isoformat(),
            }
            for one in plan.from_stock
        ],
        "short": [
            {
                "food": one.food,
                "name": names[one.food],
                "portions": one.portions,
                "by_day": one.by_day.isoformat(),
                **worded(
                    message("plan.short", name=names[one.food], portions=one.portions, day=one.by_day.isoformat())
                ),
            }
            for one in plan.short
        ],
        "not_bought": [
            {
                "child": made.names[one.child],
                "day": one.day.isoformat(),
                "allergens": sorted({found.avoidance.allergen for found in one.found}),
                **worded(_refused_message(made, one)),
            }
            for one in buys.refused
        ],
        "changes": [{"day": one.day.isoformat(), "food": one.food, **worded(one.said)} for one in changes],
        "score": plan_score(asked, made, plan, days, given, tick),
        "search": None if given is None else given.search,
        "decisions": _decisions(made, plan),
        "currency": currency,
        "digits": None if currency is None else decimals_of(currency),
        "unpriced": made.unpriced,
        **worded(_sentence(asked, made, plan, changes=len(changes))),
        **listed_as("note", list(_notes(asked, made, plan, given))),
        **listed_as("caution", CAUTIONS),
    }


class _Checks:
    """The single check of each lunch that is given out; of equal lunches of a child it is made once, while the same packets hold."""

    def __init__(self, asked: PlanRequest, made: ResolvedPlan) -> None:
        self._asked = asked
        self._made = made
        self._known: dict[tuple[int, Lunch, date], Reply] = {}
        self._alike = days_alike(asked.packets, asked.days)
        self.items: dict[tuple[str, str], OfferedItem] = {
            (group.id, item_key(item.key, item.food)): item
            for one in asked.offers
            for group in one.offer.groups
            for item in group.items
        }

    def of(self, place: int, lunch: Lunch, day: date) -> Reply:
        """What the check of a lunch says on a day."""
        key = (place, lunch, self._alike[day])
        if key not in self._known:
            self._known[key] = check_lunch(self.asked(*key))
        return self._known[key]

    def asked(self, place: int, lunch: Lunch, day: date) -> LunchCheckRequest:
        """The check of a lunch for a child, as anybody can ask for it."""
        child = self._asked.children[place]
        laid_out = self._made.offers[self._asked.offers[0].id][place]
        items = []
        for key in lunch.items:
            item = self.items[key]
            sent = LunchItem(**{name: getattr(item, name) for name in LunchItem.model_fields})
            own: dict[str, Any] = {"quantity": laid_out.items[key].quantity}
            if key in laid_out.recut:
                own["form"] = laid_out.recut[key]
            items.append(sent.model_copy(update=own))
        return LunchCheckRequest(
            on=day,
            child=Child(**{name: getattr(child, name) for name in Child.model_fields}),
            standard=child.standard,
            setting=self._asked.setting,
            lunch=LunchAsked(items=items, holding=self._asked.holding),
            max_changes=0,
            regions=self._asked.regions,
            packets=self._asked.packets,
            salts_cooking_water=self._asked.salts_cooking_water,
        )


def _day_row(
    asked: PlanRequest,
    made: ResolvedPlan,
    day: PlannedDay,
    given: GivenLunches | None,
    checks: _Checks,
    tick: Tick | None,
) -> Reply:
    lunches = []
    for name, lunch in day.lunches.items():
        if tick is not None:
            tick()
        lunches.append(_lunch_row(asked, made, day.day, name, lunch, given, checks))
    return {
        "day": day.day.isoformat(),
        "offer": day.offer,
        "settled": day.day in asked.locked.days or any(one.day == day.day for one in asked.stands),
        "lunches": lunches,
        "buyers": list(day.buyers),
        "away": [name for place, name in enumerate(made.names) if (place, day.day) in made.away],
        "nothing_for": _nothing_for(made, day),
    }


def _nothing_for(made: ResolvedPlan, day: PlannedDay) -> list[str]:
    """Children who are there, do not buy, and can take no lunch from the offer of a day."""
    places = () if day.offer is None else made.nothing_in[day.offer]
    return [
        made.names[place]
        for place in places
        if (place, day.day) not in made.away and made.names[place] not in day.buyers
    ]


def _lunch_row(
    asked: PlanRequest,
    made: ResolvedPlan,
    day: date,
    name: str,
    lunch: Lunch,
    given: GivenLunches | None,
    checks: _Checks,
) -> Reply:
    place = made.names.index(name)
    offer = asked.offers[0].id
    laid_out = made.offers[offer][place]
    costs = []
    for key in lunch.items:
        food = made.foods[made.key_of[(offer, *key)]]
        if food.key in made.costs:
            costs.append(made.costs[food.key] * laid_out.items[key].amount_mg / food.portion_mg)
    off = () if given is None else given.off[(day, name)]
    checked = checks.of(place, lunch, day) if lunch.items else {"verdict": None, "summary": "", "summary_message": None}
    return {
        "child": name,
        "items": [
            {
                "group": group,
                "item": key,
                "food": made.key_of[(offer, group, key)],
                "name": laid_out.items[(group, key)].food.name,
                "quantity": laid_out.items[(group, key)].quantity,
                "unit": laid_out.items[(group, key)].unit,
                "form": laid_out.form_of((group, key)),
                "cut": laid_out.cut((group, key)),
            }
            for group, key in lunch.items
        ],
        **{part: checked[part] for part in ("verdict", "summary", "summary_message")},
        "off": [
            {
                "id": one.row.id,
                "label": one.row.label,
                "percent": percent(one.share),
                **worded(_off_message(one.row.label, one.share, short=one.row.short)),
            }
            for one in off
        ],
        "cost_minor": rounded(sum(costs, Fraction(0))) if made.all_priced else None,
    }


def _off_message(label: str, share: float, *, short: bool) -> Message:
    off_by = percent(share)
    if not label:
        return message("plan.single-item")
    return (
        message("plan.below", label=label, percent=off_by)
        if short
        else message("plan.above", label=label, percent=off_by)
    )


def _refused_message(made: ResolvedPlan, one: Any) -> Message:
    names = sorted({found.avoidance.allergen.replace("_", " ") for found in one.found})
    said: dict[str, Value] = {
        "child": made.names[one.child],
        "day": one.day.isoformat(),
        "meal": one.meal,
        "allergens": names,
    }
    if any(found.do_not_pack for found in one.found):
        return message("plan.meal-names", **said)
    return message("plan.meal-not-known", **said)


def _decisions(made: ResolvedPlan, plan: Plan) -> Reply:
    places = {name: place for place, name in enumerate(made.names)}
    return {
        "days": [
            {
                "day": one.day.isoformat(),
                "offer": one.offer,
                "lunches": [
                    {"child": places[name], "items": [{"group": group, "item": item} for group, item in lunch.items]}
                    for name, lunch in one.lunches.items()
                ],
                "buyers": [places[name] for name in one.buyers],
            }
            for one in plan.days
        ],
        "batches": [
            {"food": one.food, "made_on": one.made_on.isoformat(), "batches": float(one.batches)}
            for one in plan.batches
        ],
    }


def _sentence(asked: PlanRequest, made: ResolvedPlan, plan: Plan, changes: int) -> Message:
    said: dict[str, Value] = {"days": len(plan.days)}
    if plan.short:
        return message("plan.made-short", **said, names=sorted({made.foods[one.food].food.name for one in plan.short}))
    if asked.before is not None:
        return message("plan.made-again", **said, changes=changes) if changes else message("plan.nothing-changed")
    preps = len({one.made_on for one in plan.batches})
    return message("plan.made", **said, preps=preps) if preps else message("plan.made-without-dishes", **said)


def _notes(asked: PlanRequest, made: ResolvedPlan, plan: Plan, given: GivenLunches | None) -> Iterator[Message]:
    nothing: dict[tuple[str, ...], list[Value]] = {}
    for day in plan.days:
        names = _nothing_for(made, day)
        if names:
            nothing.setdefault(tuple(names), []).append(day.day.isoformat())
    for some, on in nothing.items():
        yield message("plan.nothing-for", days=on, names=list(some))
    again = _again(asked, made, plan)
    if again and len(asked.offers) > 1:
        yield message("plan.offers-again", days=asked.no_repeat_days, names=again, n=len(again))
    aside = sorted({one.food for one in asked.stock} - made.foods.keys())
    if aside:
        yield message("plan.stock-aside", names=aside)
    used = {one.lot for one in plan.from_stock}
    ending = [
        made.foods[one.food].food.name
        for one in made.lots
        if one.id not in used and one.use_by is not None and one.use_by <= made.days[-1]
    ]
    if ending:
        yield message("plan.stock-ends", names=sorted(set(ending)))
    read_again = _to_read_again(asked, made)
    if read_again:
        yield message("plan.packets-end", names=read_again, n=len(read_again))
    if asked.way == "offers" and made.dishes:
        yield message("plan.carried-over")
    if made.unpriced:
        yield message("plan.no-price", names=made.unpriced)
    if made.book is not None:
        yield from not_counted_messages(made.not_counted, made.book.currency, made.names)
    if given is None:
        return
    for name, group in given.few:
        yield message("plan.too-few", name=name, group=group)
    if given.again:
        yield message("plan.foods-again", groups=list(given.again), days=asked.no_repeat_days)
    if given.unknown:
        yield message("plan.unknown-figures", names=list(given.unknown))
    if given.search["proven"]:
        yield message("plan.proven")
    else:
        yield message("plan.gap", percent=percent_at_most(given.search["gap"]))


def _to_read_again(asked: PlanRequest, made: ResolvedPlan) -> list[str]:
    """Foods whose packet holds at first and no longer on the last day, where a child must avoid something."""
    if not any(child.avoidances for some in made.offers.values() for child in some):
        return []
    first, last = (packets_at_hand(asked.packets, day) for day in (made.days[0], made.days[-1]))
    names = {part.id: part.name for one in made.foods.values() for part in (one.food, *one.food.made_of)}
    return sorted(names[food] for food in first.by_food.keys() - last.by_food.keys() if food in names)


def _again(asked: PlanRequest, made: ResolvedPlan, plan: Plan) -> list[str]:
    """Offers that stand again sooner than was asked."""
    stood = [one.offer for one in plan.days if one.offer is not None]
    return sorted(
        {offer for place, offer in enumerate(stood) if offer in stood[max(0, place - asked.no_repeat_days) : place]}
    )
