"""The small forms of an offer: each reads what was typed and gives the edit to make and what it is in words."""

from collections.abc import Callable, Sequence
from typing import NamedTuple, TypeVar

import orjson
from pydantic import ConfigDict, TypeAdapter, ValidationError

from service.domain.errors import BadInput, Faults
from service.domain.messages import Message, message
from service.jobs.household.requests import KeptOffer
from service.jobs.offers import edits
from service.jobs.offers.requests import HowMany, OfferGroup, OfferIn, WithItem
from service.jobs.requests.foods import food_key
from service.reference.messages import LANGUAGE
from service.web.forms.form import FieldFault, Form
from service.web.forms.numbers import number_of
from service.web.language.chosen import page_message, text

Edit = Callable[[KeptOffer], KeptOffer]
_Read = TypeVar("_Read")
OWN = "own~"
"""What the name of a field begins with that holds a child's own amount; its id follows."""
MOST_SENT = 20_000
"""Characters of the changes that a button sends."""


Groups = TypeAdapter(list[OfferGroup], config=ConfigDict(defer_build=True))
"""Groups of an offer as a button sends them."""


ITS_FORM = "asked"
"""Where the page says what is wrong with the one of its small forms that was sent."""


class Wanted(NamedTuple):
    """An edit, and what it is in words, for when the offer was changed meanwhile.

    ``there``: of an edit that cannot be carried out twice, whether an offer is as it is to become: the form was sent twice.
    """

    edit: Edit
    said: Message
    there: Callable[[KeptOffer], bool] = lambda _offer: False


def wanted(action: str, form: Form) -> Wanted:
    """The edit that a form asks for; ``BadInput`` or ``ValidationError`` for what is wrong in it, ``KeyError`` for no such form."""
    return READ[action](form)


def name_taken(name: str, language: str) -> FieldFault:
    """What is said where another offer has the name."""
    return FieldFault("name", text("set-out.there-already", language, name=name))


def at_its_form(form: Form) -> Form:
    """The form with its faults at the place where the page has it: the page has many forms with fields of like names."""
    form.faults = [FieldFault(ITS_FORM, one.sentence) for one in form.faults]
    return form


def number(form: Form, name: str) -> float:
    """A number as people write it: with a comma or a point, or as a fraction."""
    text = form.text(name)
    found = _number(text)
    if found is None:
        raise BadInput(field=name, value=text, problem=message("fault.no-plain-number"))
    return found


def numbers(form: Form, names: Sequence[str]) -> dict[str, float]:
    """The numbers of several fields, by their names; every one that is none is a fault."""
    found, faults = {}, Faults()
    for name in names:
        with faults.at():
            found[name] = number(form, name)
    faults.raise_all()
    return found


def _number(text: str) -> float | None:
    """The number of a text; None for one that is not a number, or a fraction of nothing."""
    for sign, value in (("\u00bc", ".25"), ("\u00bd", ".5"), ("\u00be", ".75")):
        text = text.replace(sign, value)
    above, slash, below = text.partition("/")
    parts = [number_of(f"0{one}" if one.startswith(".") else one, LANGUAGE.get()) for one in (above, below or "1")]
    if None in parts or not parts[1] or (slash and not below):
        return None
    return float(parts[0] / parts[1])  # type: ignore[operator]  # neither is None


def how_many(form: Form) -> HowMany:
    """How many are taken: the fields ``at_least``, ``at_most`` and the tick ``again``."""
    low, high = numbers(form, ("at_least", "at_most")).values()
    if low > high:
        raise BadInput(field="at_most", value=form.text("at_most"), problem=message("fault.most-below-least", low=low))
    return HowMany.model_validate({"at_least": low, "at_most": high, "repeats": bool(form.text("again"))})


def _items(offer: KeptOffer, group: str = "") -> set[str]:
    """The items of a group, by their names in the offer; none where there is no such group. Without ``group`` those of all."""
    groups = [one for one in offer.groups if group in ("", one.id)]
    return {item.key or food_key(item.food) for one in groups for item in one.items}


def _rename(form: Form) -> Wanted:
    name = form.text("name")
    return Wanted(
        lambda offer: KeptOffer.model_validate({**offer.model_dump(mode="json"), "name": name}),
        page_message("set-out.said-rename", name=name),
    )


def _add(form: Form) -> Wanted:
    group, food, key, name = form.text("group"), form.text("food"), form.text("key"), form.text("called")
    quantity = number(form, "quantity") if form.text("quantity") else 1.0
    return Wanted(
        lambda offer: edits.add_item(offer, group, food, key or food, quantity, form.text("unit") or None),
        page_message("set-out.said-add", name=name or food, group=group),
        lambda offer: (key or food) in _items(offer, group),
    )


def _remove(form: Form) -> Wanted:
    group, item = form.text("group"), form.text("item")
    return Wanted(
        lambda offer: edits.remove_item(offer, group, item),
        page_message("set-out.said-remove", name=form.text("called") or item, group=group),
        lambda offer: item not in _items(offer),
    )


