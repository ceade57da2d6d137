"""Reads a label: which allergens its words name, warn of, or may stand for, and where.

Rules, in the order they apply: letters are folded; phrases win over single words, the longest first, so
that "coconut milk" is not milk; only the words of such a false friend are removed, "coconut milk
(contains sodium caseinate)" is still milk. What a label denies ("free from", "egg-free") raises nothing
and clears nothing. After "may contain", "traces of" or "made in a factory that" everything up to the end
of the sentence or the bracket is a warning. Words that may stand for an allergen are raised for checking.
Claims such as lactose-free or vegan clear nothing; "vegan cheese" is raised for checking. No text is no
answer: without an ingredient statement every allergen stays unknown. The name of a dish alone is none either.

The work grows evenly with the length of the text: phrases are short, and looking around is bounded.
"""

from itertools import accumulate
from typing import Final

from service.domain.labels.context import (
    BREAKS,
    CLOSERS,
    FURTHEST_LOOK,
    LINKS,
    OPENERS,
    begins_list,
    is_gap,
    is_list_mark,
    next_colons,
    region_ends,
    sentence_end,
    sentence_start,
)
from service.domain.labels.denials import denied_until, is_denied_later
from service.domain.labels.evidence import Field, LabelEvidence, LabelReading
from service.domain.labels.phrased import PhrasedText
from service.domain.labels.readable import LIST_MARKS, Seen, count_known
from service.domain.labels.spelling import fold
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
    Tier,
)
from service.domain.messages import message

MOST_PLACES: Final = 50
"""How many places are kept for one allergen and tier in one text; the rest are counted."""
MOST_OF_A_MENU: Final = 3
"""How many commas or the like a text with the name of a dish has at most if it is no list of ingredients; ours."""
_THINNED_AT: Final = 4_000
"""After how many words the places beyond the most are counted and dropped."""

_RELATIVE: Final = frozenset({"that", "which", "who", "may", "also", "not", "foods", "products"})
_KITCHENS: Final = frozenset({"kitchen", "bakery", "bakehouse", "dairy"})
_WITH: Final = frozenset({"with", "using", "from"})
_OF_A_WHOLE: Final = frozenset({"free", "suitable", "absence"})
"""Denials that a "not" elsewhere in the sentence turns round: "impossible to say that it is free from nuts"."""
_OF_A_MENU: Final = ",;/|\n"
_OF_A_LIST: Final = LIST_MARKS - set(_OF_A_MENU)
_PERHAPS: Final = frozenset({"may", "might", "could", "can", "cannot"})
_ONE_OR_MORE: Final = frozenset({"one", "or", "more"})
_DASHES: Final = frozenset({" - ", " -- "})
_LISTS: Final = frozenset({"contains", "contain", "ingredients", "ingredient", "allergens"})
"""Words before a colon after which names are what the food holds, whatever comes after them."""

_AND: Final = LINKS | {"und", "et", "y", "e", "en", "och", "og", "i"}

TWO_FOODS = message("label-reason.two-foods")
WARNED = message("label-reason.warned")


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
    some_not_read = False
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
            reads_as_one = seen.readable and (seen.names_food or field != "ingredients")
            some_not_read = some_not_read or not reads_as_one
    readable = has_ingredients and not some_not_read
    return LabelReading(tuple(evidence), has_ingredients, left_out, words_seen, unknown, readable, some_not_read)


