"""Says the result of an offer, as plain dictionaries (published shape: service/api/offers/replies.py)."""

from collections.abc import Sequence
from typing import Any

from service.domain.allergens.vocabulary import AllergenVocabulary
from service.domain.counting.estimate import Estimate
from service.domain.lunch.standards import TargetTable
from service.domain.lunch.yardsticks import lunches_message
from service.domain.measures import MEASURES
from service.domain.messages import Message, Value, message
from service.domain.offers.branches import Key
from service.domain.offers.counts import OfferCounts, Verdicts
from service.domain.offers.handled import HandledInOffer, LunchesWith, breaks, handled_in_offer
from service.domain.offers.judging import OfferBeside, OfferJudgement, OfferToJudge, WorstTarget
from service.domain.offers.left_out import LeftOut
from service.domain.offers.offer import WithRule, emptied_groups, empty_groups, rules_not_kept, rules_that_clash
from service.domain.offers.products import ProductInOffer, products_in_offer
from service.domain.offers.spread import MeasureSpread, WeekChance
from service.jobs.lunch.cautions import table_cautions
from service.jobs.lunch.check_lunch import check_items
from service.jobs.lunch.reply import standard_row
from service.jobs.lunch.yardsticks import yardstick_head
from service.jobs.offers.cards import card_of, how_many
from service.jobs.offers.layout import ChildOffer
from service.jobs.offers.requests import OfferAuditRequest
from service.jobs.offers.words import (
    cause_message,
    estimate_message,
    first_sentence,
    most_often_message,
    most_often_one,
    much_message,
)
from service.reference.allergens.vocabulary import vocabulary
from service.reference.lunch.handling import handling_rules
from service.reference.messages import listed_as, worded, worded_as

Reply = dict[str, Any]
PLACES = 6
CONFIDENCE = 0.95


def child_reply(asked: OfferAuditRequest, child_offer: ChildOffer, one: OfferToJudge, judged: OfferJudgement) -> Reply:
    """One child's part of the reply, without changes."""
    counts = judged.counts
    lunches = LunchesWith(one.branches)
    handled = handled_in_offer(child_offer.handling, lunches)
    left = [(group.id, key) for group in child_offer.offer.groups for key in group.items]
    products = products_in_offer(child_offer.table, {key: child_offer.items[key].food for key in left}, lunches)
    reply: Reply = {
        "nickname": child_offer.child.nickname,
        "standard": standard_row(child_offer.table),
        "left_out": left_out_rows(child_offer, vocabulary()),
        "nothing_left_in": list(dict.fromkeys([*empty_groups(child_offer.offer), *emptied_groups(child_offer.offer)])),
        "rules_not_kept": rule_rows(child_offer),
        "cut_for": cut_rows(child_offer),
        "total": one.size,
        "counted": counts is not None,
        "estimate": None if judged.estimate is None else estimate_row(judged.estimate),
        "handling": handling_rows(child_offer, handled),
        "products": product_rows(products),
        "card": card_of(child_offer, one.branches) if one.size else None,
        "yardsticks": [yardstick_row(each) for each in judged.beside],
        **listed_as("note", table_cautions(child_offer.table)),
    }
    verdicts = judged.verdicts
    if counts is None or verdicts is None:
        return {
            **reply,
            **dict.fromkeys(("right", "wrong", "unknown", "right_share", "right_once_read")),
            "check_label": lunches.number(child_offer.unread),
            "causes": [],
            "targets": [],
            "items": [],
            "measures": {},
            "best": [],
            "worst": [],
            "changes": [],
            **worded_as("changes_note", message("offer.changes-need-a-count")),
            **worded(message("offer.estimated")),
        }
    return {
        **reply,
        "right": verdicts.right,
        "wrong": verdicts.wrong,
        "unknown": verdicts.unknown,
        "check_label": verdicts.check_label,
        "right_once_read": counts.right,
        "right_share": _share(verdicts.right, counts.total),
        "causes": [cause_row(child_offer, one, counts) for one in judged.worst_targets],
        "targets": target_rows(child_offer.table, counts, judged.chances),
        "items": item_rows(child_offer, counts),
        "measures": {MEASURES[measure].id: measure_row(measure, found) for measure, found in judged.spreads.items()},
        "best": [_example(asked, child_offer, taken) for taken in judged.best],
        "worst": [_example(asked, child_offer, taken) for taken in judged.worst],
        "changes": [],
        **worded_as("changes_note", None if counts.total else message("offer.no-lunch-to-change")),
        **worded(_sentence(child_offer, handled, products, counts, verdicts, judged)),
    }


def left_out_rows(child_offer: ChildOffer, words: AllergenVocabulary) -> list[Reply]:
    """What was left out, each item with its reasons."""
    return [
        {
            "group": one.key[0],
            "item": one.key[1],
            "name": child_offer.items[one.key].food.name,
            "kind": "must_not" if one.must_not else "check_label" if one.screened else "dislike",
            **listed_as("reason", _reasons(one, words)),
        }
        for one in child_offer.left_out
    ]


