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

from service.domain.labels.context import tier_in_context
from service.domain.labels.cut_text import BREAKS
from service.domain.labels.denials import Denials, is_denied_later
from service.domain.labels.evidence import Field, LabelEvidence, LabelReading, Place
from service.domain.labels.no_list import seen_in
from service.domain.labels.phrased import PhrasedText
from service.domain.labels.precautions import Precautions, opens_list
from service.domain.labels.readable import Seen
from service.domain.labels.spelling import fold
from service.domain.labels.words import AFTERWARDS, CAUTION, NEGATION, PIECES, PRECAUTION, Entry, Flag, LabelWords, Tier
from service.domain.messages import message

MOST_PLACES: Final = 50
"""How many places are kept for one allergen and tier in one text; the rest are counted."""
_THINNED_AT: Final = 4_000
"""After how many words the places beyond the most are counted and dropped."""

_OF_A_WHOLE: Final = frozenset({"free", "suitable", "absence"})
"""Denials that a "not" elsewhere in the sentence turns round: "impossible to say that it is free from nuts"."""
_PERHAPS: Final = frozenset({"may", "might", "could", "can", "cannot"})

TWO_FOODS = message("label-reason.two-foods")
WARNED = message("label-reason.warned")


def read_label(
    words: LabelWords,
    ingredients: str | None,
    contains: str | None = None,
    precaution: str | None = None,
    must_name: frozenset[str] = frozenset(),
) -> LabelReading:
    """Read an ingredient statement and, where printed apart, the contains statement and the warning.

    ``must_name``: allergens that the law of this label makes it name, so that "spices" alone does not stand for them.

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
            reader = _Reader(words, text, field, must_name)
            left_out += reader.read(evidence)
            seen = reader.count_words()
            words_seen += seen.words
            unknown += seen.unknown
            reads_as_one = seen.readable and (seen.names_food or field != "ingredients")
            some_not_read = some_not_read or not reads_as_one
    readable = has_ingredients and not some_not_read
    return LabelReading(tuple(evidence), has_ingredients, left_out, words_seen, unknown, readable, some_not_read)


class _Reader:
    """Reads one text, from its first word to its last; made for one use."""

    __slots__ = ("denials", "field", "found", "left_out", "must_name", "places", "precautions", "printed", "text")

    def __init__(self, words: LabelWords, printed: str, field: Field, must_name: frozenset[str]) -> None:
        folded, self.places = fold(printed)
        self.text = PhrasedText(words, folded)
        self.printed = printed
        self.field = field
        self.must_name = must_name
        self._begin()

    def _begin(self) -> None:
        """Forget what was found, so that the text is read from its beginning."""
        self.found: list[Place] = []
        self.left_out = 0
        self.precautions = Precautions(self.text, self.found, whole=self.field == "precaution")
        self.denials = Denials(self.text, self.found)

    def read(self, evidence: list[LabelEvidence]) -> int:
        """Find the evidence in the text and add it to the list; gives how many places were left out."""
        if not self._scan():
            self.text.read_as_other_words()
            self._begin()
            self._scan()
        if self.must_name:
            self.found[:] = [
                one for one in self.found if not (one[2].unless_named and one[2].allergen in self.must_name)
            ]
        if len(self.found) > MOST_PLACES:
            self._thin_out()
        if self.found:
            self._write(evidence)
        return self.left_out

    def count_words(self) -> Seen:
        """How many of the words are known, when the text has been read."""
        return seen_in(self.text, self.printed, self.found)

    def _scan(self) -> bool:
        """Go through all words once; false when a word has to be read as other words first.

        Most words of a label name nothing, and most that do mean the same wherever they stand: these two ways are
        kept short, without a call, as nearly all the time of reading is spent in them.
        """
        text, precautions = self.text, self.precautions
        tokens, append = text.tokens, self.found.append
        count = len(tokens)
        can_be_denied_later = "free" in tokens
        done = 0
        thinned = _THINNED_AT
        for at, node in enumerate(text.nodes):
            if node is None or at < done:
                continue
            if at > thinned:
                self._thin_out()
                thinned = at + _THINNED_AT
            entry, end = node.entry, at + 1
            following = node.next
            if following is not None and end < count and tokens[end] in following:
                entry, end = text.longest(at)
            if entry is None:
                continue
            done = end
            if entry.role:
                if entry.role == PIECES:
                    return False
                done = self._turn(entry.role, at, end)
            elif entry.denies is not None:
                self.denials.take_claim(at, end, doubtful=at < precautions.doubtful)
            elif can_be_denied_later and entry.claim and is_denied_later(text, end):
                self.denials.take_first_of_claim(at, end)
            else:
                if not entry.simple:
                    self._raise_in_context(entry, at, end)
                elif at < precautions.until:
                    for flag in entry.flags:
                        append((at, end, flag, "may_contain" if flag.tier == "contains" else flag.tier))
                    precautions.end_at_heading(end)
                elif at < precautions.unsure:
                    for flag in entry.flags:
                        append((at, end, flag, "check_label"))
                else:
                    for flag, tier in entry.raised:
                        append((at, end, flag, tier))
                if entry.looks_like and (self.field == "contains" or (text.broken and self._runs_over(at, end))):
                    self._doubt_false_friend(entry, at, end)
        return True

    def _turn(self, role: int, at: int, end: int) -> int:
        """Follow a phrase that turns what stands around it; gives the word to go on from."""
        text, precautions = self.text, self.precautions
        if role == NEGATION:
            if at < precautions.doubtful:
                return end
            if text.tokens[at] in _OF_A_WHOLE and text.doubts_denials(at):
                precautions.doubt_what_follows(end)
                return end
            return self.denials.deny_what_follows(at, end)
        if self.field == "precaution":  # a warning already, from its first word to its last
            return end
        if role == PRECAUTION:
            precautions.warn_of_what_follows(at, end)
        elif role == CAUTION:
            self.denials.take_back(at)
            precautions.doubt_what_follows(end)
        elif role == AFTERWARDS:
            if text.tokens[at] in _PERHAPS and not opens_list(text, end):  # "no nuts are used, traces may occur"
                self.denials.take_back(at)
            precautions.warn_afterwards(at, end)
        else:
            precautions.end_before(role, at, end)
        return end

    def _raise_in_context(self, entry: Entry, at: int, end: int) -> None:
        """Raise what words mean by what stands around them ("cream", "flour", a number), if anything."""
        warned, unsure = at < self.precautions.until, at < self.precautions.unsure
        for flag in entry.flags:
            tier = tier_in_context(self.text, flag, at, end)
            if tier == "contains" or (tier is not None and flag.use == "people"):
                tier = "may_contain" if warned else "check_label" if unsure else tier
            if tier is not None:
                self.found.append((at, end, flag, tier))

    def _runs_over(self, at: int, end: int) -> bool:
        """Whether a line ends within a phrase: "rice, coconut" and "milk, salt" may be one food or two."""
        return any(not BREAKS.isdisjoint(self.text.parts[2 * here]) for here in range(at + 1, end))

    def _doubt_false_friend(self, entry: Entry, at: int, end: int) -> None:
        """Raise for checking what a phrase looks like: "coconut milk" over two lines may be coconut, and milk."""
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
        """Add what was found to the evidence, with the letters printed there instead of the numbers of words."""
        offsets = list(accumulate(map(len, self.text.parts)))
        printed, places, field, append = self.printed, self.places, self.field, evidence.append
        for at, end, flag, tier in self.found:
            start, stop = offsets[2 * at], offsets[2 * end - 1]
            if places is not None:  # folding made two letters of one, such as "ß": back to the letters given
                start, stop = places[start], places[stop - 1] + 1
            reason = flag.reason if tier != "may_contain" else WARNED
            append(LabelEvidence(flag.allergen, tier, printed[start:stop], field, start, stop, reason))
