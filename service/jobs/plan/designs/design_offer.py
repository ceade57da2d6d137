"""An offer from which nobody can take a lunch that is not right: found, then proven by the exact audit of every lunch."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Any

from service.domain.cautions import CAUTIONS
from service.domain.counting.masks import Tick
from service.domain.messages import Message, Value, message
from service.domain.offers.branches import Key
from service.domain.offers.handled import breaks, kept_so
from service.domain.plan.robust import InTheWay
from service.domain.weeks.cost import PriceBook, PricedItem, packed_cost, rounded
from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.edits import put_groups
from service.jobs.offers.layout import ChildOffer
from service.jobs.offers.requests import ChildPortion, OfferGroup, OfferIn, SampleSize
from service.jobs.plan.designs.freeing import foods_for_group, freeing_foods, packets_first
from service.jobs.plan.designs.resolve import SINGLE_ITEM, ResolvedDesign, quantities_of, resolve_design
from service.jobs.plan.designs.search import OFTEN_ENOUGH, Blocked, Searched, search_design
from service.jobs.plan.requests import DesignItem, OfferDesignRequest, OfferDesignWithIds
from service.jobs.weeks.cost_rows import decimals_of, not_counted_messages
from service.jobs.weeks.prices import price_book, priced_item
from service.planning.offer_model import ChildToServe, Designed, Food, Width
from service.reference.foods.recipes import recipe_parts
from service.reference.messages import listed_as, worded

Reply = dict[str, Any]


def design_offer(asked: OfferDesignRequest, tick: Tick | None = None) -> Reply:
    """Find an offer, sizes and all, of which every lunch is right for every child; or say what stands in the way.

    ``tick``: called now and then, may raise to stop. Raises ``LunchError`` for what does not fit, all faults together.
    """
    made = resolve_design(asked, tick)
    widths = {group.id: Width(max(1, group.take.at_least), group.most_choices) for group in asked.groups}
    book = price_book(asked.prices, [])
    weights = _weights(asked, made, book)

    audits: list[tuple[Designed, list[Reply]]] = []

    def audited(designed: Designed) -> list[Reply]:
        for before, rows in audits:
            if (before.foods, before.sizes) == (designed.foods, designed.sizes):
                return rows
        audits.append((designed, _audited(asked, made, designed, tick)))
        return audits[-1][1]

    def chance(designed: Designed) -> float | None:
        return _least_chance(audited(designed))

    found = search_design(made.cases, widths, weights, asked.seconds, chance, tick)
    reply: Reply = {
        "on": asked.on.isoformat(),
        "found": found.designed is not None,
        "wish": asked.wish,
        "groups": [],
        "offer": None,
        "children": [],
        "in_the_way": [_blocked_row(made, one, found.choices[one.child]) for one in found.blocked],
        "currency": None if book is None else book.currency,
        "digits": None if book is None else decimals_of(book.currency),
        "lunch_minor": None,
        "proven": found.designed is not None and found.designed.proven,
    }
    notes: list[Message] = []
    if found.designed is not None:
        reply["groups"] = _group_rows(asked, made, found.designed)
        reply["offer"] = _as_sent(asked, made, found.designed)
        reply["children"] = _child_rows(made, found, audited(found.designed))
        reply["lunch_minor"] = _cost_of_a_lunch(asked, made, found.designed, book)
        notes = list(_notes(asked, found, reply))
        if book is not None:
            costs = [packed_cost(_priced(made, *one), book.foods, asked.on) for one in made.items.items()]
            not_counted = dict.fromkeys(one for cost in costs for one in cost.not_counted)
            notes += not_counted_messages(not_counted, book.currency, [])
    return {
        **reply,
        **worded(_sentence(reply, [one.name for one in made.children])),
        **listed_as("note", notes),
        **listed_as("caution", CAUTIONS),
    }


def _weights(asked: OfferDesignRequest, made: ResolvedDesign, book: PriceBook | None) -> dict[Food, float]:
    """What speaks against a food that may stand in the offer, by the wish; a little of the price where another wish leads."""
    recently = Counter(asked.recently)
    found: dict[Food, float] = {}
    costs = {key: _cost(made, key, item, book, asked) for key, item in made.items.items()}
    dearest = max((cost for cost in costs.values() if cost is not None), default=Fraction(1)) or Fraction(1)
    for key, item in made.items.items():
        cost = costs[key]
        price = float(cost / dearest) if cost is not None else 1.0
        id_ = item.food if isinstance(item.food, str) else item.food.name
        against = {
            "cheapest": price,
            "most_variety": float(recently[id_]) - 0.5,
            "least_to_buy": 0.0 if item.at_hand else 1.0,
            "least_to_make": 1.0 if not isinstance(item.food, str) or recipe_parts().get(item.food) else 0.0,
        }[asked.wish]
        found[key] = against + 0.01 * price
    return found


def _cost(
    made: ResolvedDesign, key: Key, item: DesignItem, book: PriceBook | None, asked: OfferDesignRequest
) -> Fraction | None:
    if book is None:
        return None
    cost = packed_cost(_priced(made, key, item), book.foods, asked.on)
    return None if cost.unpriced else cost.exact


def _priced(made: ResolvedDesign, key: Key, item: DesignItem) -> list[PricedItem]:
    prepared = made.laid_out[0].items[key]
    return [priced_item(item.food, prepared.food, prepared.amount_mg)]


def _quantities(item: DesignItem, key: Key, made: ResolvedDesign, designed: Designed) -> dict[int, float]:
    """How much of a food each child gets that may have it, by the place of the child."""
    sizes = [designed.sizes[one.name][key[0]].get(key[1]) for one in made.children]
    return {place: quantities_of(item)[size] for place, size in enumerate(sizes) if size is not None}


def _usual(item: DesignItem, quantities: Mapping[int, float]) -> float:
    """The amount that most children get."""
    return Counter(quantities.values()).most_common(1)[0][0] if quantities else item.quantity


def _found_offer(asked: OfferDesignWithIds, made: ResolvedDesign, designed: Designed, names: Sequence[str]) -> OfferIn:
    """The offer found. ``asked``: with the foods as they are to stand in it; ``names``: what the children go by in it."""
    groups = []
    keys = iter(made.items)
    for group in asked.groups:
        items = []
        for item in group.items:
            key = next(keys)
            if key[1] not in designed.foods.get(group.id, ()):
                continue
            quantities = _quantities(item, key, made, designed)
            usual = _usual(item, quantities)
            others = [
                ChildPortion(child=names[place], quantity=one) for place, one in quantities.items() if one != usual
            ]
            items.append(item.offered(usual, others).model_copy(update={"key": key[1]}))
        groups.append(OfferGroup(id=group.id, items=items, take=group.take))
    return put_groups(OfferIn(groups=groups, alternatives=asked.alternatives, rules=asked.rules), groups)


def _as_sent(asked: OfferDesignRequest, made: ResolvedDesign, designed: Designed) -> Reply:
    """The offer found as it can be stored and audited: with the ids of own foods and stored children, where these were sent."""
    names = [
        child if isinstance(child, str) else one.name
        for child, one in zip(asked.sent.children, made.children, strict=True)
    ]
    return _found_offer(asked.sent, made, designed, names).model_dump(mode="json", by_alias=True, exclude_none=True)


def _group_rows(asked: OfferDesignRequest, made: ResolvedDesign, designed: Designed) -> list[Reply]:
    """Each group with its foods: the amount that most children get, and the others by child."""
    rows = []
    names = [one.name for one in made.children]
    for group in asked.groups:
        items: list[Reply] = []
        for name in designed.foods.get(group.id, ()):
            key = (group.id, name)
            item, prepared = made.items[key], made.laid_out[0].items[key]
            quantities = _quantities(item, key, made, designed)
            usual = _usual(item, quantities)
            items.append(
                {
                    "item": name,
                    "food": item.food if isinstance(item.food, str) else None,
                    "name": prepared.food.name,
                    "quantity": usual,
                    "unit": prepared.unit,
                    "portions": [
                        {"child": names[place], "quantity": one} for place, one in quantities.items() if one != usual
                    ],
                    "not_for": [name for place, name in enumerate(names) if place not in quantities],
                }
            )
        rows.append({"id": group.id, "take": group.take.model_dump(), "items": items})
    return rows


def _child_rows(made: ResolvedDesign, found: Searched, rows: Sequence[Reply]) -> list[Reply]:
    """What the exact audit says of the offer for each child."""
    return [_child_row(row, found.choices[one.name]) for one, row in zip(made.children, rows, strict=True)]


def _audited(asked: OfferDesignRequest, made: ResolvedDesign, designed: Designed, tick: Tick | None) -> list[Reply]:
    """The exact audit of an offer, a row a child."""
    here = {(group, key) for group, keys in designed.foods.items() for key in keys}
    children = [
        child.model_copy(update={"without": [one for one in child.without if (one.group, one.item) in here]})
        for child in asked.children
    ]
    offer = _found_offer(asked, made, designed, [one.name for one in made.children])
    update = {"offer": offer, "children": children, "estimate": SampleSize.model_validate({})}
    rows: list[Reply] = audit_offer(asked.audit().model_copy(update=update), tick)["children"]
    return rows


def _least_chance(rows: Sequence[Reply]) -> float | None:
    """How often a week keeps the target that it keeps least often; None where that was not counted for every child."""
    if not all(row["counted"] for row in rows):
        return None
    chances = [one["week_mean_chance"] for row in rows for one in row["targets"]]
    return min((one["least"] for one in chances if one is not None), default=1.0)


def _child_row(row: Reply, choices: Mapping[str, int]) -> Reply:
    chances = [one for one in row["targets"] or [] if one["week_mean_chance"] is not None]
    return {
        "nickname": row["nickname"],
        "right": row["right"],
        "right_once_read": row["right_once_read"],
        "total": row["total"],
        "choices": dict(choices),
        "weeks": [
            {
                "id": one["id"],
                "label": one["label"],
                "least": one["week_mean_chance"]["least"],
                "most": one["week_mean_chance"]["most"],
            }
            for one in chances
        ],
        "left_out": row["left_out"],
        "cut_for": row["cut_for"],
    }


def _cost_of_a_lunch(
    asked: OfferDesignRequest, made: ResolvedDesign, designed: Designed, book: PriceBook | None
) -> int | None:
    """What a lunch costs on average over the children, each food of a group taken as often; None without all prices."""
    if book is None:
        return None
    total = Fraction(0)
    for place, child in enumerate(made.children):
        for group in asked.groups:
            mine = designed.sizes[child.name][group.id]
            if not mine:
                continue
            items = []
            for key, size in mine.items():
                item, prepared = made.items[(group.id, key)], made.laid_out[place].items[(group.id, key)]
                amount = Fraction(str(quantities_of(item)[size])) / Fraction(str(item.quantity)) * prepared.amount_mg
                items.append(priced_item(item.food, prepared.food, amount))
            cost = packed_cost(items, book.foods, asked.on)
            if cost.unpriced:
                return None
            instead = next((len(one) for one in asked.alternatives if group.id in one), 1)
            total += cost.exact / len(mine) / instead * Fraction(group.take.at_least + group.take.at_most, 2)
    return rounded(total / len(made.children))


def _blocked_row(made: ResolvedDesign, one: Blocked, choices: Mapping[str, int]) -> Reply:
    place = next(at for at, child in enumerate(made.children) if child.name == one.child)
    laid_out = made.laid_out[place]
    child = made.children[place]
    child = child._replace(groups=[replace(group, choices=choices[group.group]) for group in child.groups])
    helps = _would_help(one, laid_out, child)
    said = _blocked_message(one, laid_out)
    to_read = packets_first(laid_out, one.groups[0].group) if one.groups else []
    if to_read:
        said = message("text.sentences", parts=[said, message("design.read-first", name=one.child, foods=to_read)])
    return {
        "child": one.child,
        "rows": [_row_in_the_way(laid_out, each) for each in one.rows],
        "groups": [each._asdict() for each in one.groups],
        "together": [{"id": row.id, "label": row.label} for row in one.together],
        "group": one.group or None,
        "would_help": helps,
        **worded(said),
    }


def _would_help(one: Blocked, laid_out: ChildOffer, child: ChildToServe) -> list[Reply]:
    if one.groups:
        return foods_for_group(laid_out, child, one.groups[0].group)
    return freeing_foods(laid_out, child, one.rows[0]) if one.rows else []


def _row_in_the_way(laid_out: ChildOffer, each: InTheWay) -> Reply:
    per_unit, unit = _unit_of(laid_out, each)
    return {
        "id": each.row.id,
        "label": each.row.label,
        "short": each.row.short,
        "unit": unit,
        "wanted": _shown(each.row.bound, each, per_unit),
        "at_best": _shown(sum(each.least.values()), each, per_unit),
        "groups": {group: _shown(value, each, per_unit) for group, value in each.least.items()},
    }


def _unit_of(laid_out: ChildOffer, each: InTheWay) -> tuple[int, str]:
    target = next((one for one in laid_out.table.targets if one.id == each.row.id), None)
    if target is None or not target.per_unit or target.kind == "share_of_energy":
        return 0, ""
    return target.per_unit, target.unit


def _shown(value: int, each: InTheWay, per_unit: int) -> float | None:
    """A sum in the unit of its target; None where the row has none (a share of energy)."""
    if not per_unit:
        return None
    return round((-value if each.row.short else value) / per_unit, 2)


def _blocked_message(one: Blocked, laid_out: ChildOffer) -> Message:
    if one.groups:
        few = one.groups[0]
        if not few.foods:
            return message("design.nothing", name=one.child, group=few.group)
        return message("design.too-few", name=one.child, group=few.group, foods=few.foods, choices=few.choices)
    if one.together:
        labels = list(dict.fromkeys(row.label for row in one.together if row.label))
        return message("design.not-together-in", name=one.child, group=one.group, labels=labels)
    if not one.rows:
        return message("design.not-together", name=one.child)
    first = one.rows[0]
    if first.row.id == SINGLE_ITEM:
        return _single_items(one.child, [group for group, least in first.least.items() if least > 0], laid_out)
    row = _row_in_the_way(laid_out, first)
    if row["wanted"] is None:
        return message("design.share-in-the-way", name=one.child, label=first.row.label)
    unit = row["unit"]
    said: dict[str, Value] = {
        "name": one.child,
        "label": first.row.label,
        "wanted": row["wanted"],
        "best": row["at_best"],
        "unit": unit,
        "parts": [message("design.part", group=group, amount=each, unit=unit) for group, each in row["groups"].items()],
    }
    return message("design.too-little", **said) if first.row.short else message("design.too-much", **said)


def _single_items(name: str, groups: list[str], laid_out: ChildOffer) -> Message:
    """That every food of some groups breaks a rule on single foods; where that is how lunches are kept, what to do."""
    badly = kept_so(laid_out.handling, breaks)
    here = {group.id: {(group.id, key) for key in group.items} for group in laid_out.offer.groups}
    kept = [group for group in groups if here[group] <= badly]
    if kept:
        return message("design.not-kept", name=name, groups=kept)
    return message("design.single-items", name=name, groups=groups)


def _sentence(reply: Mapping[str, Any], names: Sequence[str]) -> Message:
    if not reply["found"]:
        return message("design.none")
    children = list(zip(names, reply["children"], strict=True))
    wrong = [name for name, child in children if child["right_once_read"] != child["total"]]
    if wrong:
        return message("design.not-all-right", names=wrong)
    said: dict[str, Value] = {"lunches": max(child["total"] for _name, child in children), "names": list(names)}
    to_read = [name for name, child in children if child["right"] != child["total"]]
    return (
        message("design.all-right-once-read", **said, readers=to_read)
        if to_read
        else message("design.all-right", **said)
    )


def _notes(asked: OfferDesignRequest, found: Searched, reply: Mapping[str, Any]) -> Iterator[Message]:
    wanted = {group.id: group.choices for group in asked.groups}
    fewer: dict[tuple[str, int], list[str]] = {}
    for child, choices in found.choices.items():
        for group, number in choices.items():
            if number < wanted[group]:
                fewer.setdefault((group, number), []).append(child)
    for (group, number), names in fewer.items():
        yield message("design.fewer-choices", names=names, group=group, number=number, wanted=wanted[group])
    for child, row in zip(found.choices, reply["children"], strict=True):
        missed = [week for week in row["weeks"] if week["most"] < OFTEN_ENOUGH]
        if missed:
            shares = [
                message("design.share-of-weeks", label=week["label"], percent=round(100 * week["most"]))
                for week in missed
            ]
            yield message("design.weeks-missed", name=child, shares=shares)
    if asked.wish == "cheapest" and reply["lunch_minor"] is None:
        yield message("design.no-prices")
