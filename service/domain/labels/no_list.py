"""Texts that list no ingredients: praise, the name of a dish, a menu, a declaration or a warning alone.

What such a text does not name is not known, however well its words can be read: "beef udon" says nothing of egg.
"""

from collections.abc import Sequence
from typing import Final

from service.domain.labels.cut_text import LINKS, sentence_end
from service.domain.labels.evidence import Place
from service.domain.labels.phrased import PhrasedText
from service.domain.labels.readable import LIST_MARKS, Seen, count_known
from service.domain.labels.words import DECLARATION, PRECAUTION, Entry

MOST_OF_A_MENU: Final = 3
"""How many commas or the like a text with the name of a dish has at most if it is no list of ingredients; ours."""

_OF_A_MENU: Final = ",;/|\n"
_OF_A_LIST: Final = LIST_MARKS - set(_OF_A_MENU)
_AND: Final = LINKS | {"und", "et", "y", "e", "en", "och", "og", "i"}


def seen_in(text: PhrasedText, printed: str, found: Sequence[Place]) -> Seen:
    """How many words of a text are known, and whether it names foods as a list of ingredients does.

    ``printed``: the text as it was given. ``found``: what its words raised when it was read.
    """
    seen = count_known(text.words, text.tokens)
    if _is_praise(text, printed) or _is_name_of_a_dish(text, printed, found):
        return seen._replace(names_food=False)
    # "Does not contain nuts" and "may contain nuts" alone are no list of ingredients; "nuts" is.
    warned = {first for first, _, _, tier in found if tier == "may_contain"}
    begin = _end_of_declaration(text)
    named = any(
        first >= begin and (tier == "contains" or (first not in warned and flag.use != "people"))
        for first, _, flag, tier in found
    )
    if begin and not named:
        seen = seen._replace(names_food=count_known(text.words, text.tokens[begin:]).names_food)
    return seen._replace(names_food=seen.names_food or named)


def _is_praise(text: PhrasedText, printed: str) -> bool:
    """Whether this is a sentence that praises a food ("the best crackers in town") and no list of ingredients."""
    praise = text.words.praise
    if praise.isdisjoint(text.tokens) or not LIST_MARKS.isdisjoint(printed):
        return False
    return not praise.isdisjoint(text.tokens[: sentence_end(text.parts, 0)])


def _is_name_of_a_dish(text: PhrasedText, printed: str, found: Sequence[Place]) -> bool:
    """Whether this names a food made of several ("beef udon") and does not list what is in it.

    A menu of few items ("quenelles, rice") is such too: what stands in a dish, nobody has said.
    """
    bare = printed.strip().rstrip(".,;")
    marks = sum(map(bare.count, _OF_A_MENU))
    if marks > MOST_OF_A_MENU or not _OF_A_LIST.isdisjoint(bare):
        return False
    if marks and sentence_end(text.parts, 0) < len(text.tokens):  # "Frittata. Eggs, potatoes, oil"
        return False
    here = 0
    while here < len(text.tokens):
        entry, here = text.longest(here)
        if entry is not None and entry.dish:
            return True
    # No dish of the tables; but a single item that leaves several allergens to its ingredients ("pesto") is one too.
    asked = {flag.allergen for _, _, flag, _ in found if flag.answered_by == "ingredients"}
    return not marks and len(asked) > 1


def _end_of_declaration(text: PhrasedText) -> int:
    """The word after "contains milk, egg" at the beginning of a text: that alone is no list of ingredients."""
    if not text.tokens:
        return 0
    entry, end = text.longest(0)
    if entry is None or entry.role != DECLARATION or end >= len(text.tokens):
        return 0
    last = text.ends()[end]
    here = end
    while here < last:
        phrase, after = text.longest(here)
        if phrase is not None and phrase.role == PRECAUTION:  # "contains milk and traces of"
            return here
        if text.tokens[here] not in _AND and not _names_one(phrase, after - here):
            # No plain name: "contains wheat flour, milk" is a list of ingredients unless the rest is names after all.
            return last if text.only_names(end, last) else 0
        here = after
    return last


def _names_one(phrase: Entry | None, words: int) -> bool:
    """Whether this is the name of an allergen, as a declaration has them."""
    if phrase is None:
        return False
    return phrase.claim or (words == 1 and any(flag.tier == "contains" for flag in phrase.flags))