class _Reader(PhrasedText):
    """Reads one text; made for one use."""

    __slots__ = (
        "colons",
        "denied",
        "doubtful",
        "ends",
        "field",
        "found",
        "left_out",
        "places",
        "text",
        "unclosed",
        "unsure",
        "until",
    )

    def __init__(self, words: LabelWords, text: str, field: Field) -> None:
        folded, self.places = fold(text)
        super().__init__(words, folded)
        self.text = text
        self.field = field
        self.found: list[tuple[int, int, Flag, Tier]] = []
        self.left_out = 0
        self._begin()

    def _begin(self) -> None:
        self.until = len(self.tokens) if self.field == "precaution" else 0
        """The word before which a running warning ends; the whole text for a warning field."""
        self.doubtful = 0
        """The word before which nothing is denied: the end of what "cannot guarantee" speaks of."""
        self.unsure = 0
        """The word before which ingredients and a warning cannot be told apart."""
        self.denied: list[tuple[int, int]] = []
        """From which word to which the label denied something."""
        self.ends: list[int] | None = None
        self.unclosed: frozenset[int] = frozenset()
        self.colons: list[int] = []
        self.found.clear()
        self.left_out = 0

    def read(self, evidence: list[LabelEvidence]) -> int:
        """Find the evidence in the text and add it to the list; gives how many places were left out."""
        if not self._scan():
            self.read_as_other_words()
            self._begin()
            self._scan()
        if len(self.found) > MOST_PLACES:
            self._thin_out()
        if self.found:
            self._write(evidence)
        return self.left_out

    def count_words(self) -> Seen:
        """How many of the words are known, when the text has been read."""
        seen = count_known(self.words, self.tokens)
        if self._is_praise() or self._is_name_of_a_dish():
            return seen._replace(names_food=False)
        # "Does not contain nuts" and "may contain nuts" alone are no list of ingredients; "nuts" and "pesto" are.
        warned = {first for first, _, _, tier in self.found if tier == "may_contain"}
        begin = self._end_of_declaration()
        named = any(
            first >= begin and (tier == "contains" or (first not in warned and flag.use != "people"))
            for first, _, flag, tier in self.found
        )
        if begin and not named:
            seen = seen._replace(names_food=count_known(self.words, self.tokens[begin:]).names_food)
        return seen._replace(names_food=seen.names_food or named)

    def _is_praise(self) -> bool:
        """Whether this is a sentence that praises a food ("the best crackers in town") and no list of ingredients."""
        praise = self.words.praise
        if praise.isdisjoint(self.tokens) or not LIST_MARKS.isdisjoint(self.text):
            return False
        return not praise.isdisjoint(self.tokens[: sentence_end(self.parts, 0)])

    def _is_name_of_a_dish(self) -> bool:
        """Whether this names a food made of several ("beef udon") and does not list what is in it.

        A menu of few items ("quenelles, rice") is such too: what stands in a dish, nobody has said.
        """
        text = self.text.strip().rstrip(".,;")
        marks = sum(map(text.count, _OF_A_MENU))
        if marks > MOST_OF_A_MENU or not _OF_A_LIST.isdisjoint(text):
            return False
        if marks and sentence_end(self.parts, 0) < len(self.tokens):  # "Frittata. Eggs, potatoes, oil"
            return False
        here = 0
        while here < len(self.tokens):
            entry, here = self.longest(here)
            if entry is not None and entry.dish:
                return True
        asked = {flag.allergen for _, _, flag, _ in self.found if flag.answered_by == "ingredients"}
        return not marks and len(asked) > 1

    def _end_of_declaration(self) -> int:
        """The word after "contains milk, egg" at the beginning of a text: that alone is no list of ingredients."""
        if not self.tokens:
            return 0
        entry, end = self.longest(0)
        if entry is None or entry.role != DECLARATION or end >= len(self.tokens):
            return 0
        last = self._ends()[end]
        here = end
        while here < last:
            phrase, after = self.longest(here)
            if phrase is not None and phrase.role == PRECAUTION:  # "contains milk and traces of"
                return here
            if self.tokens[here] not in _AND and not self._names_one(phrase, after - here):
                return last if self.only_names(end, last) else 0
            here = after
        return last

    def _names_one(self, phrase: Entry | None, words: int) -> bool:
        """Whether this is the name of an allergen, as a declaration has them."""
        if phrase is None:
            return False
        return phrase.claim or (words == 1 and any(flag.tier == "contains" for flag in phrase.flags))

    def _scan(self) -> bool:
        """Go through all words once; false when a word has to be read as other words first."""
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
                entry, end = self.longest(at)
            if entry is None:
                continue
            done = end
            if entry.role:
                if entry.role == PIECES:
                    return False
                done = self._turn(entry.role, at, end)
                continue
            if entry.denies is not None:
                if at < self.doubtful or self.doubts_denials(at) or self._is_answered_no(end):
                    self._raise_named(at, end, "may_contain")
                else:
                    self.denied.append((at, end))
                    if at and tokens[at - 1] in LINKS:
                        self._deny_list_before(at, end)
                continue
            if can_be_denied_later and entry.claim and is_denied_later(self, end):
                self.denied.append((at, end))
                if self.doubts_denials(at):
                    self._raise_named(at, end, "may_contain")
                elif self._is_declared(at):  # "contains milk and nut free": in doubt it is in it
                    self._raise_named(at, end, "check_label")
                continue
            warned = at < self.until
            if entry.simple:
                if warned:
                    for flag in entry.flags:
                        append((at, end, flag, "may_contain" if flag.tier == "contains" else flag.tier))
                    self._end_at_heading(end)
                elif at < self.unsure:
                    for flag in entry.flags:
                        append((at, end, flag, "check_label"))
                else:
                    for flag, tier in entry.raised:
                        append((at, end, flag, tier))
            else:
                for flag in entry.flags:
                    weighed = self.weighed(flag, at, end)
                    if weighed == "contains" or (weighed is not None and flag.use == "people"):
                        weighed = "may_contain" if warned else "check_label" if at < self.unsure else weighed
                    if weighed is not None:
                        append((at, end, flag, weighed))
            if entry.looks_like and (self.field == "contains" or (self.broken and self._runs_over(at, end))):
                self._doubt(entry, at, end)
        return True

    def _turn(self, role: int, at: int, end: int) -> int:
        """Follow a phrase that turns what comes after it; gives the word to go on from."""
        if role == NEGATION:
            if at < self.doubtful:
                return end
            if self.tokens[at] in _OF_A_WHOLE and self.doubts_denials(at):
                self.until = self.doubtful = max(self.until, self._region_end(end - 1))
                return end
            follows = end < len(self.tokens) and is_gap(self.parts[2 * end])
            claim, after = self.longest(end) if follows else (None, end)
            if claim is not None and claim.denies is not None:  # "neither nut free nor dairy free"
                self._raise_named(end, after, "may_contain")
                return after
            listing = end - at > 1 or self.tokens[at] not in self.words.single_denials
            done = denied_until(self, end, listing=listing, ends=self._ends())
            if done > end:
                self.denied.append((end, done))
            return done
        if self.field == "precaution":
            return end
        if role == PRECAUTION:
            if self._is_how_it_was_made(at, end):
                return end
            if self._is_a_row_of_a_table(at, end) and self._warn_of_what_was_named(at, across=1):
                return end
            if end > self.until:
                self.until = self._region_end(end - 1)
                in_a_list = "," in self.parts[2 * at] and sentence_start(self.parts, at) < at
                if in_a_list and not self.only_names(end, self.until):
                    if at in self.unclosed and ":" in self.parts[2 * end]:
                        self.unsure = self.until
                    self.until = self._item_end(end, self.until)
                else:
                    self.until = self._before_ingredients(at, end, self.until)
        elif role == CAUTION:
            self._doubt_what_was_denied(at)
            self.until = self.doubtful = max(self.until, self._region_end(end - 1))
        elif role == AFTERWARDS and self._opens_list(end):
            self.until = max(self.until, self._region_end(end))
        elif role == AFTERWARDS:
            if self.tokens[at] in _PERHAPS:  # "no nuts are used, traces may occur"
                self._doubt_what_was_denied(at)
            # "Packed in our bakery with milk": the names come after it.
            if not self._warn_of_what_was_named(at) and not self._is_how_it_was_made(at, end):
                self.until = max(self.until, self._before_ingredients(at, end, self._region_end(end - 1)))
        elif at < self.until and (
            (role == DECLARATION and (at == 0 or self.tokens[at - 1] not in _RELATIVE))
            or (role == HEADING and (":" in self.parts[2 * end] or self._is_a_line(at, end)))
        ):
            self.until = at
        return end

    def _is_a_row_of_a_table(self, at: int, end: int) -> bool:
        """Whether "may contain" says it of the name before a colon alone: "egg: may contain; nuts: contains"."""
        named = bool(self.found) and self.found[-1][1] == at
        return named and ":" in self.parts[2 * at] and self._ends()[end - 1] == end

    def _opens_list(self, end: int) -> bool:
        """Whether a colon after a phrase opens a list: "may be present: milk". One that ends the text opens none."""
        return end < len(self.tokens) and ":" in self.parts[2 * end]

    def _is_how_it_was_made(self, at: int, end: int) -> bool:
        """Whether ingredients follow: "made in our kitchen with milk and eggs"."""
        if "packed" in self.tokens[max(0, at - 1) : end]:
            return False
        if end >= len(self.tokens) or self.tokens[end - 1] not in _KITCHENS:
            return False
        return self.tokens[end] in _WITH or self._opens_list(end)

    def _item_end(self, start: int, furthest: int) -> int:
        """Where the first item after a warning within a list of ingredients ends: "rice, may contain nuts, sugar"."""
        here = start + 1
        while here < furthest and "," not in self.parts[2 * here]:
            here += 1
        return min(here, furthest)

    def _before_ingredients(self, at: int, start: int, end: int) -> int:
        """Where a warning ends that a list of ingredients runs on from in the same sentence: with its first item.

        "May contain nuts: sugar, butter" and "packed where nuts are handled, almonds, milk" are such; a sentence with
        nothing that only a list of ingredients names ("a plant that handles nuts, milk and fruit") is about the place.
        """
        tokens, words = self.tokens, self.words
        first = start if "," in self.parts[2 * start] else start + 1
        while first < end and not self._item_begins(first):
            first += 1
        if first >= end or self._in_brackets(at) or _ONE_OR_MORE.issubset(tokens[at:first]):
            return end
        later = tokens[first:end]
        if not words.only_in_lists.isdisjoint(later):
            return first
        verb = tokens[first - 1] in words.done_at_places
        return first if verb and words.done_at_places.isdisjoint(later) and LINKS.isdisjoint(later) else end

    def _item_begins(self, at: int) -> bool:
        separator = self.parts[2 * at]
        return "," in separator or ":" in separator or at in self.apart or separator in _DASHES

    def _in_brackets(self, at: int) -> bool:
        """Whether a word stands in brackets, as far as the words looked at."""
        depth = 0
        for here in range(at, max(-1, at - FURTHEST_LOOK), -1):
            for mark in reversed(self.parts[2 * here]):
                if mark in CLOSERS:
                    depth += 1
                elif mark in OPENERS:
                    if depth == 0:
                        return True
                    depth -= 1
        return False

    def _is_a_line(self, at: int, end: int) -> bool:
        """Whether words are a line of their own: "Ingredients" over a list with one item a line."""
        return "\n" in self.parts[2 * end] and (at == 0 or "\n" in self.parts[2 * at])

    def _raise_named(self, start: int, end: int, tier: Tier) -> None:
        """Raise all that is named from one word to another, also where it is denied there, at most at a tier."""
        here = start
        while here < end:
            entry, after = self.longest(here)
            if entry is not None:
                for flag in (entry.denies or entry).flags:
                    self.found.append((here, after, flag, tier if flag.tier == "contains" else flag.tier))
            here = after

    def _is_answered_no(self, end: int) -> bool:
        """Whether a claim is one of a table that says no to it: "nut free: no"."""
        return self.tokens[end : end + 1] == ["no"] and self.parts[2 * end].strip() in (":", "?", "-", "=", "|")

    def _is_declared(self, at: int) -> bool:
        """Whether the sentence that a word stands in begins with "contains"."""
        entry, _ = self.longest(sentence_start(self.parts, at))
        return entry is not None and entry.role == DECLARATION

    def _doubt_what_was_denied(self, at: int) -> None:
        """Take back what the sentence denied before "cannot be guaranteed": it is a warning."""
        start = sentence_start(self.parts, at)
        while self.denied and self.denied[-1][0] >= start:
            self._raise_named(*self.denied.pop(), "may_contain")

    def _deny_list_before(self, at: int, end: int) -> None:
        """Let "free" speak of the list before it too: "milk, egg and nut free", alone in its sentence.

        Where more follows ("milk, egg and nut free cake"), the first names may be ingredients: they are checked.
        """
        first_word, start = sentence_start(self.parts, at), at
        while start > first_word and not any(mark in OPENERS for mark in self.parts[2 * start]):
            start -= 1
        if start == at or not self.only_names(start, at):
            return
        ends_here = any(mark in CLOSERS for mark in self.parts[2 * end]) or sentence_start(self.parts, end) == end
        alone = end == len(self.tokens) or ends_here
        kept: list[tuple[int, int, Flag, Tier]] = []
        while self.found and self.found[-1][0] >= start:
            first, last, flag, tier = self.found.pop()
            kept.append((first, last, flag, "check_label" if tier == "contains" else tier))
        if alone:
            return
        self.found += reversed(kept)
        for first, last in self.denied:
            if start <= first < at:
                self._raise_named(first, last, "check_label")

    def _warn_of_what_was_named(self, at: int, across: int = 0) -> bool:
        """Take what stands before "may be present" in its sentence for a warning, if that is only names; whether it is.

        ``across``: how many words before it are taken whatever mark parts them from it.
        """
        start, furthest = max(0, at - across), max(0, at - FURTHEST_LOOK)
        while start > furthest and not any(mark in self.parts[2 * start] for mark in ".;:!\n("):
            start -= 1
        if start and ":" in self.parts[2 * start] and self.tokens[start - 1] in _LISTS:
            return True
        if start == at or not self.only_names(start, at):
            return False
        for place in range(len(self.found) - 1, -1, -1):
            first, end, flag, tier = self.found[place]
            if first < start:
                break
            if tier == "contains":
                self.found[place] = (first, end, flag, "may_contain")
        return True

    def _region_end(self, at: int) -> int:
        """Where a warning whose last word is given ends: with the sentence, or the bracket it stands in.

        What separates items of a list ends it only if something else than names of allergens follows
        ("may contain tree nuts; peanuts", but "may contain milk; wheat flour, sugar").
        """
        ends = self._ends()
        if not self.colons:
            self.colons = next_colons(self.parts, len(self.tokens))
        end = ends[at]
        if end == at + 1 < len(self.tokens) and begins_list(self.parts[2 * end]):
            end = ends[end]
        furthest = end + FURTHEST_LOOK
        while end < min(len(self.tokens), furthest) and is_list_mark(self.parts[2 * end]):
            further = ends[end]
            if not self.only_names(end, further):
                break
            end = further
        return end

    def _ends(self) -> list[int]:
        """For every word, where its sentence or bracket ends; worked out when first asked for."""
        if self.ends is None:
            self.ends, self.unclosed = region_ends(self.parts, len(self.tokens))
        return self.ends

    def _end_at_heading(self, end: int) -> None:
        """Let a warning that has named something end before the next heading ("cookies: wheat flour")."""
        if self.colons and end < len(self.tokens):
            heading = self.colons[end]
            self.until = min(self.until, heading + 1 if heading < len(self.tokens) else heading)

    def _runs_over(self, at: int, end: int) -> bool:
        """Whether a line ends within a phrase: "rice, coconut" and "milk, salt" may be one food or two."""
        return any(not BREAKS.isdisjoint(self.parts[2 * here]) for here in range(at + 1, end))

    def _doubt(self, entry: Entry, at: int, end: int) -> None:
        raised = {flag.allergen for flag in entry.flags}
        for allergen in entry.looks_like:
            if allergen not in raised:
                self.found.append((at, end, Flag(allergen, "check_label", TWO_FOODS), "check_label"))

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
            reason = flag.reason if tier != "may_contain" else WARNED
            append(LabelEvidence(flag.allergen, tier, text[start:stop], field, start, stop, reason))
