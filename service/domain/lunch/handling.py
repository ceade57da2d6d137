"""Choking forms by age, and cold and hot holding until the lunch is eaten.

Rules and figures come from reference_data/handling, by region; the stricter of the regions asked for
counts. No number of hours is promised for a bag: no source gives one.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Literal, NamedTuple, get_args

from service.domain.foods.food import Food, Piece
from service.domain.messages import Message, Value, message

HandlingStatus = Literal["in_order", "fix", "do_not_pack", "unknown"]
Held = Literal["cold", "hot", "ambient"]


class ChokingLimit(NamedTuple):
    """Up to which age (in months, exclusive) a region's guidance speaks of a food's pieces.

    ``allowed_forms``: the forms this guidance gives, where they differ from the rule's; None: the rule's.
    """

    region: str
    below_age_months: int
    never: bool
    source: str
    status: str
    allowed_forms: frozenset[str] | None = None


class ChokingRule(NamedTuple):
    """A kind of food whose pieces are a choking concern, and the forms its sources give instead."""

    id: str
    foods: str
    risky_forms: frozenset[str]
    allowed_forms: frozenset[str]
    prepare: str
    limits: tuple[ChokingLimit, ...]


HoldingRole = Literal[
    "cold_sources", "room_minutes", "hot_day_minutes", "hot_day_from", "flask_fill", "flask_keep", "hot_holding"
]
"""The part that a figure plays in judging how a lunch is kept."""
HOLDING_ROLES: tuple[HoldingRole, ...] = get_args(HoldingRole)
LESS_IS_STRICTER = frozenset({"room_minutes", "hot_day_minutes", "hot_day_from"})


class HoldingLimit(NamedTuple):
    """One figure on keeping food cold or hot, with its region and source."""

    id: str
    region: str
    value: float
    unit: str
    sentence: str
    source: str
    status: str
    role: HoldingRole | None = None


@dataclass(frozen=True, slots=True, eq=False)
class HandlingRules:
    """All rules on choking forms and holding (compared by identity).

    ``forms``: id of each form, and how one says it in a kitchen. ``regions``: whose guidance the rules are from.
    """

    choking: Mapping[str, ChokingRule]
    holding: Mapping[str, HoldingLimit]
    forms: Mapping[str, str] = field(default_factory=dict)
    regions: tuple[str, ...] = ()

    def in_words(self, form: str) -> str:
        """A form as one says it in a kitchen."""
        return self.forms.get(form, form.replace("_", " "))


@lru_cache(maxsize=256)
def holding_figure(rules: HandlingRules, role: HoldingRole, regions: tuple[str, ...]) -> HoldingLimit:
    """The row that plays a part: the stricter of the regions asked for, or of all where none of them has one.

    >>> from service.reference.lunch.handling import handling_rules
    >>> holding_figure(handling_rules(), "cold_sources", ("US",)).value
    2.0
    """
    rows = [limit for limit in rules.holding.values() if limit.role == role]
    # Where the regions asked for have no figure, another region's is used rather than none.
    strictest = min if role in LESS_IS_STRICTER else max
    return strictest([row for row in rows if row.region in regions] or rows, key=lambda row: row.value)


class Holding(NamedTuple):
    """How the lunch is kept until it is eaten; None: not said."""

    insulated: bool | None = None
    cold_sources: int | None = None
    minutes_until_eaten: int | None = None
    ambient_c: float | None = None
    flask_preheated: bool | None = None
    flask_filled_at_c: float | None = None


class HandlingFinding(NamedTuple):
    """One finding on form or holding: in brief, in a sentence with what to do, and where the rule stands."""

    id: str
    status: HandlingStatus
    items: tuple[str, ...]
    brief: Message
    said: Message
    source: str
    source_status: str
    places: tuple[int, ...] = ()
    """Places of the items in the lunch."""


def choking_finding(
    rules: HandlingRules, food: Food, form: str | None, age_months: int, regions: Sequence[str]
) -> HandlingFinding | None:
    """What the choking rules say of a food in this form at this age; None where none applies.

    The stricter region counts: a form must be one that every guidance still covering the child gives. A
    food of whose pieces nothing is known is unknown at every age a rule speaks of; a dish is as its
    gravest ingredient. Remembered for foods of the reference tables.

    ``form``: how it is cut, None: not said; ``age_months``: of the child; ``regions``: e.g. ``("US",)``. Source: beside each
    rule in reference_data/handling.

    >>> from service.reference.foods.catalogue import find_food
    >>> from service.reference.lunch.handling import handling_rules
    >>> choking_finding(handling_rules(), find_food("grapes"), "whole", 40, ("US",)).status
    'do_not_pack'
    >>> choking_finding(handling_rules(), find_food("grapes"), "whole", 180, ("US",)) is None
    True
    """
    look = _choking if food.kind == "label" else _remembered
    return look(rules, food, form, age_months, tuple(regions))


def _choking(
    rules: HandlingRules, food: Food, form: str | None, age_months: int, regions: tuple[str, ...]
) -> HandlingFinding | None:
    pieces = food.handling.pieces
    if not pieces:
        given = form or (food.handling.forms[0] if food.handling.forms else NOT_SAID)
        piece = Piece(food.name, food.handling.choking_rule, given, food.handling.choking_known)
        return _piece_finding(rules, piece, age_months, regions)
    # The first form of a dish is how it comes ("whole" of a sandwich) and says nothing of the pieces in it.
    if form and form not in food.handling.forms[:1]:
        pieces = tuple(piece._replace(form=form) for piece in pieces)
    found = [one for one in (_piece_finding(rules, piece, age_months, regions) for piece in pieces) if one is not None]
    if not found:
        return None
    gravest = max(found, key=lambda one: CHOKING_RANK[one.status])
    told = [one for one in found if one.status == gravest.status]
    return gravest._replace(
        items=(food.name,), said=message("choking.dish", item=food.name, parts=[one.said for one in told])
    )


_remembered = lru_cache(maxsize=4096)(_choking)

NOT_SAID = ""
"""The form of a food of its own that nobody gave: taken as risky."""

CHOKING_RANK: dict[HandlingStatus, int] = {"in_order": 0, "fix": 1, "unknown": 2, "do_not_pack": 3}


def oldest_limit(rules: HandlingRules, regions: Sequence[str]) -> int:
    """The age in months below which some choking rule of these regions speaks.

    0 where none speaks.
    """
    return max(
        (limit.below_age_months for rule in rules.choking.values() for limit in rule.limits if limit.region in regions),
        default=0,
    )


@lru_cache(maxsize=256)
def forms_without_concern(rules: HandlingRules, regions: tuple[str, ...], age_months: int) -> tuple[str, ...]:
    """Forms that some choking rule gives and none that speaks at this age fears: they settle pieces not known.

    >>> from service.reference.lunch.handling import handling_rules
    >>> "mashed" in forms_without_concern(handling_rules(), ("US",), 40)
    True
    >>> "whole" in forms_without_concern(handling_rules(), ("US",), 40)
    False
    """
    spoken = [
        rule
        for rule in rules.choking.values()
        if any(limit.region in regions and age_months < limit.below_age_months for limit in rule.limits)
    ]
    feared = {form for rule in spoken for form in rule.risky_forms}
    return tuple(sorted({form for rule in spoken for form in rule.allowed_forms} - feared))


def _not_known(name: str, said: Message) -> HandlingFinding:
    brief = message("choking-brief.pieces-not-known")
    return HandlingFinding("choking:not-known", "unknown", (name,), brief, said, "ours: no source", "proposed")


def _piece_finding(
    rules: HandlingRules, piece: Piece, age_months: int, regions: Sequence[str]
) -> HandlingFinding | None:
    if not piece.choking_rule:
        if piece.known or age_months >= oldest_limit(rules, regions):
            return None
        settling = forms_without_concern(rules, tuple(regions), age_months)
        if piece.form in settling:
            return None
        forms = [rules.in_words(one) for one in settling]
        return _not_known(piece.name, message("choking.pieces-not-known", item=piece.name, forms=forms))
    rule = rules.choking[piece.choking_rule]
    limits = [limit for limit in rule.limits if limit.region in regions and age_months < limit.below_age_months]
    if not limits:
        return None
    never = [limit for limit in limits if limit.never]
    # The limit that reaches to the greatest age is named: it is true of every younger age too.
    limit = max(never or limits, key=lambda one: (one.below_age_months, one.region))
    if piece.form is None and not never:
        return _not_known(piece.name, message("choking.cut-not-given", item=piece.name))
    given = piece.form or ""
    form: Value = rules.in_words(given) if given else message("choking.no-form")
    values: dict[str, Value] = {
        "item": piece.name,
        "form": form,
        "years": limit.below_age_months // 12,
        "region": limit.region,
        "rule": rule.id,
        "prepare": rule.prepare,
    }
    status: HandlingStatus = "do_not_pack"
    if all(given in (rule.allowed_forms if one.allowed_forms is None else one.allowed_forms) for one in limits):
        status = "in_order"
        brief, said = message("choking-brief.form", form=form), message("choking.form-in-guidance", **values)
    elif never:
        brief, said = message("choking-brief.never"), message("choking.never", **values)
    else:
        brief, said = message("choking-brief.concern", form=form), message("choking.concern", **values)
    return HandlingFinding(f"choking:{rule.id}", status, (piece.name,), brief, said, limit.source, limit.status)


def holding_findings(
    rules: HandlingRules, items: Sequence[tuple[Food, Held]], kept: Holding, regions: Sequence[str]
) -> list[HandlingFinding]:
    """What the way of keeping says of the perishable items: cold ones together, hot ones together.

    An item of which it is not known whether it is perishable is treated as if it were. Each figure is the stricter of
    the regions asked for; where none of them has one, the strictest that there is.

    Source: beside each figure in reference_data/handling.
    """
    cold = [
        place for place, (food, held) in enumerate(items) if held != "hot" and food.handling.perishable is not False
    ]
    hot = [place for place, (_food, held) in enumerate(items) if held == "hot"]
    where = tuple(regions)
    found = []
    if cold:
        ambient = any(items[place][1] == "ambient" for place in cold)
        found.append(_cold(rules, _names(items, cold), kept, ambient, where)._replace(places=tuple(cold)))
    if hot:
        found.append(_hot(rules, _names(items, hot), kept, where)._replace(places=tuple(hot)))
    return found


def _names(items: Sequence[tuple[Food, Held]], places: Sequence[int]) -> tuple[str, ...]:
    return tuple(sorted({items[place][0].name for place in places}))


def _cold(
    rules: HandlingRules, names: tuple[str, ...], kept: Holding, ambient: bool, regions: tuple[str, ...]
) -> HandlingFinding:
    sources = holding_figure(rules, "cold_sources", regions)
    hot_day = kept.ambient_c is not None and kept.ambient_c > holding_figure(rules, "hot_day_from", regions).value
    room = holding_figure(rules, "hot_day_minutes" if hot_day else "room_minutes", regions)
    values: dict[str, Value] = {"names": names, "keep": sources.sentence, "room": room.sentence}
    minutes, packs = kept.minutes_until_eaten, kept.cold_sources
    # Eaten soon enough, it needs no pack: nothing else has to be known.
    if minutes is not None and minutes <= room.value:
        brief = message("holding-brief.soon-enough")
        said = message("holding.soon-enough", minutes=minutes, **values)
        return HandlingFinding("holding:room-temperature", "in_order", names, brief, said, room.source, room.status)
    enough = packs is not None and packs >= sources.value
    if kept.insulated and enough and not ambient:
        brief, said = message("holding-brief.cold"), message("holding.cold", packs=packs, **values)
        return HandlingFinding("holding:cold", "in_order", names, brief, said, sources.source, sources.status)
    short = kept.insulated is False or (packs is not None and not enough) or ambient
    if short:
        brief, said = message("holding-brief.not-cold"), message("holding.not-cold", **values)
        return HandlingFinding("holding:cold", "fix", names, brief, said, sources.source, sources.status)
    brief, said = message("holding-brief.cold-not-given"), message("holding.cold-not-given", **values)
    return HandlingFinding("holding:cold", "unknown", names, brief, said, sources.source, sources.status)


def _hot(rules: HandlingRules, names: tuple[str, ...], kept: Holding, regions: tuple[str, ...]) -> HandlingFinding:
    fill = holding_figure(rules, "flask_fill", regions)
    keep = holding_figure(rules, "flask_keep", regions)
    hold = holding_figure(rules, "hot_holding", regions)
    filled = kept.flask_filled_at_c
    values: dict[str, Value] = {"names": names, "fill": fill.sentence, "keep": keep.sentence, "hold": hold.sentence}
    status: HandlingStatus = "unknown"
    brief, said = message("holding-brief.hot-not-given"), message("holding.hot-not-given", **values)
    if kept.flask_preheated is False or (filled is not None and filled < fill.value):
        status = "fix"
        brief, said = message("holding-brief.not-hot"), message("holding.not-hot", **values)
    elif kept.flask_preheated and filled is not None:
        status = "in_order"
        brief, said = message("holding-brief.hot"), message("holding.hot", filled=filled, **values)
    return HandlingFinding("holding:hot", status, names, brief, said, fill.source, fill.status)
