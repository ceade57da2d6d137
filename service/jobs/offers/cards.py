"""A card per child: what to take from which group. No figures and no score: a child reads it."""

from collections.abc import Sequence
from html import escape
from typing import Any

from service.domain.messages import Message, message
from service.domain.offers.branches import Branch
from service.domain.offers.offer import ChoiceGroup, Take, emptied_groups, rules_not_kept, rules_that_clash
from service.jobs.offers.layout import ChildOffer
from service.reference.lunch.handling import handling_rules
from service.reference.messages import listed_as, say, worded_as

PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<title>Lunch cards</title>
<style>
@page {{ margin: 12mm; }}
body {{ font: 14pt/1.4 sans-serif; margin: 0; color: #000; background: #fff; }}
section {{ break-inside: avoid; border: 1pt solid #000; padding: 6mm; margin: 0 0 8mm; }}
h1 {{ font-size: 20pt; margin: 0 0 4mm; }}
h2 {{ font-size: 14pt; margin: 4mm 0 1mm; }}
ul {{ margin: 0; padding-left: 8mm; }}
</style>
</head>
<body>
{cards}
</body>
</html>
"""


def card_of(child_offer: ChildOffer, laid_out: Sequence[Branch]) -> dict[str, Any]:
    """One child's card: for each group how many to take and of what, and what goes with what.

    ``laid_out``: the child's offer. An item that is in no lunch, as a rule on it cannot be kept, is not on the card.
    """
    offer = child_offer.offer
    taken = {
        (way.group, key) for branch in laid_out for options in branch.lists for way in options for key in way.items
    }
    lines = []
    notes = [message("card.nothing-in", group=group) for group in emptied_groups(offer)]
    told: set[str] = set()
    for group in offer.groups:
        if group.id in told:
            continue
        alternative_ids = next((ids for ids in offer.alternatives if group.id in ids), (group.id,))
        told.update(alternative_ids)
        parts = [
            ChoiceGroup(one.id, tuple(key for key in one.items if (one.id, key) in taken), one.take)
            for one in offer.groups
            if one.id in alternative_ids
        ]
        parts = [one for one in parts if one.items]
        if parts:
            lines.append({**worded_as("take", _line(parts)), "items": [_names(child_offer, one) for one in parts]})
    rules = []
    not_kept = rules_not_kept(offer)
    for rule in dict.fromkeys(offer.rules):
        name = child_offer.items[(rule.group, rule.item)].food.name
        if (rule.group, rule.item) not in taken:
            rules.append(message("card.leave", name=name, group=rule.then_group))
        elif rule not in not_kept:
            rules.append(message("card.with", name=name, take=how_many(rule.take, rule.then_group)))
    for one, other in rules_that_clash(offer):
        names = [child_offer.items[(rule.group, rule.item)].food.name for rule in (one, other)]
        rules.append(message("card.not-together", names=names))
    rules = list({(one.code, repr(one.params)): one for one in [*rules, *notes]}.values())
    nickname = child_offer.child.nickname or say(message("card.lunch"))
    text = [nickname]
    for line in lines:
        text.append(f"{line['take']}:")
        text += ["  " + "; ".join(names) for names in line["items"]]
    text += [say(rule) for rule in rules]
    return {"nickname": nickname, "lines": lines, **listed_as("rule", rules), "text": "\n".join(text)}


def _line(parts: list[ChoiceGroup]) -> Message:
    first, *others = [how_many(_there(group), group.id) for group in parts]
    return message("card.take-either", first=first, others=others) if others else message("card.take", first=first)


def _there(group: ChoiceGroup) -> Take:
    """How many are taken, no more than there are."""
    take = group.take
    return take if take.repeats else take._replace(at_most=max(take.at_least, min(take.at_most, len(group.items))))


def how_many(take: Take, group: str) -> Message:
    """How many are taken from a group, in words."""
    low, high, times = take.at_least, take.at_most, take.repeats and take.at_most > 1
    if low == high:
        said = message("card.exactly", low=low, group=group)
    elif low == 0:
        said = message("card.up-to", high=high, group=group)
    else:
        said = message("card.from-to", low=low, high=high, group=group)
    return message("card.same-again", take=said) if times else said


def _names(child_offer: ChildOffer, group: ChoiceGroup) -> list[str]:
    names = []
    for key in group.items:
        item = child_offer.items[(group.id, key)]
        usual = item.food.handling.forms[:1]
        form = item.form or (usual[0] if usual else None)
        # What a choking rule asks of this child is always said, also where it is the usual form.
        name = item.food.name
        if form is not None and (form not in usual or child_offer.to_handle.form_matters(item.food, form)):
            name = say(message("card.item-in-form", name=name, form=handling_rules().in_words(form)))
        if (group.id, key) in child_offer.own_amounts:
            name = say(message("card.item-in-amount", name=name, amount=f"{item.quantity:g} {item.unit}"))
        names.append(name)
    return names


def cards_page(cards: Sequence[dict[str, Any] | None]) -> str:
    """All cards as a page to print, one block a child; a child without a lunch (None) has none."""
    blocks = []
    for card in cards:
        if card is None:
            continue
        body = [f"<h1>{escape(card['nickname'])}</h1>"]
        for line in card["lines"]:
            body.append(f"<h2>{escape(line['take'])}</h2>")
            body += [
                "<ul>" + "".join(f"<li>{escape(name)}</li>" for name in names) + "</ul>" for names in line["items"]
            ]
        body += [f"<p>{escape(rule)}</p>" for rule in card["rules"]]
        blocks.append("<section>\n" + "\n".join(body) + "\n</section>")
    return PAGE.format(cards="\n".join(blocks))


def to_label_or_move(rows: list[list[dict[str, Any]]], names: list[str]) -> list[dict[str, Any]]:
    """Items that one child may take and another must not: to be labelled, or set out apart.

    ``rows``: what was left out for each child; ``names``: of the children.
    """
    told: dict[tuple[str, str], dict[str, Any]] = {}
    for left_out, child in zip(rows, names, strict=True):
        for row in left_out:
            if row["kind"] == "dislike":
                continue
            key = (row["group"], row["item"])
            entry = told.setdefault(
                key,
                {
                    "group": row["group"],
                    "item": row["item"],
                    "name": row["name"],
                    "not_for": [],
                    "reasons": [],
                    "reason_messages": [],
                },
            )
            entry["not_for"].append(child)
            for name in ("reasons", "reason_messages"):
                entry[name] += [reason for reason in row[name] if reason not in entry[name]]
    everybody = len(rows)
    for entry in told.values():
        advice = message("offer.label-or-set-apart", not_for=list(entry["not_for"]))
        if len(entry["not_for"]) == everybody:
            advice = message("offer.take-off")
        entry.update(worded_as("advice", advice))
    return [told[key] for key in sorted(told)]
