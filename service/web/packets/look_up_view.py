"""What the page shows on which a packet is looked up in a public database."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from service.domain.messages import Message, message_of
from service.web.packets.filled import name_of
from service.web.packets.view import PacketRow, packet_row


@dataclass(frozen=True)
class Product:
    """A product that was found. ``source``: ``index`` or ``live``; ``on``, ``read``: days, or empty; ``words``: to find its food by."""

    gtin: str
    name: str
    source: str
    on: str
    read: str
    words: str


@dataclass(frozen=True)
class LookUpView:
    """The context of ``packets/look_up.html``.

    ``query``: what was looked up, or empty. ``fault``: why nothing can be looked up, a sentence, or empty. ``problem``: why the network
    gave no answer; ``stale``: what is shown was kept for more than 30 days. ``before``: packets that were read with this code.
    """

    query: str
    products: list[Product]
    fault: str = ""
    problem: Message | None = None
    stale: bool = False
    before: list[PacketRow] = field(default_factory=list)


def nothing_looked_up() -> LookUpView:
    """The page before anything was typed."""
    return LookUpView("", [])


def look_up_view(query: str, found: Mapping[str, Any], before: Sequence[Mapping[str, Any]]) -> LookUpView:
    """The page from the reply of ``look_up_branded``, and rows of ``packets_kept``."""
    live = found["live"] or {"problem_message": None, "stale": False}
    return LookUpView(
        query,
        [
            Product(
                gtin=one["gtin"],
                name=name_of(one),
                source=one["source"],
                on=one["date"] or "",
                read=one["read"] or "",
                words=one["description"].lower(),
            )
            for one in found["items"]
        ],
        problem=None if live["problem_message"] is None else message_of(live["problem_message"]),
        stale=live["stale"],
        before=[packet_row(one) for one in before],
    )