def rule_rows(child_offer: ChildOffer) -> list[Reply]:
    """The family's rules that this child cannot keep: too little is left, or two of them contradict each other."""
    rows: list[tuple[WithRule, list[str] | None, Message]] = []
    for rule in rules_not_kept(child_offer.offer):
        name, take = _rule_in_words(child_offer, rule)
        rows.append((rule, None, message("offer.rule-not-kept", name=name, take=take)))
    for rule, against in rules_that_clash(child_offer.offer):
        name, take = _rule_in_words(child_offer, rule)
        other, other_take = _rule_in_words(child_offer, against)
        said = message("offer.rules-clash", name=name, take=take, other=other, other_take=other_take)
        rows.append((rule, [against.group, against.item], said))
    return [
        {
            "group": rule.group,
            "item": rule.item,
            "then_group": rule.then_group,
            "take": rule.take._asdict(),
            "not_with": not_with,
            **worded(said),
        }
        for rule, not_with, said in rows
    ]


def _rule_in_words(child_offer: ChildOffer, rule: WithRule) -> tuple[str, Message]:
    return child_offer.items[(rule.group, rule.item)].food.name, how_many(rule.take, rule.then_group)


def cut_rows(child_offer: ChildOffer) -> list[Reply]:
    """The items that are to be cut in another form for this child."""
    who: Value = child_offer.child.nickname or message("offer.this-child")
    left = {(group.id, key) for group in child_offer.offer.groups for key in group.items}
    rows = []
    for key, form in child_offer.recut.items():
        if key in left:
            name, in_words = child_offer.items[key].food.name, handling_rules().in_words(form)
            said = message("offer.cut-for", name=name, form=in_words, who=who)
            rows.append({"group": key[0], "item": key[1], "name": name, "form": form, **worded(said)})
    return rows


def handling_rows(child_offer: ChildOffer, handled: Sequence[HandledInOffer]) -> list[Reply]:
    """What the rules on forms and holding find of the lunches, and how many lunches each finding speaks of."""
    return [
        {
            "id": one.id,
            "status": one.status,
            "items": [list(key) for key in one.items],
            "lunches": one.lunches,
            "source": one.finding.source,
            "source_status": one.finding.source_status,
            **worded(_said_of(child_offer, one)),
        }
        for one in handled
    ]


def product_rows(products: Sequence[ProductInOffer]) -> list[Reply]:
    """What the rules on single products find, and how many lunches hold such a product."""
    return [
        {
            "id": one.finding.id,
            "label": one.finding.label,
            "status": one.finding.status,
            "items": [list(key) for key in one.items],
            "lunches": one.lunches,
            "source": one.finding.source,
            "source_status": one.finding.source_status,
            **worded(one.finding.said),
        }
        for one in products
    ]


def _said_of(child_offer: ChildOffer, one: HandledInOffer) -> Message:
    """What a finding on forms and holding says, with the names of all its items."""
    said = one.finding.said
    if "names" not in said.params:
        return said
    return said._replace(
        params={**said.params, "names": sorted({child_offer.items[key].food.name for key in one.items})}
    )


def _reasons(one: LeftOut, words: AllergenVocabulary) -> list[Message]:
    reasons = [
        message(
            "left-out.allergen",
            outcome=found.outcome,
            allergen=words.allergens[found.avoidance.allergen].name,
            avoided_by=found.avoidance.by,
            evidence=found.evidence.evidence,
        )
        for found in one.screened
    ]
    reasons += [] if one.choking is None else [one.choking.said]
    return reasons + ([message("left-out.not-taken")] if one.disliked else [])


def estimate_row(found: Estimate) -> Reply:
    """The share of right lunches in a uniform sample with its confidence interval."""
    return {
        **worded_as("note", estimate_message(found.drawn, found.right_share, found.low, found.high)),
        "sampled": found.drawn,
        "right_share": found.right_share,
        "low": found.low,
        "high": found.high,
        "confidence": CONFIDENCE,
    }


def _share(part: int, whole: int) -> float | None:
    return round(part / whole, PLACES) if whole else None


def yardstick_row(one: OfferBeside) -> Reply:
    """All lunches beside a yardstick: what it is, how many lunches keep it, and each of its rows."""
    table, counts = one.yardstick.table, one.counts
    if table is None or counts is None:
        said = lunches_message(one.yardstick, 0, 0, 0)
        if table is not None:
            said = message("yardstick.lunches-not-counted", title=one.yardstick.standard.title)
        return {
            **yardstick_head(one.yardstick),
            **worded(said),
            **dict.fromkeys(("kept", "broken", "unknown")),
            "targets": [],
        }
    return {
        **yardstick_head(one.yardstick),
        **worded(lunches_message(one.yardstick, counts.total, counts.right, counts.unknown)),
        "kept": counts.right,
        "broken": counts.wrong,
        "unknown": counts.unknown,
        "targets": target_rows(table, counts, one.chances),
    }


