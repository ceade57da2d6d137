"""How far what a label denies reaches: "free from milk, egg and nuts", "egg and dairy free"; in doubt it denies nothing."""

from typing import Final

from service.domain.labels.context import FURTHEST_LOOK, LINKS, is_gap
from service.domain.labels.phrased import FILLERS, PhrasedText
from service.domain.labels.words import Entry

_ALL_OF_THEM: Final = frozenset(
    [
        "top",
        "major",
        "big",
        "common",
        "food",
        "following",
        "priority",
        "allergen",
        "allergens",
        "8",
        "9",
        "14",
        "eight",
        "nine",
        "fourteen",
    ]
)
"""Words that may stand before the names: "free from the top 9 allergens: milk, egg"."""


def is_denied_later(text: PhrasedText, end: int) -> bool:
    """Whether "free" comes after a link: "gluten and dairy free", "peanut/tree nut free"."""
    here = end
    for _ in range(6):
        if here >= len(text.tokens):
            return False
        if text.tokens[here] in LINKS and is_gap(text.parts[2 * here]):
            here += 1
            if here >= len(text.tokens) or not is_gap(text.parts[2 * here]):
                return False
        elif text.parts[2 * here].strip() != "/":
            return False
        entry, after = text.longest(here)
        if entry is None:
            return False
        if text.tokens[after - 1] == "free" and not entry.flags and not entry.role:
            return True
        if not entry.claim:
            return False
        here = after
    return False


def denied_until(text: PhrasedText, start: int, *, listing: bool, ends: list[int]) -> int:
    """The word after what a denial covers.

    Always the food named straight after, and what is linked to it by "or" or "and". A list with commas is
    covered only if nothing but names of allergens and the like stand in it up to the end of the sentence or
    bracket; otherwise what comes after the comma counts as ingredients. Without ``listing``, as after a bare
    "no", the last of the list must be linked too. ``ends``: for each word where its sentence or bracket ends.
    """
    if start >= len(text.tokens) or text.parts[2 * start].strip() not in ("", ":", "-"):
        return start
    here = start
    while here < start + 9 and (text.tokens[here] in FILLERS or text.tokens[here] in _ALL_OF_THEM):
        here += 1
        if here >= len(text.tokens):
            return start
        opens = text.tokens[here - 1] in _ALL_OF_THEM and text.parts[2 * here].strip() in (":", "(", "[")
        if not opens and not is_gap(text.parts[2 * here]):
            return start
    entry, end = text.longest(here)
    if entry is None or entry.role:
        return start
    if text.tokens[start - 1] == "not" and not (entry.claim and text.item_ends(end)):
        return start  # "milk, not wheat", but "not roasted, wheat"
    if listing and entry.claim and not entry.neutral and text.only_names(here, ends[here], run_on=True):
        return ends[here]
    neutral = entry.neutral
    if neutral:
        listing = False
    covered = here = _same_food_until(text, entry, end)
    for _ in range(FURTHEST_LOOK):
        if here >= len(text.tokens):
            return here if listing else covered
        separator = text.parts[2 * here].strip()
        if separator and separator[0] in ".;)]}!>":
            return here if listing else covered
        if here in text.apart:
            return covered
        if _goes_on(text, here):
            here += 1
            entry, end = text.longest(here)
            if entry is None or not _names_allergen(entry) or not text.item_ends(end):
                break
            covered = here = end
            continue
        linked = separator == ""
        if text.tokens[here] in LINKS and separator in ("", ","):
            listing = not neutral or text.tokens[here] in ("or", "nor")
            here += 1
            if here >= len(text.tokens) or not is_gap(text.parts[2 * here]):
                break
        elif separator not in (",", "/"):
            break
        elif neutral:
            listing = False
        entry, end = text.longest(here)
        if entry is None or not entry.claim or not text.item_ends(end):
            break
        here = end
        neutral = neutral or entry.neutral
        if linked and (listing or not neutral):
            covered = end
    return covered


def _goes_on(text: PhrasedText, here: int) -> bool:
    """Whether a word is the "or" or "nor" of another language, between two words: "sans lait ni œuf"."""
    if text.tokens[here] not in text.words.or_nor or here + 1 >= len(text.tokens):
        return False
    return is_gap(text.parts[2 * here]) and is_gap(text.parts[2 * here + 2])


def _names_allergen(entry: Entry) -> bool:
    return not entry.role and any(flag.tier == "contains" for flag in entry.flags)


def _same_food_until(text: PhrasedText, entry: Entry, end: int) -> int:
    """The end of a food named by several words in a row: "mozzarella cheese"."""
    named = {flag.allergen for flag in entry.flags}
    while end < len(text.tokens) and end not in text.apart and is_gap(text.parts[2 * end]):
        following, after = text.longest(end)
        if following is None or not following.flags or any(f.allergen not in named for f in following.flags):
            break
        end = after
    return end
