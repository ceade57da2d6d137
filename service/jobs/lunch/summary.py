"""The one sentence that a parent reads first of a lunch."""

from service.domain.allergens.screening import Outcome
from service.domain.lunch.check import LunchJudgement, LunchToJudge
from service.domain.lunch.findings import (
    Judgement,
)
from service.domain.lunch.verdict import off_the_mean
from service.domain.messages import Message, message


def _labels(lunch: LunchToJudge, judged: LunchJudgement, outcome: Outcome) -> list[Message]:
    """The allergens with that outcome, each with the foods whose labels are to be read for it."""
    names: dict[str, list[str]] = {}
    for place, one in judged.screened:
        if one.outcome == outcome:
            allergen = lunch.vocabulary.allergens[one.avoidance.allergen].name
            names.setdefault(allergen, []).append(lunch.items[place].food.name)
    return [
        message("summary.allergen-in", allergen=allergen, names=list(dict.fromkeys(foods)))
        for allergen, foods in names.items()
    ]


def summary(lunch: LunchToJudge, judged: LunchJudgement) -> Message:
    """The one sentence a parent reads first."""
    names = lunch.vocabulary.allergens
    verdict, handling = judged.verdict, judged.handling
    if verdict == "do_not_pack":
        reasons = []
        for place, one in judged.screened:
            item, allergen = lunch.items[place].food.name, names[one.found].name
            if one.do_not_pack and one.outcome == "may_contain":
                reasons.append(message("summary.may-contain", item=item, allergen=allergen))
            elif one.do_not_pack:
                reasons.append(message("summary.contains", item=item, allergen=allergen))
        reasons += [
            message("summary.item-brief", item=found.items[0], brief=found.brief)
            for found in handling
            if found.status == "do_not_pack"
        ]
        return message("summary.do-not-pack", reasons=_each_once(reasons))
    if verdict == "check_label":
        first, once = (_labels(lunch, judged, outcome) for outcome in ("check_label", "label_not_seen"))
        if not once:
            return message("summary.check-label", reasons=first)
        if not first:
            return message("summary.read-once", reasons=once)
        return message("summary.check-label-and-read-once", reasons=first, others=once)
    off = _in_brief([one for one in judged.findings if one.counts])
    for rule in judged.rules:
        if rule.status in ("over", "short"):
            off.append(message("summary.product", item=rule.item, label=rule.label))
        elif rule.status == "unknown":
            off.append(message("summary.product-not-known", item=rule.item, label=rule.label))
    off += [found.brief for found in handling if found.status in ("fix", "unknown")]
    others = _in_brief([one for one in judged.findings if one.status != "met" and off_the_mean(one)])
    if verdict == "adjust":
        if others:
            return message("summary.adjust-and-even-out", reasons=off, others=others)
        return message("summary.adjust", reasons=off)
    return message("summary.pack-and-even-out", others=others) if others else message("summary.pack")


def _each_once(messages: list[Message]) -> list[Message]:
    found: list[Message] = []
    for one in messages:
        if one not in found:
            found.append(one)
    return found


def _in_brief(judgements: list[Judgement]) -> list[Message]:
    """A few words on each; those that are not known together."""
    said = [
        message("summary.too-little", label=one.target.label)
        if one.status == "short"
        else message("summary.too-much", label=one.target.label)
        for one in judgements
        if one.status != "unknown"
    ]
    unknown = [one.target.label for one in judgements if one.status == "unknown"]
    return [*said, message("summary.not-known", labels=unknown)] if unknown else said