def target_rows(table: TargetTable, counts: OfferCounts, chances: dict[str, WeekChance]) -> list[Reply]:
    """Each target on its own: how many lunches keep it, break it, or leave it open."""
    return [
        {
            "id": target.id,
            "label": target.label,
            "unit": target.unit,
            "at_least": target.at_least,
            "at_most": target.at_most,
            "exclusive": target.above or target.below,
            "basis": target.basis,
            "firm": target.firm,
            "kept": tally.kept,
            "broken": tally.broken,
            "unknown": tally.unknown,
            "not_applicable": tally.not_applicable,
            "week_mean_chance": _chance_row(chances.get(target.id)),
            "source": target.source,
            "source_status": target.status,
        }
        for target, tally in zip(table.targets, counts.targets, strict=True)
    ]


def _chance_row(chance: WeekChance | None) -> Reply | None:
    if chance is None:
        return None
    return {"least": round(chance.least, PLACES), "most": round(chance.most, PLACES)}


def item_rows(child_offer: ChildOffer, counts: OfferCounts) -> list[Reply]:
    """Each item: the lunches with it, and how many of these are right."""
    rows = []
    tallies = counts.items()
    for group in child_offer.offer.groups:
        for key in group.items:
            tally = tallies.get((group.id, key))
            lunches, right, unknown = (0, 0, 0) if tally is None else (tally.lunches, tally.right, tally.unknown)
            rows.append(
                {
                    "group": group.id,
                    "item": key,
                    "name": child_offer.items[(group.id, key)].food.name,
                    "lunches_with": lunches,
                    "right_with": right,
                    "unknown_with": unknown,
                    "right_share_with": _share(right, lunches),
                    "right_share_without": _share(counts.right - right, counts.total - lunches),
                }
            )
    return rows


def measure_row(measure: int, found: MeasureSpread) -> Reply:
    """Smallest, median, largest and a histogram of a measure."""
    return {
        "unit": MEASURES[measure].unit,
        "smallest": found.smallest,
        "median": found.median,
        "largest": found.largest,
        "incomplete": found.incomplete,
        "histogram": {"edges": found.edges, "lunches": found.lunches},
    }


def _example(asked: OfferAuditRequest, child_offer: ChildOffer, taken: Sequence[Key]) -> Reply:
    """One lunch as a full check."""
    items = sorted((child_offer.items[key] for key in taken), key=lambda item: item.order)
    if not items:
        return {"items": [], "check": None}
    reply, _judgements = check_items(
        child_offer.table, items, child_offer.avoidances, asked.holding, child_offer.age_months, asked.regions
    )
    return {"items": [list(key) for key in taken], "check": reply}


def cause_row(child_offer: ChildOffer, one: WorstTarget, counts: OfferCounts) -> Reply:
    """A target that lunches break, how many, and the item that goes with it; one that is in every lunch explains nothing."""
    item = one.item
    if item is not None and counts.items()[item].lunches == counts.total:
        item = None
    name = "" if item is None else child_offer.items[item].food.name
    return {
        "target": one.target.id,
        "label": one.target.label,
        "short": one.short,
        "without_sweets": one.without_sweets,
        "lunches": one.broken,
        "group": None if item is None else item[0],
        "item": None if item is None else item[1],
        "name": name or None,
        "lunches_with_item": 0 if item is None else one.holding,
        **worded(cause_message(_much(one), one.broken, name, one.holding)),
    }


def _much(one: WorstTarget) -> Message:
    return much_message(one.target.label, short=one.short, without_sweets=one.without_sweets)


def _sentence(
    child_offer: ChildOffer,
    handled: Sequence[HandledInOffer],
    products: Sequence[ProductInOffer],
    counts: OfferCounts,
    verdicts: Verdicts,
    judged: OfferJudgement,
) -> Message:
    worst = judged.worst_targets[0] if judged.worst_targets else None
    most_often = (
        None
        if worst is None
        else most_often_message(
            _much(worst),
            worst.broken,
            "" if worst.item is None else child_offer.items[worst.item].food.name,
            worst.holding,
            only_one=counts.total == 1,
        )
    )
    of_items = [(one.lunches, _said_of(child_offer, one)) for one in handled if breaks(one.status)]
    of_items += [
        (one.lunches, most_often_one(one.finding.said, one.lunches, only_one=counts.total == 1))
        for one in products
        if one.breaks
    ]
    lunches, said = max(of_items, key=lambda one: one[0], default=(0, None))
    if said is not None and (worst is None or lunches >= worst.broken):
        most_often = said
    return first_sentence(child_offer.child.nickname or "", counts.total, verdicts, most_often)
