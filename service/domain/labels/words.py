"""The words on labels that mean an allergen: as tables, and as the tree of phrases the reader walks.

Word tables come from reference_data as groups, false friends, statement phrases and spellings;
``phrases`` makes the tree of them, ``spelling`` judges words that are not in it, and ``reader`` reads.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from service.domain.messages import Message

Tier = Literal["contains", "may_contain", "check_label"]
UseOfWords = Literal[
    "plain",
    "unqualified",
    "grain_word",
    "oil_source",
    "additive_number",
    "cream_or_filling",
    "people",
    "protein_word",
]
"""How words of the tables are used."""
Use = Literal[UseOfWords, "dish"]
AnsweredBy = Literal["nothing", "source", "ingredients"]

WORDS, PRECAUTION, DECLARATION, HEADING, NEGATION, PIECES, CAUTION, AFTERWARDS = range(8)
"""What a phrase does: it names food, turns what follows into a warning, a declaration or a denial, is to be read
as other words, turns even what is denied after it into a warning ("cannot guarantee"), or all that was named in
the sentence before it ("may be present")."""

TOKEN = re.compile(r"([^\W\d_]+|\d+|&)")
"""Runs of letters, runs of digits, and the ampersand; all else separates."""

ASCII_TOKEN = re.compile(r"([a-z]+|[0-9]+|&)")
"""The same for folded text without other letters, and twice as fast."""


@dataclass(frozen=True, slots=True)
class WordGroup:
    """Words that mean, or may come from, the same allergens, with what is said when they are found.

    ``exact``: no other word is read as a misspelling of these, or as one of these run together with another.
    ``stems``: a longer word that begins with one of them means the same, one that ends with one may.
    ``endings``: only a longer word that ends with one of them may. ``use`` "dish": foods made of several others.
    ``unless_named``: nothing on a label whose law makes it name the allergen ("spices" that hold mustard).
    """

    allergens: tuple[str, ...]
    tier: Tier
    words: tuple[str, ...]
    reason: str | Message = ""
    use: Use = "plain"
    answered_by: AnsweredBy = "nothing"
    exact: bool = False
    stems: tuple[str, ...] = ()
    endings: tuple[str, ...] = ()
    unless_named: bool = False


@dataclass(frozen=True, slots=True)
class FalseFriend:
    """Words that look like an allergen and are not; ``before`` times ``words`` when ``before`` is given.

    Only what they look like is hidden, and what is in ``hides`` (its members); all else that words of the
    phrase mean by themselves still counts.
    """

    looks_like: tuple[str, ...]
    words: tuple[str, ...]
    before: tuple[str, ...] = ()
    allergens: tuple[str, ...] = ()
    check: tuple[str, ...] = ()
    reason: str | Message = ""
    answered_by: AnsweredBy = "nothing"
    hides: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class StatementPhrases:
    """Phrases that say how the words around them are to be taken; ``(a|b)`` are alternatives, ``?`` may be absent."""

    precaution: tuple[str, ...] = ()
    caution: tuple[str, ...] = ()
    afterwards: tuple[str, ...] = ()
    declaration: tuple[str, ...] = ()
    heading: tuple[str, ...] = ()
    negation: tuple[str, ...] = ()
    not_negation: tuple[str, ...] = ()
    claims: tuple[str, ...] = ()
    neutral_claims: tuple[str, ...] = ()
    unqualifying: tuple[str, ...] = ()
    sources_named: tuple[str, ...] = ()
    other_grains: tuple[str, ...] = ()
    oil_words: tuple[str, ...] = ()
    oil_list: tuple[str, ...] = ()
    filling_words: tuple[str, ...] = ()
    figures: tuple[str, ...] = ()
    nutrients: tuple[str, ...] = ()
    praise: tuple[str, ...] = ()
    other_languages: tuple[str, ...] = ()
    or_nor: tuple[str, ...] = ()
    and_of_list: tuple[str, ...] = ()
    single_denials: tuple[str, ...] = ()
    doubting: tuple[str, ...] = ()
    denying: tuple[str, ...] = ()
    only_in_lists: tuple[str, ...] = ()
    done_at_places: tuple[str, ...] = ()
    additive_classes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Spellings:
    """Misspellings by right word; words that get broken in two or run together; look-alikes with a meaning."""

    misspellings: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    broken: tuple[str, ...] = ()
    companions: tuple[str, ...] = ()
    plain: tuple[str, ...] = ()


class Flag(NamedTuple):
    """One allergen that a phrase raises."""

    allergen: str
    tier: Tier
    reason: str | Message
    use: Use = "plain"
    answered_by: AnsweredBy = "nothing"
    unless_named: bool = False


class Entry:
    """What a phrase does. ``simple`` entries raise their flags, with these tiers, wherever they stand."""

    __slots__ = (
        "claim",
        "denies",
        "dish",
        "flags",
        "inherited",
        "looks_like",
        "neutral",
        "pieces",
        "raised",
        "role",
        "simple",
    )

    def __init__(self, flags: tuple[Flag, ...] = (), role: int = WORDS) -> None:
        self.flags = flags
        self.role = role
        self.claim = False
        self.dish = False
        """Whether it names a food made of several others."""
        self.neutral = False
        """Whether it is a claim about something else than allergens ("no preservatives")."""
        self.denies: Entry | None = None
        """What a claim such as "nut free" says is not there."""
        self.inherited: tuple[Flag, ...] = ()
        """What words within the phrase mean by themselves."""
        self.looks_like: tuple[str, ...] = ()
        self.pieces: tuple[str, ...] = ()
        self.simple = False
        self.raised: tuple[tuple[Flag, Tier], ...] = ()

    def settle(self) -> None:
        """Put the flags together and decide once whether the reader can take the short way."""
        self.flags += self.inherited
        self.inherited = ()
        self.raised = tuple((flag, flag.tier) for flag in self.flags)
        self.simple = self.role == WORDS and all(
            flag.use == "plain" and flag.answered_by == "nothing" for flag in self.flags
        )


class Node:
    """A place in the tree of phrases: what ends here, and which words may follow."""

    __slots__ = ("entry", "next")

    def __init__(self) -> None:
        self.entry: Entry | None = None
        self.next: dict[str, Node] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class LabelWords:
    """All phrases, ready for ``read_label``.

    ``first`` also remembers what an unknown word turned out to be (nothing, a misspelling, words run
    together), up to a limit; the answer for a word never changes, so reading stays a pure function.
    """

    first: dict[str, Node | None]
    pieces: frozenset[str]
    plain: frozenset[str]
    single: Mapping[str, Entry]
    """Entries of one word that raise a flag, with their plurals and spellings."""
    names: frozenset[str]
    """Single words that mean an allergen."""
    proper: frozenset[str]
    """Those of them that a misspelling is checked against."""
    unqualifying: frozenset[str]
    sources_named: frozenset[str]
    other_grains: frozenset[str]
    oil_words: frozenset[str]
    oil_list: frozenset[str]
    filling_words: frozenset[str]
    figures: frozenset[str]
    nutrients: frozenset[str]
    praise: frozenset[str]
    other_languages: frozenset[str]
    or_nor: frozenset[str]
    and_of_list: frozenset[str]
    single_denials: frozenset[str]
    doubting: frozenset[str]
    denying: frozenset[str]
    only_in_lists: frozenset[str]
    """Words that a list of ingredients names and a sentence about a factory does not."""
    done_at_places: frozenset[str]
    additive_classes: frozenset[str]
    known: frozenset[str] = frozenset()
    """All words of the tables and of ordinary ingredients: what tells a statement that can be read."""
    foods: frozenset[str] = frozenset()
    """Known words that name a food, and so may be a list of ingredients; not those that labels deny."""
    stems: Mapping[str, tuple[Flag, ...]] = field(default_factory=dict)
    """What longer words that begin with these mean, in languages that write compounds as one word."""
    endings: Mapping[str, tuple[Flag, ...]] = field(default_factory=dict)
    """What longer words that end with these, or with one of the stems, may mean."""
    japanese: frozenset[str] = frozenset()
    """Words of a language without spaces, which a run of letters is cut into."""
    near: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Words by what is left when one letter is dropped; filled when the first unknown word is met."""
    long_runs: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Words by their first four letters, for overlong runs of letters; filled likewise."""
