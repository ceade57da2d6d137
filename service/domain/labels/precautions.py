"""Which words of a label a warning covers: "may contain ...", "cannot guarantee ...", "... may be present".

A label does not say where its warning ends and its ingredients go on. Both mistakes are bad: a warning taken too far
makes an ingredient a mere trace, one cut too short makes a trace an ingredient. So a warning runs to the end of its
sentence or bracket, and ends earlier only where something tells that ingredients follow.
"""

from typing import Final

from service.domain.labels.cut_text import (
    CLOSERS,
    FURTHEST_LOOK,
    LINKS,
    OPENERS,
    begins_list,
    is_list_mark,
    next_colons,
    sentence_start,
)
from service.domain.labels.evidence import Place
from service.domain.labels.phrased import PhrasedText
from service.domain.labels.words import DECLARATION, HEADING

_WARNING_GOES_ON: Final = frozenset({"that", "which", "who", "may", "also", "not", "foods", "products"})
"""Words before "contain" that make it a part of the warning: "made near foods that contain milk"."""
_KITCHENS: Final = frozenset({"kitchen", "bakery", "bakehouse", "dairy"})
_WITH: Final = frozenset({"with", "using", "from"})
_ONE_OR_MORE: Final = frozenset({"one", "or", "more"})
_DASHES: Final = frozenset({" - ", " -- "})
_LISTS: Final = frozenset({"contains", "contain", "ingredients", "ingredient", "allergens"})
"""Words before a colon after which names are what the food holds, whatever comes after them."""


class Precautions:
    """How far the warnings of one text reach; told of each phrase that begins or ends one, in reading order.

    ``found``: what the text raised so far, shared with its reader: "may be present" turns what was raised before it
    into a warning. ``whole``: the text is a warning printed apart, from its first word to its last.
    """

    __slots__ = ("_colons", "doubtful", "found", "text", "unsure", "until")

    def __init__(self, text: PhrasedText, found: list[Place], *, whole: bool) -> None:
        self.text = text
        self.found = found
        self.until = len(text.tokens) if whole else 0
        """The word before which the warning that runs now ends."""
        self.doubtful = 0
        """The word before which nothing is denied: the end of what "cannot guarantee" speaks of."""
        self.unsure = 0
        """The word before which ingredients and a warning cannot be told apart."""
        self._colons: list[int] = []

    def warn_of_what_follows(self, at: int, end: int) -> None:
        """Begin a warning at "may contain" or the like, which stands from one word to another."""
        text = self.text
        if _is_how_it_was_made(text, at, end):
            return
        if self._is_a_row_of_a_table(at, end) and self._warn_of_what_was_named(at, across=1):
            return
        if end <= self.until:
            return
        self.until = self._region_end(end - 1)
        in_a_list = "," in text.parts[2 * at] and sentence_start(text.parts, at) < at
        if in_a_list and not text.only_names(end, self.until):
            # "Rice (water, may contain: milk, nuts, sugar": as the bracket never ends, nuts may be of either list.
            if text.is_in_unclosed_bracket(at) and ":" in text.parts[2 * end]:
                self.unsure = self.until
            self.until = self._first_item_end(end, self.until)
        else:
            self.until = self._before_ingredients(at, end, self.until)

    def doubt_what_follows(self, end: int) -> None:
        """Begin a warning after "cannot guarantee" or the like in which nothing is denied either."""
        self.until = self.doubtful = max(self.until, self._region_end(end - 1))

    def warn_afterwards(self, at: int, end: int) -> None:
        """Follow "may be present" or the like: names come before it, or after it where it does not fit so."""
        if opens_list(self.text, end):
            self.until = max(self.until, self._region_end(end))
        elif not self._warn_of_what_was_named(at) and not _is_how_it_was_made(self.text, at, end):
            # "Packed in our bakery with milk": the names come after it.
            self.until = max(self.until, self._before_ingredients(at, end, self._region_end(end - 1)))

    def end_before(self, role: int, at: int, end: int) -> None:
        """End the warning before "contains" or "ingredients:", unless that is a part of it ("foods that contain")."""
        if at >= self.until:
            return
        parts, tokens = self.text.parts, self.text.tokens
        if role == DECLARATION:
            ends = at == 0 or tokens[at - 1] not in _WARNING_GOES_ON
        else:
            ends = role == HEADING and (":" in parts[2 * end] or _is_a_line(self.text, at, end))
        if ends:
            self.until = at

    def end_at_heading(self, end: int) -> None:
        """Let a warning that has named something, up to a word, end before the next heading ("cookies: wheat flour")."""
        # No colons were looked for where no warning began within the text: one printed apart has no ingredients after.
        if self._colons and end < len(self.text.tokens):
            heading = self._colons[end]
            self.until = min(self.until, heading + 1 if heading < len(self.text.tokens) else heading)

    def _region_end(self, at: int) -> int:
        """Where a warning whose last word is given ends: with the sentence, or the bracket it stands in.

        What separates items of a list ends it only if something else than names of allergens follows
        ("may contain tree nuts; peanuts", but "may contain milk; wheat flour, sugar").
        """
        text = self.text
        parts, count = text.parts, len(text.tokens)
        ends = text.ends()
        if not self._colons:
            self._colons = next_colons(parts, count)
        end = ends[at]
        # "May contain | nuts": what seems to end the sentence straight after the phrase only opens its list.
        if end == at + 1 < count and begins_list(parts[2 * end]):
            end = ends[end]
        furthest = end + FURTHEST_LOOK
        while end < min(count, furthest) and is_list_mark(parts[2 * end]):
            further = ends[end]
            if not text.only_names(end, further):
                break
            end = further
        return end

    def _first_item_end(self, start: int, furthest: int) -> int:
        """Where the first item after a warning within a list of ingredients ends: "rice, may contain nuts, sugar"."""
        here = start + 1
        while here < furthest and "," not in self.text.parts[2 * here]:
            here += 1
        return min(here, furthest)

    def _before_ingredients(self, at: int, start: int, end: int) -> int:
        """Where a warning ends that a list of ingredients runs on from in the same sentence: with its first item.

        "May contain nuts: sugar, butter" and "packed where nuts are handled, almonds, milk" are such; a sentence with
        nothing that only a list of ingredients names ("a plant that handles nuts, milk and fruit") is about the place.
        """
        text = self.text
        tokens, words = text.tokens, text.words
        # A comma straight after the phrase ("nuts are handled, almonds") parts it from the list, which begins there.
        first = start if "," in text.parts[2 * start] else start + 1
        furthest = min(end, first + FURTHEST_LOOK)
        while first < furthest and not _item_begins(text, first):
            first += 1
        if first >= furthest or _in_brackets(text, at) or _ONE_OR_MORE.issubset(tokens[at:first]):
            return end
        later = tokens[first : min(end, first + FURTHEST_LOOK)]
        if not words.only_in_lists.isdisjoint(later):
            return first
        # "... nuts are handled, almonds, milk": the verb ends what is said of the place, so a list follows, unless
        # another verb or an "and" says more of the place ("handled, packed and stored").
        verb = tokens[first - 1] in words.done_at_places
        return first if verb and words.done_at_places.isdisjoint(later) and LINKS.isdisjoint(later) else end

    def _is_a_row_of_a_table(self, at: int, end: int) -> bool:
        """Whether "may contain" says it of the name before a colon alone: "egg: may contain; nuts: contains"."""
        named = bool(self.found) and self.found[-1][1] == at
        return named and ":" in self.text.parts[2 * at] and self.text.ends()[end - 1] == end

    def _warn_of_what_was_named(self, at: int, across: int = 0) -> bool:
        """Take what stands before "may be present" in its sentence for a warning, if that is only names.

        Gives whether the phrase is done with: so it is too after "contains:", where the names stay what the food holds.
        ``across``: how many words before it are taken whatever mark parts them from it.
        """
        text, found = self.text, self.found
        start, furthest = max(0, at - across), max(0, at - FURTHEST_LOOK)
        while start > furthest and not any(mark in text.parts[2 * start] for mark in ".;:!\n("):
            start -= 1
        if start and ":" in text.parts[2 * start] and text.tokens[start - 1] in _LISTS:
            return True
        if start == at or not text.only_names(start, at):
            return False
        for place in range(len(found) - 1, -1, -1):
            first, end, flag, tier = found[place]
            if first < start:
                break
            if tier == "contains":
                found[place] = (first, end, flag, "may_contain")
        return True


