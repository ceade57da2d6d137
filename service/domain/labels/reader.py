"""Reads a label: which allergens its words name, warn of, or may stand for, and where.

Rules, in the order they apply: letters are folded; phrases win over single words, the longest first, so
that "coconut milk" is not milk; only the words of such a false friend are removed, "coconut milk
(contains sodium caseinate)" is still milk. What a label denies ("free from", "egg-free") raises nothing
and clears nothing. After "may contain", "traces of" or "made in a factory that" everything up to the end
of the sentence or the bracket is a warning. Words that may stand for an allergen are raised for checking.
Claims such as lactose-free or vegan clear nothing; "vegan cheese" is raised for checking. No text is no
answer: without an ingredient statement every allergen stays unknown.

The work grows evenly with the length of the text: phrases are short, and looking around is bounded.
"""

from collections.abc import Iterator, Sequence
from itertools import accumulate
from typing import Final

from service.domain.labels.context import (
    BREAKS,
    FURTHEST_LOOK,
    LINKS,
    CutText,
    begins_list,
    is_gap,
    is_list_mark,
    next_colons,
    places_apart,
    region_ends,
)
from service.domain.labels.evidence import Field, LabelEvidence, LabelReading
from service.domain.labels.readable import Seen, count_known
from service.domain.labels.spelling import fold, look_at_unknown
from service.domain.labels.words import (
    AFTERWARDS,
    CAUTION,
    DECLARATION,
    HEADING,
    NEGATION,
    PIECES,
    PRECAUTION,
    Entry,
    Flag,
    LabelWords,
    Node,
    Tier,
)

MOST_PLACES: Final = 50
"""How many places are kept for one allergen and tier in one text; the rest are counted."""
_THINNED_AT: Final = 4_000
"""After how many words the places beyond the most are counted and dropped."""

_RELATIVE: Final = frozenset({"that", "which", "who", "may", "also", "not", "foods", "products"})
_KITCHENS: Final = frozenset({"kitchen", "bakery", "bakehouse", "dairy"})
_WITH: Final = frozenset({"with", "using", "from"})
_FILLERS: Final = frozenset({"any", "added", "the", "a", "artificial", "of", "from", "traces", "trace", "all"})

_OF_IT: Final = frozenset({"ingredient", "ingredients", "product", "products", "derivatives"})
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

_WARNED = "Named in a warning (may contain, traces, or made on shared equipment)."


def read_label(
    words: LabelWords, ingredients: str | None, contains: str | None = None, precaution: str | None = None
) -> LabelReading:
    """Read an ingredient statement and, where printed apart, the contains statement and the warning.

    Blank or missing ingredients give ``has_ingredients = False``: then nothing is known of what is not named.

    >>> from service.reference.labels.words import label_words
    >>> [(one.allergen, one.tier) for one in read_label(label_words(), "Contains: milk. May contain sesame.").evidence]
    [('milk', 'contains'), ('sesame', 'may_contain')]
    """
    evidence: list[LabelEvidence] = []
    has_ingredients = ingredients is not None and not ingredients.isspace() and ingredients != ""
    left_out = words_seen = unknown = 0
    readable = has_ingredients
    texts: tuple[tuple[str | None, Field], ...] = (
        (ingredients, "ingredients"),
        (contains, "contains"),
        (precaution, "precaution"),
    )
    for text, field in texts:
        if text:
            reader = _Reader(words, text, field)
            left_out += reader.read(evidence)
            seen = reader.count_words()
            words_seen += seen.words
            unknown += seen.unknown
            readable = readable and seen.readable and (seen.names_food or field != "ingredients")
    return LabelReading(tuple(evidence), has_ingredients, left_out, words_seen, unknown, readable)


