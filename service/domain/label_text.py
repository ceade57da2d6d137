"""Reads a label: which allergens its words name, warn of, or may stand for, and where.

Rules, in the order they apply: letters are folded; phrases win over single words, the longest first, so
that "coconut milk" is no milk; only the words of such a false friend are taken out, "coconut milk
(contains sodium caseinate)" is still milk. What a label denies ("free from", "egg-free") raises nothing
and clears nothing. After "may contain", "traces of" or "made in a factory that" everything up to the end
of the sentence or the bracket is a warning. Words that may stand for an allergen are raised for checking.
Claims such as lactose-free, vegan or gluten-free clear nothing. No text is no answer: without an
ingredient statement every allergen stays unknown.

The work grows evenly with the length of the text: phrases are short, and looking around is bounded.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate
from operator import add
from typing import Final, Literal, NamedTuple

from service.domain.label_spelling import fold, look_at_unknown
from service.domain.label_words import (
    DECLARATION,
    HEADING,
    NEGATION,
    PIECES,
    PRECAUTION,
    TOKEN,
    Entry,
    Flag,
    LabelWords,
    Node,
    Tier,
)

Field = Literal["ingredients", "contains", "precaution"]

FURTHEST_LOOK: Final = 40
"""How many words are looked at around a word, for a list of oils, a source in brackets, a list of denials."""

_GAPS: Final = frozenset({" ", "-", "", "'", "  ", "- ", " -", "\n", " \n", "\r\n", "\t", "' ", "-\n", "- \n", "   "})
_LINKS: Final = frozenset({"and", "or", "&", "nor"})
_RELATIVE: Final = frozenset({"that", "which", "who", "may", "also", "not", "foods", "products"})
_FILLERS: Final = frozenset({"any", "added", "the", "a", "artificial", "of", "from", "traces", "trace", "all"})
_SAYS: Final = frozenset({"contains", "contain", "from"})
_OPENERS: Final = "([{<"
_CLOSERS: Final = ")]}>"
_MISSING: Final = Node()

_WARNED = "Named in a warning (may contain, traces, or made on shared equipment)."


class LabelEvidence(NamedTuple):
    """One place on the label: the allergen, how sure, the words as printed and where they stand.

    ``start`` and ``end`` count letters in the text of ``field`` as given.
    """

    allergen: str
    tier: Tier
    words: str
    field: Field
    start: int
    end: int
    reason: str


@dataclass(frozen=True, slots=True)
class LabelReading:
    """All evidence on one label, in reading order, and whether there was an ingredient statement."""

    evidence: tuple[LabelEvidence, ...]
    has_ingredients: bool

    def of_tier(self, tier: Tier) -> frozenset[str]:
        """The allergen ids with evidence of a tier."""
        return frozenset(row.allergen for row in self.evidence if row.tier == tier)

    @property
    def contains(self) -> frozenset[str]:
        """Ids that the label says the food contains."""
        return self.of_tier("contains")

    @property
    def may_contain(self) -> frozenset[str]:
        """Ids the label warns of."""
        return self.of_tier("may_contain")

    @property
    def check_label(self) -> frozenset[str]:
        """Ids that some words may stand for."""
        return self.of_tier("check_label")


def read_label(
    words: LabelWords, ingredients: str | None, contains: str | None = None, precaution: str | None = None
) -> LabelReading:
    """Read an ingredient statement and, where printed apart, the contains statement and the warning.

    Blank or missing ingredients give ``has_ingredients = False``: then nothing is known of what is not named.
    """
    evidence: list[LabelEvidence] = []
    has_ingredients = ingredients is not None and not ingredients.isspace() and ingredients != ""
    if ingredients:
        _Reader(words, ingredients, "ingredients").read(evidence)
    if contains:
        _Reader(words, contains, "contains").read(evidence)
    if precaution:
        _Reader(words, precaution, "precaution").read(evidence)
    return LabelReading(tuple(evidence), has_ingredients)


def is_gap(separator: str) -> bool:
    """Whether what stands between two words lets them belong together (spaces, a hyphen, an apostrophe)."""
    if separator in _GAPS:
        return True
    marks = separator.strip()
    if marks in ("", "'"):
        return True
    return marks == "-" and not (separator[0].isspace() and separator[-1] in " \t")


class _Reader:
    """Reads one text; made for one use."""

    __slots__ = ("ends", "field", "first", "found", "nodes", "parts", "places", "text", "tokens", "until", "words")

    def __init__(self, words: LabelWords, text: str, field: Field) -> None:
        self.words = words
        self.text = text
        self.field = field
        folded, self.places = fold(text)
        self.parts: list[str] = TOKEN.split(folded)
        self.tokens: list[str] = self.parts[1::2]
        self.until = 0
        """The word before which a running warning ends; the whole text for a warning field."""
        self.ends: list[int] | None = None
        self.found: list[tuple[int, int, Flag, Tier]] = []
        self.first = words.first
        self.nodes: list[Node | None] = []

    def read(self, evidence: list[LabelEvidence]) -> None:
        if not self.words.broken.isdisjoint(map(add, self.tokens, self.tokens[1:])):
            self._mend_broken()
        self._look_up()
        if self.field == "precaution":
            self.until = len(self.tokens)
        self._scan()
        if self.found:
            self._write(evidence)

    def _look_up(self) -> None:
        get = self.first.get
        nodes = [get(token, _MISSING) for token in self.tokens]
        run_together = not self.words.run_together.isdisjoint(self.tokens)
        if _MISSING in nodes:
            for at, node in enumerate(nodes):
                if node is _MISSING:
                    found = nodes[at] = look_at_unknown(self.words, self.tokens[at])
                    if found is not None and found.entry is not None and found.entry.pieces:
                        run_together = True
        self.nodes = nodes
        if run_together:
            self._cut_run_together()

    def _mend_broken(self) -> None:
        """Join two neighbours that make one known word where a space or a line break split it."""
        parts = self.parts
        tokens = self.tokens
        broken = self.words.broken
        mended_parts = [parts[0]]
        mended_tokens: list[str] = []
        at = 0
        while at < len(tokens):
            part, token = parts[2 * at + 1], tokens[at]
            if at + 1 < len(tokens) and token + tokens[at + 1] in broken and is_gap(parts[2 * at + 2]):
                at += 1
                part, token = part + parts[2 * at] + parts[2 * at + 1], token + tokens[at]
            mended_parts += (part, parts[2 * at + 2])
            mended_tokens.append(token)
            at += 1
        self.parts, self.tokens = mended_parts, mended_tokens

    def _cut_run_together(self) -> None:
        parts = [self.parts[0]]
        tokens: list[str] = []
        for at, node in enumerate(self.nodes):
            cut = node.entry.pieces if node is not None and node.entry is not None else ()
            for piece in cut:
                tokens.append(piece)
                parts += (piece, "")
            if cut:
                parts[-1] = self.parts[2 * at + 2]
            else:
                tokens.append(self.tokens[at])
                parts += (self.parts[2 * at + 1], self.parts[2 * at + 2])
        self.parts, self.tokens = parts, tokens
        get = self.first.get
        self.nodes = [get(token) for token in tokens]

    def _longest(self, at: int) -> tuple[Entry | None, int]:
        """The longest phrase that starts at a word, and the word after it."""
        node = self.nodes[at]
        if node is None:
            return None, at + 1
        entry, end = node.entry, at + 1
        following = node.next
        here = at
        while following is not None:
            here += 1
            if here >= len(self.tokens):
                break
            next_node = following.get(self.tokens[here])
            if next_node is None or not is_gap(self.parts[2 * here]):
                break
            if next_node.entry is not None:
                entry, end = next_node.entry, here + 1
            following = next_node.next
        return entry, end

    def _scan(self) -> None:
        done = 0
        count = len(self.tokens)
        append = self.found.append
        for at, node in enumerate(self.nodes):
            if node is None or at < done:
                continue
            if node.next is None:
                entry, end = node.entry, at + 1
            else:
                entry, end = self._longest(at)
            if entry is None:
                continue
            done = end
            if entry.role:
                done = self._turn(entry, at, end)
                continue
            if entry.claim and end < count and self._is_denied_later(at, end):
                continue
            warned = at < self.until
            if entry.simple:
                if warned:
                    for flag in entry.flags:
                        append((at, end, flag, "may_contain" if flag.tier == "contains" else flag.tier))
                else:
                    for flag in entry.flags:
                        append((at, end, flag, flag.tier))
            else:
                for flag in entry.flags:
                    tier = self._weighed(flag, at, end)
                    if tier is not None:
                        append((at, end, flag, "may_contain" if warned and tier == "contains" else tier))
            if entry.looks_like and self.field == "contains":
                self._doubt(entry, at, end)

    def _turn(self, entry: Entry, at: int, end: int) -> int:
        """Follow a phrase that turns what comes after it; gives the word to go on from."""
        role = entry.role
        if role == NEGATION:
            return self._denied_until(end)
        if self.field == "precaution" or role == PIECES:
            return end
        if role == PRECAUTION:
            if end > self.until:
                self.until = self._region_end(end - 1)
        elif at < self.until and (
            (role == DECLARATION and (at == 0 or self.tokens[at - 1] not in _RELATIVE))
            or (role == HEADING and ":" in self.parts[2 * end])
        ):
            self.until = at
        return end

    def _region_end(self, at: int) -> int:
        """Where a warning that is running at a word ends: sentence, or the bracket it stands in."""
        if self.ends is None:
            self.ends = _region_ends(self.parts, len(self.tokens))
        return self.ends[at]

    def _weighed(self, flag: Flag, at: int, end: int) -> Tier | None:
        """The tier of a flag that depends on what stands around it, or nothing where that answers it."""
        if flag.use == "unqualified":
            bare = at == 0 or not is_gap(self.parts[2 * at]) or self.tokens[at - 1] in self.words.unqualifying
            return flag.tier if bare else "check_label"
        if flag.use == "oil_source":
            return "check_label" if self._in_oil_list(at, end) else flag.tier
        if flag.use == "additive_number":
            return flag.tier if self._after_additive_class(at) else None
        if flag.answered_by == "source" and self._brackets_name_source(end):
            return None
        if flag.answered_by == "ingredients" and self._brackets_hold_list(end):
            return None
        return flag.tier

    def _in_oil_list(self, at: int, end: int) -> bool:
        """Whether a crop is one of a list of oils: "soybean and palm oil", "vegetable oil (corn, soybean)"."""
        return self._oil_follows(at, end) or self._in_brackets_after_oil(at)

    def _oil_follows(self, at: int, end: int) -> bool:
        words = self.words
        comma_seen = link_since_comma = False
        for here in range(end, min(len(self.tokens), end + FURTHEST_LOOK)):
            separator = self.parts[2 * here].strip()
            token = self.tokens[here]
            if separator == ",":
                if self.tokens[at] != "soybean":
                    return False
                comma_seen, link_since_comma = True, False
            elif separator not in ("", "/", "-", "*"):
                return False
            link_since_comma = link_since_comma or token in _LINKS or separator == "/"
            if token in words.oil_words:
                return link_since_comma or not comma_seen
            if token not in words.oil_list:
                return False
        return False

    def _in_brackets_after_oil(self, at: int) -> bool:
        if at > 0 and self.tokens[at - 1] in _SAYS and self.tokens[at] != "soybean":
            return False
        depth = 0
        for here in range(at, max(0, at - FURTHEST_LOOK), -1):
            for mark in reversed(self.parts[2 * here]):
                if mark in _CLOSERS:
                    depth += 1
                elif mark in _OPENERS:
                    if depth == 0:
                        return self.tokens[here - 1] in self.words.oil_words
                    depth -= 1
                elif depth == 0 and mark == ":" and self.tokens[here - 1] in self.words.oil_words:
                    return True
                elif depth == 0 and mark in ".;":
                    return False
        return False

    def _after_additive_class(self, at: int) -> bool:
        for here in range(at, max(0, at - 8), -1):
            if "." in self.parts[2 * here]:
                return False
            if self.tokens[here - 1] in self.words.additive_classes:
                return True
        return False

    def _brackets_name_source(self, end: int) -> bool:
        return any(self.tokens[here] in self.words.sources_named for here in self._bracketed(end))

    def _brackets_hold_list(self, end: int) -> bool:
        inside = self._bracketed(end)
        return any("," in self.parts[2 * here] for here in inside[1:])

    def _bracketed(self, end: int) -> Sequence[int]:
        """The words in brackets that open straight after a word."""
        opening = self.parts[2 * end].strip()
        if end >= len(self.tokens) or not opening or opening[0] not in _OPENERS:
            return ()
        depth = sum(mark in _OPENERS for mark in opening) - sum(mark in _CLOSERS for mark in opening)
        if depth <= 0:
            return ()
        last = end + 1
        while last < min(len(self.tokens), end + FURTHEST_LOOK):
            for mark in self.parts[2 * last]:
                depth += (mark in _OPENERS) - (mark in _CLOSERS)
                if depth <= 0:
                    return range(end, last)
            last += 1
        return range(end, last)

    def _is_denied_later(self, at: int, end: int) -> bool:
        """Whether "free" comes after a link: "gluten and dairy free", "peanut/tree nut free"."""
        here = end
        for _ in range(6):
            if here >= len(self.tokens):
                return False
            if self.tokens[here] in _LINKS and is_gap(self.parts[2 * here]):
                here += 1
            elif self.parts[2 * here].strip() != "/":
                return False
            if here >= len(self.tokens):
                return False
            entry, after = self._longest(here)
            if entry is None:
                return False
            if self.tokens[after - 1] == "free" and not entry.flags and not entry.role:
                return True
            if not entry.claim:
                return False
            here = after
        return False

    def _denied_until(self, start: int) -> int:
        """The word after what a denial covers.

        Always the food named straight after, and what is linked to it by "or" or "and". A list with
        commas is covered only if nothing but names of allergens and the like stand in it up to the end of
        the sentence or bracket; otherwise what comes after the comma counts as ingredients.
        """
        here = start
        while here < len(self.tokens) and self.tokens[here] in _FILLERS and here < start + 4:
            here += 1
        if here >= len(self.tokens) or self.parts[2 * start].strip() not in ("", ":", "-"):
            return start
        entry, end = self._longest(here)
        if entry is None or entry.role:
            return start
        covered = end
        here = end
        for _ in range(FURTHEST_LOOK):
            if here >= len(self.tokens):
                return here
            separator = self.parts[2 * here].strip()
            if separator and separator[0] in ".;)]}!>":
                return here
            linked = separator == ""
            if self.tokens[here] in _LINKS and separator in ("", ","):
                here += 1
            elif separator not in (",", "/"):
                break
            if here >= len(self.tokens):
                break
            entry, end = self._longest(here)
            if entry is None or not entry.claim or not self._item_ends(end):
                break
            here = end
            if linked:
                covered = end
        return covered

    def _item_ends(self, end: int) -> bool:
        if end >= len(self.tokens):
            return True
        separator = self.parts[2 * end].strip()
        return separator not in ("", "-", "'") or self.tokens[end] in _LINKS

    def _doubt(self, entry: Entry, at: int, end: int) -> None:
        raised = {flag.allergen for flag in entry.flags}
        for allergen in entry.looks_like:
            if allergen not in raised:
                reason = "In a statement of allergens these words may name two foods."
                self.found.append((at, end, Flag(allergen, "check_label", reason), "check_label"))

    def _write(self, evidence: list[LabelEvidence]) -> None:
        offsets = list(accumulate(map(len, self.parts)))
        text, places, field = self.text, self.places, self.field
        for at, end, flag, tier in self.found:
            start, stop = offsets[2 * at], offsets[2 * end - 1]
            if places is not None:
                start, stop = places[start], places[stop - 1] + 1
            reason = _WARNED if tier == "may_contain" else flag.reason
            evidence.append(LabelEvidence(flag.allergen, tier, text[start:stop], field, start, stop, reason))


def _region_ends(parts: Sequence[str], count: int) -> list[int]:
    """For every word, the word before which a warning running there ends."""
    sentence = [count] * (count + 1)
    following = count
    for at in range(count - 1, -1, -1):
        if _ends_sentence(parts, at, count):
            following = at + 1
        sentence[at] = following
    bracket = [count] * count
    open_words: list[list[int]] = [[]]
    for at in range(count):
        for mark in parts[2 * at]:
            if mark in _OPENERS:
                open_words.append([])
            elif mark in _CLOSERS:
                for inner in open_words.pop():
                    bracket[inner] = at
                if not open_words:
                    open_words.append([])
        open_words[-1].append(at)
    return [min(sentence[at], bracket[at]) for at in range(count)]


def _ends_sentence(parts: Sequence[str], at: int, count: int) -> bool:
    """Whether a sentence ends after a word; a point between digits or in "U.S." ends none."""
    separator = parts[2 * at + 2]
    if not separator or separator == " ":
        return False
    if ";" in separator or "!" in separator or "\n\n" in separator or ">>" in separator or "|" in separator:
        return True
    if "." not in separator:
        return False
    if separator != ".":
        return True
    word, following = parts[2 * at + 1], parts[2 * at + 3] if at + 1 < count else ""
    return not ((word.isdigit() and following.isdigit()) or (len(word) == 1 and len(following) == 1))
