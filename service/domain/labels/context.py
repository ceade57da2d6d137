"""What stands around a word decides what it means: a list of oils, brackets after it, what is next to a number."""

from collections.abc import Sequence
from typing import Final

from service.domain.labels.cut_text import CLOSERS, FURTHEST_LOOK, LINKS, OPENERS, CutText, ends_sentence, is_gap
from service.domain.labels.words import Flag, Tier

GRAINS_LOOKED_AT: Final = 8
"""How many words in brackets are looked at for another grain: "bread (water, tapioca starch, rice flour"."""

FILLING_LOOKED_AT: Final = 4
"""How many words in brackets after "cream" tell whether it is a filling of sugar and fat."""

HEADING_LOOKED_AT: Final = 8
"""How many words after a colon are looked at for the first comma or bracket of a list."""

CLASS_LOOKED_AT: Final = 8
"""How many words before a number are looked at for the class of an additive: "preservatives (202, 220)"."""

_ITEM_BEGINS: Final = frozenset(",;:.([{<")
_ITEM_ENDS: Final = frozenset(",;.)]}>")
_MARKS: Final = " \t\n*_+^~#'\"-"
"""Spaces and the marks of footnotes, which may stand between a word and its brackets."""
_BEFORE_A_FIGURE: Final = " \t\n:|<="
"""What may stand between the name of a nutrient and its figure."""
_PLAIN: Final = frozenset({" ", ", ", "-", ","})
"""Separators that neither open nor close brackets nor end a sentence."""
_ONE_CROP: Final = frozenset({"soybean", "bean"})
"""How the name of the soya crop ends: the only one whose oil is looked for beyond a comma."""
_NAMES_SOURCE: Final = frozenset({"contains", "contain", "from"})
"""Words after which soya is a source of its own, not one of a list of oils: "vegetable oil (contains soy)"."""


def tier_in_context(text: CutText, flag: Flag, at: int, end: int) -> Tier | None:
    """How sure a flag is where its words stand, or nothing where what stands around them says that it is not meant.

    ``at``, ``end``: the first of its words and the word after the last. What is in doubt is raised for checking:
    only a source or a list of ingredients in brackets, or a number that is a quantity, takes a flag away.
    """
    if flag.use in ("grain_word", "unqualified"):
        sure = (flag.use == "grain_word" or _stands_alone(text, at)) and not _brackets_name_other_grain(text, end)
        return flag.tier if sure else "check_label"
    if flag.use == "oil_source":
        return "check_label" if _in_oil_list(text, at, end) else flag.tier
    if flag.use == "cream_or_filling":
        first = _bracketed(text, end)[:FILLING_LOOKED_AT]
        return "check_label" if any(text.tokens[here] in text.words.filling_words for here in first) else flag.tier
    if flag.use == "additive_number":
        alone = _is_an_item(text, at, end)
        return flag.tier if _after_additive_class(text, at) else "check_label" if alone else None
    if flag.use == "protein_word" and _has_grams_after(text, end):
        return None
    if flag.answered_by == "source" and _brackets_name_source(text, end):
        return None
    if flag.answered_by == "ingredients" and _brackets_hold_list(text, end):
        return None
    return flag.tier


def _stands_alone(text: CutText, at: int) -> bool:
    """Whether no word, nor one in brackets, says which kind it is: ", flour" but not "(garbanzo) flour"."""
    before = text.parts[2 * at]
    if at == 0 or at in text.apart or text.tokens[at - 1] in text.words.unqualifying:
        return True
    return not is_gap(before) and before.strip() not in CLOSERS


def _in_oil_list(text: CutText, at: int, end: int) -> bool:
    """Whether a crop is one of a list of oils: "soybean and palm oil", "vegetable oil (corn, soybean)"."""
    return _oil_follows(text, at, end) or _in_brackets_after_oil(text, at)


def _oil_follows(text: CutText, at: int, end: int) -> bool:
    """A comma is taken for one in a list of oils only after "soybean", and only if "and" or "or" follows."""
    comma_seen = link_since_comma = False
    for here in range(end, min(len(text.tokens), end + FURTHEST_LOOK)):
        separator = text.parts[2 * here].strip()
        token = text.tokens[here]
        if separator == ",":
            if text.tokens[end - 1] not in _ONE_CROP:
                return False
            comma_seen, link_since_comma = True, False
        elif separator not in ("", "/", "-", "*"):
            return False
        link_since_comma = link_since_comma or token in LINKS or separator == "/"
        if token in text.words.oil_words:
            return link_since_comma or not comma_seen
        if token not in text.words.oil_list:
            return False
    return False


