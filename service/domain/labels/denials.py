"""What a label denies: "free from milk, egg and nuts", "egg and dairy free"; in doubt it denies nothing.

A denial raises nothing and clears nothing. What makes one doubtful, before it or after it, turns it into a warning of
what it names: "not made in a nut-free factory", "nut free: no", "free from nuts, but this cannot be guaranteed".
"""

from typing import Final

from service.domain.labels.cut_text import CLOSERS, FURTHEST_LOOK, LINKS, OPENERS, is_gap, sentence_start
from service.domain.labels.evidence import Place
from service.domain.labels.phrased import FILLERS, PhrasedText
from service.domain.labels.words import DECLARATION, Entry, Tier

_AFTER_A_DENIAL: Final = ("", ":", "-", "'")
"""What may stand between a denial and what it covers: "ne contient pas d'arachides"."""
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


class Denials:
    """What one text denies, told in reading order, and what it raises after all where a denial is in doubt.

    ``found``: what the text raised so far, shared with its reader.
    """

    __slots__ = ("denied", "found", "text")

    def __init__(self, text: PhrasedText, found: list[Place]) -> None:
        self.text = text
        self.found = found
        self.denied: list[tuple[int, int]] = []
        """From which word to which the label denied something."""

    def deny_what_follows(self, at: int, end: int) -> int:
        """Follow "free from" or the like, which stands from one word to another; gives the word to go on from."""
        text = self.text
        follows = end < len(text.tokens) and is_gap(text.parts[2 * end])
        claim, after = text.longest(end) if follows else (None, end)
        if claim is not None and claim.denies is not None:  # "neither nut free nor dairy free"
            self.raise_named(end, after, "may_contain")
            return after
        listing = end - at > 1 or text.tokens[at] not in text.words.single_denials
        done = denied_until(text, end, listing=listing)
        if done > end:
            self.denied.append((end, done))
        return done

    def take_claim(self, at: int, end: int, *, doubtful: bool) -> None:
        """Follow "nut free": it denies what it names, or warns of it where ``doubtful`` or the sentence doubts it."""
        text = self.text
        if doubtful or text.doubts_denials(at) or _is_answered_no(text, end):
            self.raise_named(at, end, "may_contain")
            return
        self.denied.append((at, end))
        if at and text.tokens[at - 1] in LINKS:
            self._deny_list_before(at, end)

    def take_first_of_claim(self, at: int, end: int) -> None:
        """Follow the name before a link to a claim: "gluten" in "gluten and dairy free"."""
        self.denied.append((at, end))
        if self.text.doubts_denials(at):
            self.raise_named(at, end, "may_contain")
        elif self._is_declared(at):  # "contains milk and nut free": in doubt it is in it
            self.raise_named(at, end, "check_label")

    def raise_named(self, start: int, end: int, tier: Tier) -> None:
        """Raise all that is named from one word to another, also where it is denied there, at most at a tier."""
        here = start
        while here < end:
            entry, after = self.text.longest(here)
            if entry is not None:
                for flag in (entry.denies or entry).flags:
                    self.found.append((here, after, flag, tier if flag.tier == "contains" else flag.tier))
            here = after

    def take_back(self, at: int) -> None:
        """Raise what the sentence denied before "cannot be guaranteed": it is a warning."""
        start = sentence_start(self.text.parts, at)
        while self.denied and self.denied[-1][0] >= start:
            self.raise_named(*self.denied.pop(), "may_contain")

    def _deny_list_before(self, at: int, end: int) -> None:
        """Let "free" speak of the list before it too: "milk, egg and nut free", alone in its sentence.

        Where more follows ("milk, egg and nut free cake"), the first names may be ingredients: they are checked.
        """
        text, found = self.text, self.found
        first_word, start = sentence_start(text.parts, at), at
        while start > first_word and not any(mark in OPENERS for mark in text.parts[2 * start]):
            start -= 1
        if start == at or not text.only_names(start, at):
            return
        ends_here = any(mark in CLOSERS for mark in text.parts[2 * end]) or sentence_start(text.parts, end) == end
        alone = end == len(text.tokens) or ends_here
        kept: list[Place] = []
        while found and found[-1][0] >= start:
            first, last, flag, tier = found.pop()
            kept.append((first, last, flag, "check_label" if tier == "contains" else tier))
        if alone:
            return
        found += reversed(kept)
        for first, last in self.denied:
            if start <= first < at:
                self.raise_named(first, last, "check_label")

    def _is_declared(self, at: int) -> bool:
        """Whether the sentence that a word stands in begins with "contains"."""
        entry, _ = self.text.longest(sentence_start(self.text.parts, at))
        return entry is not None and entry.role == DECLARATION


def _is_answered_no(text: PhrasedText, end: int) -> bool:
    """Whether a claim is one of a table that says no to it: "nut free: no"."""
    return text.tokens[end : end + 1] == ["no"] and text.parts[2 * end].strip() in (":", "?", "-", "=", "|")


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


def denied_until(text: PhrasedText, start: int, *, listing: bool) -> int:
    """The word after what a denial covers.

    Always the food named straight after, and what is linked to it by "or" or "and". A list with commas is
    covered only if nothing but names of allergens and the like stand in it up to the end of the sentence or
    bracket; otherwise what comes after the comma counts as ingredients. Without ``listing``, as after a bare
    "no", the last of the list must be linked too.
    """
    if start >= len(text.tokens) or text.parts[2 * start].strip() not in _AFTER_A_DENIAL:
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
    if listing and entry.claim and not entry.neutral and text.only_names(here, text.ends()[here], run_on=True):
        return text.ends()[here]
    neutral, lists = entry.neutral, listing
    if neutral:
        listing = False
    covered = here = _same_food_until(text, entry, end)
    if lists and not neutral and (whole := _list_until(text, entry, here)):
        return whole
    for _ in range(FURTHEST_LOOK):
        if here >= len(text.tokens):
            return here if listing else covered
        separator = text.parts[2 * here].strip()
        if separator and separator[0] in ".;)]}!>":
            return here if listing else covered
        if here in text.apart:
            return covered
        if _goes_on(text, here, after_and=lists):
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


def _list_until(text: PhrasedText, entry: Entry, here: int) -> int:
    """The end of a list in another language than English that fills its sentence, its last name linked, or 0.

    ``entry``: its first name, which ends before ``here``: "frei von Milch, Ei und Soja".
    """
    ends = text.ends()[here - 1]
    linked = False
    while here < ends and _names_allergen(entry):
        linked = text.tokens[here] in text.words.or_nor or text.tokens[here] in text.words.and_of_list
        if linked and not (is_gap(text.parts[2 * here]) and is_gap(text.parts[2 * here + 2])):
            return 0
        if not linked and text.parts[2 * here].strip() != ",":
            return 0
        here += linked
        following, end = text.longest(here)
        if following is None:
            return 0
        entry, here = following, end
    return here if linked and here == ends and _names_allergen(entry) else 0


def _goes_on(text: PhrasedText, here: int, *, after_and: bool) -> bool:
    """Whether a word is the "or" or "nor" of another language, or its "and" too, between two words: "sans lait ni œuf"."""
    links = text.tokens[here] in text.words.or_nor or (after_and and text.tokens[here] in text.words.and_of_list)
    if not links or here + 1 >= len(text.tokens):
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