def opens_list(text: PhrasedText, end: int) -> bool:
    """Whether a colon after a phrase opens a list: "may be present: milk". One that ends the text opens none."""
    return end < len(text.tokens) and ":" in text.parts[2 * end]


def _is_how_it_was_made(text: PhrasedText, at: int, end: int) -> bool:
    """Whether ingredients follow: "made in our kitchen with milk and eggs"."""
    if "packed" in text.tokens[max(0, at - 1) : end]:
        return False
    if end >= len(text.tokens) or text.tokens[end - 1] not in _KITCHENS:
        return False
    return text.tokens[end] in _WITH or opens_list(text, end)


def _item_begins(text: PhrasedText, at: int) -> bool:
    """Whether a comma, a colon, a line or a dash parts a word from the one before it, as items of a list are parted."""
    separator = text.parts[2 * at]
    return "," in separator or ":" in separator or at in text.apart or separator in _DASHES


def _in_brackets(text: PhrasedText, at: int) -> bool:
    """Whether a word stands in brackets, as far as the words looked at."""
    depth = 0
    for here in range(at, max(-1, at - FURTHEST_LOOK), -1):
        for mark in reversed(text.parts[2 * here]):
            if mark in CLOSERS:
                depth += 1
            elif mark in OPENERS:
                if depth == 0:
                    return True
                depth -= 1
    return False


def _is_a_line(text: PhrasedText, at: int, end: int) -> bool:
    """Whether words are a line of their own: "Ingredients" over a list with one item a line."""
    return "\n" in text.parts[2 * end] and (at == 0 or "\n" in text.parts[2 * at])