def _in_brackets_after_oil(text: CutText, at: int) -> bool:
    """Whether a crop stands in brackets or after a colon that an oil opens: "vegetable oil blend (corn, soybean)".

    Brackets that were opened and closed again on the way back are passed over.
    """
    if at > 0 and text.tokens[at - 1] in _NAMES_SOURCE and text.tokens[at] in ("soy", "soya"):
        return False
    depth = 0
    for here in range(at, max(0, at - FURTHEST_LOOK), -1):
        for mark in reversed(text.parts[2 * here]):
            if mark in CLOSERS:
                depth += 1
            elif mark in OPENERS:
                if depth == 0:
                    before = here - 2 if here > 1 and text.tokens[here - 1] == "blend" else here - 1
                    return text.tokens[before] in text.words.oil_words
                depth -= 1
            elif depth == 0 and mark == ":" and text.tokens[here - 1] in text.words.oil_words:
                return True
            elif depth == 0 and mark in ".;":
                return False
    return False


def _is_an_item(text: CutText, at: int, end: int) -> bool:
    """Whether a number alone is an item of the list: ", 1105," or "(220)", but not "220 g" or "220%"."""
    before, after = text.parts[2 * at].strip(), text.parts[2 * end].strip()
    begins = at == 0 or before[-1:] in _ITEM_BEGINS
    return begins and (after[:1] in _ITEM_ENDS if after else end == len(text.tokens)) and "%" not in after


def _has_grams_after(text: CutText, end: int) -> bool:
    """Whether a figure in grams follows, as in a table of figures: "Eiweiß 6,5 g", "Białko: 6 g", but not "6 %"."""
    here = end
    while here < min(len(text.tokens), end + 2) and text.tokens[here].isdigit():
        if text.parts[2 * here].strip(_BEFORE_A_FIGURE if here == end else ",.") != "":
            return False
        here += 1
    return end < here < len(text.tokens) and text.tokens[here] == "g" and text.parts[2 * here].strip() == ""


def _after_additive_class(text: CutText, at: int) -> bool:
    """Whether the class of an additive stands before a number in its sentence: "preservative 220"."""
    for here in range(at, max(0, at - CLASS_LOOKED_AT), -1):
        if "." in text.parts[2 * here]:
            return False
        if text.tokens[here - 1] in text.words.additive_classes:
            return True
    return False


def _brackets_name_source(text: CutText, end: int) -> bool:
    return any(text.tokens[here] in text.words.sources_named for here in _bracketed(text, end))


def _brackets_name_other_grain(text: CutText, end: int) -> bool:
    return any(text.tokens[here] in text.words.other_grains for here in _bracketed(text, end)[:GRAINS_LOOKED_AT])


def _brackets_hold_list(text: CutText, end: int) -> bool:
    """Whether the ingredients follow: in brackets, or as a list after a colon ("icing: sugar, water")."""
    if text.parts[2 * end].strip(_MARKS) == ":":
        separators: list[str] = []
        for here in range(end + 1, min(len(text.tokens), end + HEADING_LOOKED_AT)):
            if ends_sentence(text.parts, here - 1, len(text.tokens)):
                break
            separators.append(text.parts[2 * here].strip())
        first = next((separator for separator in separators if separator not in ("", "-")), "")
        return first[:1] in (",", "(", "[", "{")
    return any("," in text.parts[2 * here] for here in _bracketed(text, end)[1:])


def _bracketed(text: CutText, end: int) -> Sequence[int]:
    """The words in brackets that open straight after a word, up to the end of the sentence at most."""
    opening = text.parts[2 * end].lstrip(_MARKS)
    if end >= len(text.tokens) or not opening or opening[0] not in OPENERS or "." in opening:
        return ()
    depth = sum(mark in OPENERS for mark in opening) - sum(mark in CLOSERS for mark in opening)
    if depth <= 0:
        return ()
    furthest = min(len(text.tokens), end + FURTHEST_LOOK)
    for last in range(end + 1, furthest):
        separator = text.parts[2 * last]
        if separator in _PLAIN:
            continue
        if ends_sentence(text.parts, last - 1, len(text.tokens)):
            return range(end, last)
        for mark in separator:
            depth += (mark in OPENERS) - (mark in CLOSERS)
            if depth <= 0:
                return _beyond_a_share(text, end, last)
    return range(end, furthest)


def _beyond_a_share(text: CutText, start: int, last: int) -> Sequence[int]:
    """The brackets found, or the next ones where these hold only a figure: "cream (78%) [palm oil, sugar]"."""
    if last - start > 2 or not all(token.isdigit() for token in text.tokens[start:last]):
        return range(start, last)
    separator = text.parts[2 * last].lstrip(" \t\n%")
    if separator[:1] not in CLOSERS or separator[1:].strip()[:1] not in OPENERS or not separator[1:].strip():
        return range(start, last)
    furthest = min(len(text.tokens), last + FURTHEST_LOOK)
    return range(last, next((at for at in range(last + 1, furthest) if text.parts[2 * at][:1] in CLOSERS), furthest))