class _Reader(CutText):
    """Reads one text; made for one use."""

    __slots__ = ("colons", "doubtful", "ends", "field", "found", "left_out", "nodes", "places", "text", "until")

    def __init__(self, words: LabelWords, text: str, field: Field) -> None:
        folded, self.places = fold(text)
        super().__init__(words, folded)
        self.text = text
        self.field = field
        self.until = 0
        """The word before which a running warning ends; the whole text for a warning field."""
        self.doubtful = 0
        """The word before which nothing is denied: the end of what "cannot guarantee" speaks of."""
        self.ends: list[int] | None = None
        self.colons: list[int] = []
        self.found: list[tuple[int, int, Flag, Tier]] = []
        self.left_out = 0
        self.nodes: list[Node | None] = []

    def read(self, evidence: list[LabelEvidence]) -> int:
        """Find the evidence in the text and add it to the list; gives how many places were left out."""
        self._look_up()
        if not self._scan():
            self._read_as_other_words()
            self._scan()
        if len(self.found) > MOST_PLACES:
            self._thin_out()
        if self.found:
            self._write(evidence)
        return self.left_out

    def count_words(self) -> Seen:
        """How many of the words are known, when the text has been read."""
        seen = count_known(self.words, self.tokens)
        # "Does not contain nuts" and "may contain nuts" alone are no list of ingredients; "nuts" is.
        return seen._replace(names_food=seen.names_food or any(tier == "contains" for *_, tier in self.found))

    def _look_up(self) -> None:
        words, first = self.words, self.words.first
        try:
            self.nodes = list(map(first.__getitem__, self.tokens))
        except KeyError:
            self.nodes = [first[token] if token in first else look_at_unknown(words, token) for token in self.tokens]

    def _read_as_other_words(self) -> None:
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
        self.ends, self.colons = None, []
        if self.broken:
            self.apart = places_apart(parts, tokens)
        self.found.clear()
        self.left_out = 0
        get = self.words.first.get
        self.nodes = [get(token) for token in tokens]

    def _longest(self, at: int) -> tuple[Entry | None, int]:
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

    def _scan(self) -> bool:
        """Go through all words once; false when a word has to be read as other words first."""
        self.until = len(self.tokens) if self.field == "precaution" else 0
        self.doubtful = 0
        can_be_denied_later = "free" in self.tokens
        done = 0
        tokens = self.tokens
        count = len(tokens)
        thinned = _THINNED_AT
        append = self.found.append
        for at, node in enumerate(self.nodes):
            if node is None or at < done:
                continue
            if at > thinned:
                self._thin_out()
                thinned = at + _THINNED_AT
            entry, end = node.entry, at + 1
            following = node.next
            if following is not None and end < count and tokens[end] in following:
                entry, end = self._longest(at)
            if entry is None:
                continue
            done = end
            if entry.role:
                if entry.role == PIECES:
                    return False
                done = self._turn(entry.role, at, end)
                continue
            if entry.denies is not None:
                if at < self.doubtful:
                    for flag in entry.denies.flags:
                        append((at, end, flag, "may_contain" if flag.tier == "contains" else flag.tier))
                continue
            if can_be_denied_later and entry.claim and self._is_denied_later(end):
                continue
            warned = at < self.until
            if entry.simple:
                if warned:
                    for flag in entry.flags:
                        append((at, end, flag, "may_contain" if flag.tier == "contains" else flag.tier))
                    self._end_at_heading(end)
                else:
                    for flag, tier in entry.raised:
                        append((at, end, flag, tier))
            else:
                for flag in entry.flags:
                    weighed = self.weighed(flag, at, end)
                    if weighed is not None:
                        append((at, end, flag, "may_contain" if warned and weighed == "contains" else weighed))
            if entry.looks_like and (self.field == "contains" or (self.broken and self._runs_over(at, end))):
                self._doubt(entry, at, end)
        return True

    def _turn(self, role: int, at: int, end: int) -> int:
        """Follow a phrase that turns what comes after it; gives the word to go on from."""
        if role == NEGATION and at < self.doubtful:
            return end
        if role == NEGATION:
            return self._denied_until(end, listing=end - at > 1 or self.tokens[at] not in self.words.single_denials)
        if self.field == "precaution":
            return end
        if role == PRECAUTION:
            if self._is_how_it_was_made(at, end):
                return end
            if end > self.until:
                self.until = self._region_end(end - 1)
                if at > 0 and "," in self.parts[2 * at] and not self._only_names(end, self.until):
                    self.until = self._item_end(end, self.until)
        elif role == CAUTION:
            self.until = self.doubtful = max(self.until, self._region_end(end - 1))
        elif role == AFTERWARDS and ":" in self.parts[2 * end]:
            self.until = max(self.until, self._region_end(end))
        elif role == AFTERWARDS:
            self._warn_of_what_was_named(at)
        elif at < self.until and (
            (role == DECLARATION and (at == 0 or self.tokens[at - 1] not in _RELATIVE))
            or (role == HEADING and ":" in self.parts[2 * end])
        ):
            self.until = at
        return end

    def _is_how_it_was_made(self, at: int, end: int) -> bool:
        """Whether ingredients follow: "made in our kitchen with milk and eggs"."""
        if at > 0 and self.tokens[at - 1] == "packed":
            return False
        return end < len(self.tokens) and self.tokens[end - 1] in _KITCHENS and self.tokens[end] in _WITH

    def _item_end(self, start: int, furthest: int) -> int:
        """Where the first item after a warning within a list of ingredients ends: "rice, may contain nuts, sugar"."""
        here = start + 1
        while here < furthest and "," not in self.parts[2 * here]:
            here += 1
        return min(here, furthest)

    def _warn_of_what_was_named(self, at: int) -> None:
        """Take what stands before "may be present" in its sentence for a warning, if that is only names."""
        start, furthest = at, max(0, at - FURTHEST_LOOK)
        while start > furthest and not any(mark in self.parts[2 * start] for mark in ".;!\n("):
            start -= 1
        if not self._only_names(start, at):
            return
        for place in range(len(self.found) - 1, -1, -1):
            first, end, flag, tier = self.found[place]
            if first < start:
                return
            if tier == "contains":
                self.found[place] = (first, end, flag, "may_contain")

    def _region_end(self, at: int) -> int:
        """Where a warning whose last word is given ends: with the sentence, or the bracket it stands in.

        What separates items of a list ends it only if something else than names of allergens follows
        ("may contain tree nuts; peanuts", but "may contain milk; wheat flour, sugar").
        """
        if self.ends is None:
            self.ends = region_ends(self.parts, len(self.tokens))
            self.colons = next_colons(self.parts, len(self.tokens))
        end = self.ends[at]
        if end == at + 1 < len(self.tokens) and begins_list(self.parts[2 * end]):
            end = self.ends[end]
        furthest = end + FURTHEST_LOOK
        while end < min(len(self.tokens), furthest) and is_list_mark(self.parts[2 * end]):
            further = self.ends[end]
            if not self._only_names(end, further):
                break
            end = further
        return end

    def _only_names(self, start: int, end: int) -> bool:
        """Whether all words from one place to another are names of allergens and what links them."""
        here = start
        while here < end:
            if self.tokens[here] in LINKS or self.tokens[here] in _FILLERS:
                here += 1
                continue
            entry, after = self._longest(here)
            while after < end and self.tokens[after] in _OF_IT and is_gap(self.parts[2 * after]):
                after += 1
            if entry is None or not entry.claim or not (after == end or self._item_ends(after)):
                return False
            here = after
        return here == end

    def _end_at_heading(self, end: int) -> None:
        """Let a warning that has named something end before the next heading ("cookies: wheat flour")."""
        if self.colons and end < len(self.tokens):
            heading = self.colons[end]
            self.until = min(self.until, heading + 1 if heading < len(self.tokens) else heading)

    def _is_denied_later(self, end: int) -> bool:
        """Whether "free" comes after a link: "gluten and dairy free", "peanut/tree nut free"."""
        here = end
        for _ in range(6):
            if here >= len(self.tokens):
                return False
            if self.tokens[here] in LINKS and is_gap(self.parts[2 * here]):
                here += 1
                if here >= len(self.tokens) or not is_gap(self.parts[2 * here]):
                    return False
            elif self.parts[2 * here].strip() != "/":
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

    def _denied_until(self, start: int, *, listing: bool) -> int:
        """The word after what a denial covers.

        Always the food named straight after, and what is linked to it by "or" or "and". A list with
        commas is covered only if nothing but names of allergens and the like stand in it up to the end of
        the sentence or bracket; otherwise what comes after the comma counts as ingredients. Without
        ``listing``, as after a bare "no", the last of the list must be linked too.
        """
        if start >= len(self.tokens) or self.parts[2 * start].strip() not in ("", ":", "-"):
            return start
        here = start
        while here < start + 9 and (self.tokens[here] in _FILLERS or self.tokens[here] in _ALL_OF_THEM):
            here += 1
            if here >= len(self.tokens):
                return start
            opens = self.tokens[here - 1] in _ALL_OF_THEM and self.parts[2 * here].strip() in (":", "(", "[")
            if not opens and not is_gap(self.parts[2 * here]):
                return start
        entry, end = self._longest(here)
        if entry is None or entry.role:
            return start
        neutral = entry.claim and not entry.flags
        if neutral:
            listing = False
        covered = here = self._same_food_until(entry, end)
        for _ in range(FURTHEST_LOOK):
            if here >= len(self.tokens):
                return here if listing else covered
            separator = self.parts[2 * here].strip()
            if separator and separator[0] in ".;)]}!>":
                return here if listing else covered
            if here in self.apart:
                return covered
            linked = separator == ""
            if self.tokens[here] in LINKS and separator in ("", ","):
                listing = not neutral or self.tokens[here] in ("or", "nor")
                here += 1
                if here >= len(self.tokens) or not is_gap(self.parts[2 * here]):
                    break
            elif separator not in (",", "/"):
                break
            elif neutral:
                listing = False
            entry, end = self._longest(here)
            if entry is None or not entry.claim or not self._item_ends(end):
                break
            here = end
            neutral = neutral or not entry.flags
            if linked and (listing or not neutral):
                covered = end
        return covered

    def _same_food_until(self, entry: Entry, end: int) -> int:
        """The end of a food named by several words in a row: "mozzarella cheese"."""
        named = {flag.allergen for flag in entry.flags}
        while end < len(self.tokens) and end not in self.apart and is_gap(self.parts[2 * end]):
            following, after = self._longest(end)
            if following is None or not following.flags or any(f.allergen not in named for f in following.flags):
                break
            end = after
        return end

    def _item_ends(self, end: int) -> bool:
        if end >= len(self.tokens):
            return True
        separator = self.parts[2 * end].strip()
        return separator not in ("", "-", "'") or self.tokens[end] in LINKS

    def _runs_over(self, at: int, end: int) -> bool:
        """Whether a line ends within a phrase: "rice, coconut" and "milk, salt" may be one food or two."""
        return any(not BREAKS.isdisjoint(self.parts[2 * here]) for here in range(at + 1, end))

    def _doubt(self, entry: Entry, at: int, end: int) -> None:
        raised = {flag.allergen for flag in entry.flags}
        for allergen in entry.looks_like:
            if allergen not in raised:
                reason = "These words may name two foods here."
                self.found.append((at, end, Flag(allergen, "check_label", reason), "check_label"))

    def _thin_out(self) -> None:
        """Keep the first places of each allergen and tier and count the rest."""
        seen: dict[tuple[str, Tier], int] = {}
        kept = []
        for place in self.found:
            of = place[2].allergen, place[3]
            seen[of] = seen.get(of, 0) + 1
            if seen[of] <= MOST_PLACES:
                kept.append(place)
        self.left_out += len(self.found) - len(kept)
        self.found[:] = kept

    def _write(self, evidence: list[LabelEvidence]) -> None:
        offsets = list(accumulate(map(len, self.parts)))
        text, places, field, append = self.text, self.places, self.field, evidence.append
        for at, end, flag, tier in self.found:
            start, stop = offsets[2 * at], offsets[2 * end - 1]
            if places is not None:
                start, stop = places[start], places[stop - 1] + 1
            reason = flag.reason if tier != "may_contain" else _WARNED
            append(LabelEvidence(flag.allergen, tier, text[start:stop], field, start, stop, reason))


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
