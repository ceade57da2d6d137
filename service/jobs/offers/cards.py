"""A card per child: what to take from which group. No figures and no score: a child reads it."""

from html import escape
from typing import Any

from service.domain.offers.offer import ChoiceGroup, Take
from service.jobs.offers.layout import ChildOffer
from service.reference.lunch.handling import handling_rules

NUMBERS = ("none", "one", "two", "three", "four", "five", "six")

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


def card_of(laid: ChildOffer) -> dict[str, Any]:
    """One child's card: for each group how many to take and of what, and what goes with what."""
    offer = laid.offer
    lines = []
    told: set[str] = set()
    for group in offer.groups:
        if group.id in told:
            continue
        together = next((ids for ids in offer.alternatives if group.id in ids), (group.id,))
        told.update(together)
        parts = [one for one in offer.groups if one.id in together and one.items]
        if parts:
            lines.append({"take": _line(parts), "items": [_names(laid, one) for one in parts]})
    rules = []
    for rule in offer.rules:
        name = laid.items[(rule.group, rule.item)].food.name
        rules.append(f"With {name}: {_how_many(rule.take, rule.then_group)}.")
    nickname = laid.child.nickname or "Lunch"
    text = [nickname]
    for line in lines:
        text.append(f"{line['take']}:")
        text += ["  " + "; ".join(names) for names in line["items"]]
    text += rules
    return {"nickname": nickname, "lines": lines, "rules": rules, "text": "\n".join(text)}


def _line(parts: list[ChoiceGroup]) -> str:
    said = [_how_many(group.take, group.id) for group in parts]
    text = ", or ".join(said)
    return text[:1].upper() + text[1:]


def _how_many(take: Take, group: str) -> str:
    low, high = NUMBERS[take.at_least], NUMBERS[take.at_most]
    again = " (the same again if you like)" if take.repeats and take.at_most > 1 else ""
    if take.at_least == take.at_most:
        return f"take {low} from {group}{again}"
    if take.at_least == 0:
        return f"take up to {high} from {group} if you like{again}"
    return f"take {low} to {high} from {group}{again}"


def _names(laid: ChildOffer, group: ChoiceGroup) -> list[str]:
    names = []
    for key in group.items:
        item = laid.items[(group.id, key)]
        usual = item.food.handling.forms[:1]
        form = "" if item.form is None or item.form in usual else f" ({handling_rules().in_words(item.form)})"
        names.append(item.food.name + form)
    return names


def cards_page(cards: list[dict[str, Any]]) -> str:
    """All cards as a page to print, one block a child."""
    blocks = []
    for card in cards:
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
            if row["kind"] != "must_not":
                continue
            key = (row["group"], row["item"])
            entry = told.setdefault(
                key, {"group": row["group"], "item": row["item"], "name": row["name"], "not_for": [], "reasons": []}
            )
            entry["not_for"].append(child)
            entry["reasons"] += [reason for reason in row["reasons"] if reason not in entry["reasons"]]
    everybody = len(rows)
    for entry in told.values():
        entry["advice"] = (
            "take it off the offer: nobody here may have it"
            if len(entry["not_for"]) == everybody
            else f"label it or set it out apart: not for {', '.join(entry['not_for'])}"
        )
    return [told[key] for key in sorted(told)]
