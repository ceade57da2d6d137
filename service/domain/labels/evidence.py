"""What was found on a label: each place with its allergen and how sure it is, and all of it together."""

from dataclasses import dataclass
from typing import Literal, NamedTuple

from service.domain.labels.words import Flag, Tier
from service.domain.messages import Message, message

Field = Literal["ingredients", "contains", "precaution"]

Place = tuple[int, int, Flag, Tier]
"""What words of a text raise while it is read: the first of them, the word after the last, the flag, how sure it is."""


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
    reason: str | Message


@dataclass(frozen=True, slots=True)
class LabelReading:
    """The evidence on one label, in reading order, and whether there was an ingredient statement.

    ``left_out`` counts the places beyond the first 50 of an allergen and tier in one text. ``words`` counts the
    words of all texts and ``unknown_words`` those in none of the tables; ``readable`` is whether each text looks
    like one in a language of the tables, and there is a list of ingredients; ``some_not_read`` is whether one does not.
    What is not named in a text that cannot be read is not known.
    """

    evidence: tuple[LabelEvidence, ...]
    has_ingredients: bool
    left_out: int = 0
    words: int = 0
    unknown_words: int = 0
    readable: bool = False
    some_not_read: bool = False

    @property
    def not_read(self) -> Message | None:
        """Why what was given clears nothing, and what to do, if one of its texts could not be read."""
        if not self.some_not_read:
            return None
        if self.unknown_words:
            return message("evidence.not-read", unknown=self.unknown_words, words=self.words)
        return message("evidence.no-list")

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
