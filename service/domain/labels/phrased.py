"""A label's words with the phrases that begin at them: the longest one at a place, and lists of nothing but names."""

from collections.abc import Iterator, Sequence
from typing import Final

from service.domain.labels.cut_text import (
    FURTHEST_LOOK,
    LINKS,
    CutText,
    is_gap,
    sentence_end,
    sentence_start,
)
from service.domain.labels.spelling import look_at_unknown
from service.domain.labels.words import Entry, LabelWords, Node

FILLERS: Final = frozenset({"any", "added", "the", "a", "artificial", "of", "from", "traces", "trace", "all"})
"""Words that may stand before or between the names of allergens in a list of them."""
_OF_IT: Final = frozenset({"ingredient", "ingredients", "product", "products", "derivatives"})


_NO_ONE_OF: Final = tuple(
    [word] for word in ("product", "item", "food", "dish", "part", "kitchen", "bakery", "factory", "facility", "recipe")
)


class PhrasedText(CutText):
    """A text whose words have been looked up: ``nodes`` are where each word stands in the tree of phrases.

    Words are numbered from 0; from one word "to" another leaves out the last, as in a slice.
    """

    __slots__ = ("nodes",)

    def __init__(self, words: LabelWords, folded: str) -> None:
        super().__init__(words, folded)
        first = words.first
        try:
            self.nodes: list[Node | None] = list(map(first.__getitem__, self.tokens))
        except KeyError:
            self.nodes = [first[token] if token in first else look_at_unknown(words, token) for token in self.tokens]

    def read_as_other_words(self) -> None:
        """Put misspelt words right and cut run-together ones, keeping their places in the text."""
        parts = [self.parts[0]]
        tokens: list[str] = []
        for at, node in enumerate(self.nodes):
            after = self.parts[2 * at + 2]
            pieces = node.entry.pieces if node is not None and node.entry is not None else ()
            if len(pieces) > 1:
                for printed in _cut_alike(self.parts[2 * at + 1], pieces):
                    parts += (printed, "")
                parts[-1] = after
                tokens += pieces
            else:
                parts += (self.parts[2 * at + 1], after)
                tokens.append(pieces[0] if pieces else self.tokens[at])
        self.parts, self.tokens = parts, tokens
        self._settle_marks()
        self.nodes = [self.words.first.get(token) for token in tokens]

    def longest(self, at: int) -> tuple[Entry | None, int]:
        """The longest phrase that starts at a word, and the word after it."""
        node = self.nodes[at]
        if node is None:
            return None, at + 1
        entry, end = node.entry, at + 1
        following = node.next
        crossed = False
        here = at
        while following is not None:
            here += 1
            if here >= len(self.tokens):
                break
            next_node = following.get(self.tokens[here])
            if next_node is None or not is_gap(self.parts[2 * here]):
                break
            crossed = crossed or here in self.apart
            if next_node.entry is not None and not (crossed and next_node.entry.looks_like):
                entry, end = next_node.entry, here + 1
            following = next_node.next
        return entry, end

    def doubts_denials(self, at: int) -> bool:
        """Whether the sentence a word stands in says "not", "never" and the like, other than of what it does not contain.

        Then what it calls free of something may not be: "not made in a nut-free factory".
        """
        tokens, words = self.tokens, self.words
        if words.doubting.isdisjoint(tokens) and "no" not in tokens:
            return False
        start = sentence_start(self.parts, at)
        end = min(sentence_end(self.parts, at), at + FURTHEST_LOOK)
        assured = any(token.startswith("guarantee") for token in tokens[start:end])
        for here in range(start, end):
            if tokens[here] in words.doubting:
                after = here + 1 + (tokens[here + 1 : here + 2] == ["t"])
                if after >= end or tokens[after] not in words.denying:
                    return True
            elif tokens[here] == "no" and (assured or tokens[here + 1 : here + 2] in _NO_ONE_OF):
                return True
        return False

    def item_ends(self, end: int) -> bool:
        """Whether an item of a list ends before a word: at a comma or the like, at "and", with the text."""
        if end >= len(self.tokens):
            return True
        separator = self.parts[2 * end].strip()
        return separator not in ("", "-", "'") or self.tokens[end] in LINKS

    def only_names(self, start: int, end: int, *, run_on: bool = False) -> bool:
        """Whether all words from one place to another are names of allergens and what links them.

        ``run_on``: without commas too ("milk egg nuts").
        """
        here = start
        while here < end:
            if self.tokens[here] in LINKS or self.tokens[here] in FILLERS:
                here += 1
                continue
            entry, after = self.longest(here)
            while after < end and self.tokens[after] in _OF_IT and is_gap(self.parts[2 * after]):
                after += 1
            if entry is None or not entry.claim or not (run_on or after == end or self.item_ends(after)):
                return False
            here = after
        return here == end


def _cut_alike(printed: str, pieces: Sequence[str]) -> Iterator[str]:
    """The printed letters of each piece of a run-together word, which a line break may cut as well."""
    start = 0
    for piece in pieces[:-1]:
        end, letters = start, 0
        while letters < len(piece) and end < len(printed):
            letters += printed[end].isalnum()
            end += 1
        yield printed[start:end]
        start = end
    yield printed[start:]
