"""What the page of all offers shows: the days of this week and the next, and each offer in one line."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any
from uuid import uuid4

from service.domain.messages import Message
from service.jobs.requests.lunches import HoldingConditions
from service.web.forms.form import Form
from service.web.set_out.kept_cold import kept_form, kept_said


@dataclass(frozen=True)
class DayRow:
    """A school day: the offer that is set out, or empty."""

    date: str
    offer: str
    name: str
    is_today: bool


@dataclass(frozen=True)
class OfferRow:
    """An offer: its groups, how many foods it has, the coming days on which it is set out."""

    id: str
    name: str
    groups: list[str]
    foods: int
    days: list[str]


@dataclass(frozen=True)
class OffersView:
    """The context of ``set_out/offers.html``. ``asked``: which form ``form`` is; ``kept_said``: how lunches are kept.

    ``repeat``: a new key, so that a form that is sent twice copies once.
    """

    weeks: list[list[DayRow]]
    offers: list[OfferRow]
    kept_said: Message | None
    kept_form: Form
    form: Form
    asked: str
    may_change: bool
    repeat: str = field(default_factory=lambda: uuid4().hex)


def offers_view(
    offers: Sequence[Mapping[str, Any]],
    weeks: Sequence[Sequence[date]],
    by_day: Mapping[date, str],
    on: date,
    kept: HoldingConditions | None,
    form: Form,
    asked: str,
    *,
    may_change: bool,
) -> OffersView:
    """The page from stored offers and what is set out by day."""
    names = {one["id"]: one["name"] for one in offers}
    return OffersView(
        weeks=[
            [
                DayRow(day.isoformat(), by_day.get(day, ""), names.get(by_day.get(day, ""), ""), day == on)
                for day in week
            ]
            for week in weeks
        ],
        offers=[
            OfferRow(
                one["id"],
                one["name"],
                [group["id"] for group in one["groups"]],
                sum(len(group["items"]) for group in one["groups"]),
                [day.isoformat() for day, offer in sorted(by_day.items()) if offer == one["id"] and day >= on],
            )
            for one in offers
        ],
        kept_said=kept_said(kept),
        kept_form=form if asked == "kept" else kept_form(kept),
        form=form,
        asked=asked,
        may_change=may_change,
    )