def _amount(form: Form) -> Wanted:
    group, item, unit = form.text("group"), form.text("item"), form.text("unit")
    asked = [name for name in form.names() if name.startswith(OWN)]
    typed = numbers(form, ["quantity", *(name for name in asked if form.text(name))])
    quantity = typed.pop("quantity")
    own = {name.removeprefix(OWN): amount for name, amount in typed.items()}
    return Wanted(
        lambda offer: edits.set_amount(offer, group, item, quantity, unit or None, own if asked else None),
        page_message(
            "set-out.said-amounts" if own else "set-out.said-amount",
            name=form.text("called") or item,
            group=group,
            amount=message("food-amount.itself", quantity=quantity, unit=unit) if unit else quantity,
            n=len(own),
        ),
    )


def _take(form: Form) -> Wanted:
    group, take = form.text("group"), how_many(form)
    return Wanted(
        lambda offer: edits.set_take(offer, group, take),
        page_message("set-out.said-take", group=group, low=take.at_least, high=take.at_most),
    )


def _rename_group(form: Form) -> Wanted:
    group, name = form.text("group"), form.text("name")
    return Wanted(
        lambda offer: edits.rename_group(offer, group, name),
        page_message("set-out.said-rename-group", group=group, name=name),
        lambda offer: not _items(offer, group) and bool(_items(offer, name)),
    )


def _remove_group(form: Form) -> Wanted:
    group, items = form.text("group"), set(form.texts("has"))
    return Wanted(
        lambda offer: edits.remove_group(offer, group),
        page_message("set-out.said-remove-group", group=group),
        lambda offer: bool(items) and not items & _items(offer),  # renamed meanwhile, it would be there with its items
    )


def _stand_in(form: Form) -> Wanted:
    groups = form.texts("groups")
    return Wanted(lambda offer: edits.stand_in(offer, groups), page_message("set-out.said-stand-in", groups=groups))


def _stand_alone(form: Form) -> Wanted:
    groups = form.texts("groups")
    return Wanted(
        lambda offer: edits.stand_alone(offer, groups), page_message("set-out.said-stand-alone", groups=groups)
    )


def _rule(form: Form) -> Wanted:
    group, _between, item = form.text("with").partition("~")
    if not item:
        raise BadInput(field="with", value="", problem=message("fault.rule-without-food"))
    if not form.text("then_group"):
        raise BadInput(field="then_group", value="", problem=message("fault.rule-without-group"))
    take = how_many(form)
    rule = WithItem.model_validate(
        {"group": group, "item": item, "then_group": form.text("then_group"), "take": take.model_dump()}
    )
    said = page_message("set-out.said-rule", name=item, group=rule.then_group, low=take.at_least, high=take.at_most)
    return Wanted(lambda offer: edits.add_rule(offer, rule), said)


def _remove_rule(form: Form) -> Wanted:
    group, item, then_group = form.text("group"), form.text("item"), form.text("then_group")
    return Wanted(
        lambda offer: edits.remove_rule(offer, group, item, then_group),
        page_message("set-out.said-remove-rule", name=form.text("called") or item, group=then_group),
    )


def _apply(form: Form) -> Wanted:
    sent = form.text("changes")
    try:
        rows = orjson.loads(sent[:MOST_SENT])
        changes = [edits.ChangeToMake.model_validate(row) for row in rows]
    except (orjson.JSONDecodeError, TypeError, ValidationError) as fault:
        raise BadInput(field="changes", value="", problem=message("fault.not-a-change")) from fault
    return Wanted(
        lambda offer: edits.make_changes(offer, changes, form.text("child")),
        page_message("set-out.said-apply", said=form.text("called")),
    )


def _make_right(form: Form) -> Wanted:
    groups = _offer_part(form, "groups", Groups.validate_json)
    return Wanted(lambda offer: edits.put_groups(offer, groups), page_message("right.said"))


def _offer_part(form: Form, field: str, read: Callable[[str], _Read]) -> _Read:
    """What a form sends back of an offer that the page had put into it."""
    sent = form.text(field)
    try:
        return read(sent)
    except ValidationError as fault:
        raise BadInput(field=field, value=sent[:60], problem=message("fault.not-an-offer-here")) from fault


def _undo_right(form: Form) -> Wanted:
    before = _offer_part(form, "before", OfferIn.model_validate_json)
    parts = {name: getattr(before, name) for name in ("groups", "alternatives", "rules")}
    return Wanted(lambda offer: offer.model_copy(update=parts), page_message("right.undo-said"))


READ: dict[str, Callable[[Form], Wanted]] = {
    "rename": _rename,
    "add": _add,
    "remove": _remove,
    "amount": _amount,
    "take": _take,
    "rename-group": _rename_group,
    "remove-group": _remove_group,
    "stand-in": _stand_in,
    "stand-alone": _stand_alone,
    "rule": _rule,
    "remove-rule": _remove_rule,
    "apply": _apply,
    "make-right": _make_right,
    "undo-right": _undo_right,
}
"""By the last part of the address that a form goes to."""
