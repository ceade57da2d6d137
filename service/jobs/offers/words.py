"""What is said to a parent of an offer."""

from service.domain.messages import Message, Value, message
from service.domain.offers.counts import Verdicts
from service.domain.shares import percent


def first_sentence(nickname: str, total: int, verdicts: Verdicts, most_often: Message | None) -> Message:
    """What a parent reads before anything else: how many of ``total`` lunches keep the rules; where not, what fails most."""
    right, wrong, unknown, check_label = verdicts
    who: Value = nickname or message("offer.this-child")
    if not total:
        return message("offer.no-lunch", who=who)
    if right == total > 1:
        return message("offer.all-right", who=who, total=total)
    if right and total == 1:
        first = message("offer.only-right", who=who)
    elif wrong and total == 1:
        first = message("offer.only-wrong", who=who)
    elif check_label and total == 1:
        first = message("offer.only-check-label", who=who)
    elif total == 1:
        first = message("offer.only-unknown", who=who)
    elif not wrong:
        first = message("offer.some-right", who=who, right=right, total=total)
    elif wrong == total:
        first = message("offer.all-wrong", who=who, total=total)
    else:
        first = message("offer.some-wrong", who=who, wrong=wrong, total=total)
    parts = [first]
    if most_often is not None and (wrong or total == 1):
        parts.append(most_often)
    if check_label and total > 1:
        parts.append(message("offer.check-label", check_label=check_label))
    if unknown and total > 1:
        parts.append(message("offer.unknown", unknown=unknown))
    return message("text.sentences", parts=parts)


def much_message(label: str, *, short: bool, without_sweets: bool) -> Message:
    """That there is too little of something, or too much."""
    if without_sweets:
        return message("summary.too-little-without-sweets", label=label)
    return message("summary.too-little", label=label) if short else message("summary.too-much", label=label)


def most_often_message(much: Message, broken: int, item: str, holding: int, *, only_one: bool) -> Message:
    """What fails most, and the item whose lunches fail so most often; ``much``: as `much_message` says it."""
    if only_one:
        return message("offer.it-has", much=much)
    if item:
        return message("offer.most-often-with", much=much, broken=broken, holding=holding, item=item)
    return message("offer.most-often", much=much, broken=broken)


def most_often_one(said: Message, lunches: int, *, only_one: bool) -> Message:
    """What a single product is wrong in, where that is most often; ``said``: its finding."""
    return said if only_one else message("offer.most-often-one", said=said, lunches=lunches)


def cause_message(much: Message, broken: int, item: str, holding: int) -> Message:
    """A limit that some lunches do not keep, and the item that goes with it; ``item``: empty where none does."""
    if item:
        return message("offer.cause-with", much=much, broken=broken, holding=holding, item=item)
    return message("offer.cause", much=much, broken=broken)


def estimate_message(drawn: int, right_share: float, low: float, high: float) -> Message:
    """The share of lunches in a sample that keep the rules."""
    return message(
        "offer.estimate", drawn=drawn, percent=percent(right_share), low=percent(low), high=percent(high), confidence=95
    )
