"""Cautions of a job's reply as a page says them: what a program would send is instead answered on a page, with a link to it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from service.domain.messages import Message
from service.web.language.chosen import page_message


@dataclass(frozen=True)
class Caution:
    """A caution. ``sentence``: as the job says it. Where a person answers it on a page: ``words`` instead, and a link there."""

    sentence: str
    words: Message | None = None
    address: str = ""
    link: Message | None = None


def cautions_of(reply: Mapping[str, Any]) -> list[Caution]:
    """The cautions of a reply, which has them as sentences and as codes with their values."""
    sentences, codes = reply.get("cautions", []), reply.get("caution_messages", [])
    return [_caution(sentence, code["code"], code["params"]) for sentence, code in zip(sentences, codes, strict=True)]


def _caution(sentence: str, code: str, params: Mapping[str, Any]) -> Caution:
    if code == "caution.salted-water":
        words = page_message("caution-on-page.salted-water", names=list(params["names"]))
        return Caution(sentence, words, "/care#salts", page_message("caution-on-page.to-salted-water"))
    if code == "caution.not-credited":
        words = page_message("caution-on-page.not-credited", names=list(params["names"]))
        return Caution(sentence, words, "/foods", page_message("caution-on-page.to-own-foods"))
    return Caution(sentence)
