"""Word tables put together into one tree of phrases, with all spellings and plurals, the longest winning.

A phrase of several words says more than its words, never less; only a false friend hides.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import product

from service.domain.labels.words import (
    AFTERWARDS,
    CAUTION,
    DECLARATION,
    HEADING,
    NEGATION,
    PIECES,
    PRECAUTION,
    TOKEN,
    Entry,
    FalseFriend,
    Flag,
    LabelWords,
    Node,
    Spellings,
    StatementPhrases,
    Tier,
    WordGroup,
)

_ALTERNATIVES = re.compile(r"\(([^()]*)\)(\??)")
_VARIANTS: tuple[tuple[str, str], ...] = (
    ("sulf", "sulph"),
    ("yogurt", "yoghurt"),
    ("yogurt", "yogourt"),
    ("lyzed", "lysed"),
    ("ized", "ised"),
    ("izer", "iser"),
    ("color", "colour"),
    ("flavor", "flavour"),
    ("fiber", "fibre"),
    ("gelatin", "gelatine"),
)
_SPELT_TWO_WAYS = re.compile("|".join(usual for usual, _ in _VARIANTS))


def phrase_tokens(phrase: str) -> tuple[str, ...]:
    """A phrase as the reader cuts it: ``e322`` is ``e`` and ``322``."""
    return tuple(TOKEN.findall(phrase))


def with_alternatives(phrase: str) -> Iterator[str]:
    """Write out ``(a|b)`` and ``(a|b)?`` in a phrase."""
    found = _ALTERNATIVES.search(phrase)
    if found is None:
        yield " ".join(phrase.split())
        return
    options = [*found.group(1).split("|"), *([""] if found.group(2) else [])]
    for option in options:
        yield from with_alternatives(phrase[: found.start()] + option + phrase[found.end() :])


def compile_label_words(
    groups: Iterable[WordGroup],
    false_friends: Iterable[FalseFriend] = (),
    statements: StatementPhrases | None = None,
    spellings: Spellings | None = None,
    related: Mapping[str, frozenset[str]] | None = None,
    known: Iterable[str] = (),
    foods: Iterable[str] = (),
    not_food: Iterable[str] = (),
) -> LabelWords:
    """Put the word tables together into a ``LabelWords``.

    ``known``: words of ordinary statements; ``foods``: those that name a food; ``not_food``: those that never do alone.
    ``related``: for each allergen its groups and members, which a phrase that names it speaks of too.
    """
    statements = statements or StatementPhrases()
    spellings = spellings or Spellings()
    phrases: dict[tuple[str, ...], Entry] = {}
    groups = tuple(groups)
    for group in groups:
        _add_group(phrases, group)
    _add_phrases_of_several_words(phrases, false_friends, related or {})
    _spread(phrases)
    single = {tokens[0]: entry for tokens, entry in phrases.items() if len(tokens) == 1 and entry.flags}
    names = frozenset(word for word, entry in single.items() if _contains(entry))
    exact = {form for group in groups if group.exact for word in group.words for form in _forms(word)}
    exact -= {form for group in groups if not group.exact for word in group.words for form in _forms(word)}
    one_word = {tokens[0] for tokens in phrases if len(tokens) == 1} - exact
    _add_misspellings(phrases, spellings)
    _add_broken(phrases, spellings.broken)
    _add_statements(phrases, statements)
    for entry in set(phrases.values()):
        entry.settle()
    all_known = frozenset(known).union(*phrases, spellings.plain)
    plurals = frozenset(form for word in foods for form in _forms(word))
    return LabelWords(
        first=_tree(phrases),
        pieces=frozenset(spellings.companions) | frozenset(word for word in one_word if len(word) >= 3),
        plain=frozenset(spellings.plain) - frozenset(single),
        single=single,
        names=names,
        proper=names - exact,
        unqualifying=frozenset(statements.unqualifying),
        sources_named=frozenset(statements.sources_named),
        other_grains=frozenset(statements.other_grains),
        oil_words=frozenset(statements.oil_words),
        oil_list=frozenset(statements.oil_list),
        filling_words=frozenset(statements.filling_words),
        figures=frozenset(statements.figures),
        nutrients=frozenset(statements.nutrients),
        praise=frozenset(statements.praise),
        other_languages=frozenset(statements.other_languages),
        or_nor=frozenset(statements.or_nor),
        and_of_list=frozenset(statements.and_of_list),
        single_denials=frozenset(statements.single_denials),
        doubting=frozenset(statements.doubting),
        denying=frozenset(statements.denying),
        only_in_lists=frozenset(statements.only_in_lists),
        done_at_places=frozenset(statements.done_at_places),
        additive_classes=frozenset(statements.additive_classes),
        known=all_known | plurals,
        foods=plurals.union(single) - frozenset(not_food).union(*map(phrase_tokens, statements.claims)),
        stems=_flags_by((stem, group) for group in groups for stem in group.stems),
        endings=_flags_by((ending, group) for group in groups for ending in (*group.stems, *group.endings)),
        japanese=frozenset(word for word in all_known if not word.isascii()),
    )


def _flags_by(parts: Iterable[tuple[str, WordGroup]]) -> dict[str, tuple[Flag, ...]]:
    """The flags of all groups that have the same part of a word."""
    found: dict[str, tuple[Flag, ...]] = {}
    for part, group in parts:
        found[part] = found.get(part, ()) + tuple(
            Flag(allergen, group.tier, group.reason, group.use, group.answered_by, group.unless_named)
            for allergen in group.allergens
        )
    return found


def spelling_variants(word: str) -> list[str]:
    """A word in its British, American and other regular spellings, itself first."""
    found = [word]
    if _SPELT_TWO_WAYS.search(word):
        for usual, other in _VARIANTS:
            found += [known.replace(usual, other) for known in found if usual in known and other not in known]
    return found


def plural(word: str) -> str | None:
    """The regular plural of a word, or nothing for numbers, short words and words that end in s."""
    if len(word) < 3 or not (word.isalpha() and word.isascii()) or word.endswith("s"):
        return None
    if word.endswith(("x", "ch", "sh", "tato", "mato")):
        return word + "es"
    if word.endswith("y") and word[-2] not in "aeiou":
        return word[:-1] + "ies"
    return word + "s"


def singular(word: str) -> str:
    """The word whose regular plural this is, or may be."""
    if word.endswith("ies") and len(word) > 4:
        return word[:-3] + "y"
    if word.endswith(("xes", "ches", "shes", "tatoes", "matoes")):
        return word[:-2]
    return word[:-1] if word.endswith("s") and len(word) > 3 else word


def _forms(word: str) -> Iterator[str]:
    """A single word with its spellings and plurals."""
    yield from spelling_variants(word)
    more = plural(word)
    if more:
        yield from spelling_variants(more)


def _contains(entry: Entry) -> bool:
    return any(flag.tier == "contains" for flag in entry.flags)


def _add_misspellings(phrases: dict[tuple[str, ...], Entry], spellings: Spellings) -> None:
    """Misspellings of one word are read as the right word; those of several words are phrases of their own."""
    for right, wrong_ones in spellings.misspellings.items():
        respelt = Entry(role=PIECES)
        respelt.pieces = phrase_tokens(right)
        for wrong in wrong_ones:
            tokens = phrase_tokens(wrong)
            if len(tokens) == 1:
                phrases.setdefault(tokens, respelt)
            else:
                phrases.setdefault(tokens, phrases.get(respelt.pieces) or Entry(_flags_within(phrases, respelt.pieces)))


def _add_broken(phrases: dict[tuple[str, ...], Entry], broken: Iterable[str]) -> None:
    """Words that a space or line break may split are phrases of their two halves ("mi lk")."""
    for word in broken:
        entry = phrases.get((word,))
        if entry is not None:
            for at in range(1, len(word)):
                phrases.setdefault((word[:at], word[at:]), entry)


def _add_group(phrases: dict[tuple[str, ...], Entry], group: WordGroup) -> None:
    for words in group.words:
        entry = phrases.setdefault(phrase_tokens(words), Entry())
        entry.dish = entry.dish or group.use == "dish"
        entry.flags += tuple(
            Flag(allergen, group.tier, group.reason, group.use, group.answered_by, group.unless_named)
            for allergen in group.allergens
            if not any(known.allergen == allergen and known.tier in ("contains", group.tier) for known in entry.flags)
        )


def _add_phrases_of_several_words(
    phrases: dict[tuple[str, ...], Entry], friends: Iterable[FalseFriend], related: Mapping[str, frozenset[str]]
) -> None:
    """Add the false friends, and to every phrase what the words in it mean by themselves, the shortest first.

    A phrase says more than its words, never less: "lemon curd" of the egg words is still curd, "sponge cake"
    still cake. What it names itself it decides, for that allergen and its groups and members; what a dish is
    usually made with decides nothing ("prawn toast" is prawn). Only a false friend hides, and only what it looks
    like: "mustard bran" is not wheat, and still mustard.
    """
    hidden: dict[tuple[str, ...], set[str]] = {}
    for friend in friends:
        for before, words in product(friend.before or ("",), friend.words):
            tokens = phrase_tokens(f"{before} {words}")
            hidden.setdefault(tokens, set()).update(friend.looks_like, friend.hides)
            _add_false_friend(phrases.setdefault(tokens, Entry()), friend)
    for tokens in sorted((tokens for tokens in phrases if len(tokens) > 1), key=len):
        entry = phrases[tokens]
        own = [flag for flag in entry.flags if flag.use != "dish"]
        decided = hidden.get(tokens, set()) | {flag.allergen for flag in own}
        if tokens not in hidden:
            decided.update(relative for flag in own for relative in related.get(flag.allergen, ()))
        entry.inherited = tuple(flag for flag in _flags_within(phrases, tokens) if flag.allergen not in decided)
        named = {flag.allergen for flag in entry.inherited}
        entry.flags = tuple(flag for flag in entry.flags if flag.use != "dish" or flag.allergen not in named)


def _add_false_friend(entry: Entry, friend: FalseFriend) -> None:
    own = [Flag(allergen, "contains", friend.reason) for allergen in friend.allergens]
    own += [Flag(allergen, "check_label", friend.reason, "plain", friend.answered_by) for allergen in friend.check]
    raised = {flag.allergen for flag in entry.flags}
    entry.flags += tuple(flag for flag in own if flag.allergen not in raised)
    entry.looks_like = tuple(dict.fromkeys((*entry.looks_like, *friend.looks_like)))


def _flags_within(phrases: Mapping[tuple[str, ...], Entry], tokens: tuple[str, ...]) -> tuple[Flag, ...]:
    """What the words of a longer phrase mean by themselves, longest first; the whole phrase is not asked."""
    flags: dict[tuple[str, Tier], Flag] = {}
    at = 0
    while at < len(tokens):
        for end in range(min(len(tokens), at + len(tokens) - 1), at, -1):
            entry = phrases.get(tokens[at:end]) or phrases.get((*tokens[at : end - 1], singular(tokens[end - 1])))
            if entry is not None:
                for flag in (*entry.flags, *entry.inherited):
                    tier: Tier = "check_label" if flag.use == "unqualified" and at > 0 else flag.tier
                    flags.setdefault(
                        (flag.allergen, tier), flag._replace(use="dish" if flag.use == "dish" else "plain", tier=tier)
                    )
                at = end
                break
        else:
            at += 1
    sure = {allergen for allergen, tier in flags if tier == "contains"}
    return tuple(flag for flag in flags.values() if flag.tier == "contains" or flag.allergen not in sure)


def _spread(phrases: dict[tuple[str, ...], Entry]) -> None:
    """Add the regular spellings and the plurals of every phrase; a phrase written out keeps its own meaning."""
    forms_of: dict[str, list[str]] = {}
    ends_of: dict[str, list[str]] = {}
    for tokens, entry in list(phrases.items()):
        for word in tokens:
            if word not in forms_of:
                forms_of[word] = spelling_variants(word)
        last = tokens[-1]
        ends = ends_of.get(last)
        if ends is None:
            more = plural(last)
            ends = ends_of[last] = forms_of[last] + (spelling_variants(more) if more else [])
        if len(tokens) == 1 or all(len(forms_of[word]) == 1 for word in tokens[:-1]):
            before = tokens[:-1]
            for end in ends[1:]:
                known = phrases.setdefault((*before, end), entry)
                if not before and known is not entry and not known.looks_like:  # "biscuits" in French, and in English
                    named = {flag.allergen for flag in known.flags}
                    known.flags += tuple(flag for flag in entry.flags if flag.allergen not in named)
        else:
            for form in product(*(forms_of[word] for word in tokens[:-1]), ends):
                phrases.setdefault(form, entry)


def _add_statements(phrases: dict[tuple[str, ...], Entry], statements: StatementPhrases) -> None:
    roles: Sequence[tuple[int, tuple[str, ...]]] = (
        (PRECAUTION, statements.precaution),
        (CAUTION, statements.caution),
        (AFTERWARDS, statements.afterwards),
        (DECLARATION, statements.declaration),
        (HEADING, statements.heading),
        (NEGATION, statements.negation),
    )
    for role, written in roles:
        entry = Entry(role=role)
        for phrase in written:
            for words in with_alternatives(phrase):
                phrases.setdefault(phrase_tokens(words), entry)
    nothing = Entry()
    nothing_said = [phrase_tokens(words) for phrase in statements.not_negation for words in with_alternatives(phrase)]
    phrases.update(dict.fromkeys(nothing_said, nothing))
    for phrase in statements.neutral_claims:
        tokens = phrase_tokens(phrase)
        entry = phrases.setdefault(tokens, Entry(_flags_within(phrases, tokens)))  # "high fructose corn syrup" is corn
        entry.claim = entry.neutral = True
    free_of_nothing = [words for words in nothing_said if words[0] == "free"]
    for phrase in statements.claims:
        tokens = phrase_tokens(phrase)
        entry = phrases.setdefault(tokens, Entry())
        entry.claim, entry.neutral = True, not (entry.flags or entry.inherited)
        denial = phrases[(*tokens, "free")] = Entry()
        denial.denies = entry
        not_so = Entry()
        for flag in (*entry.flags, *entry.inherited):
            not_so.flags += (flag._replace(tier="may_contain" if flag.tier == "contains" else flag.tier, use="plain"),)
        for before in (("not",), ("not", "a"), ("isn", "t"), ("aren", "t"), ("never",)):
            phrases[(*before, *tokens, "free")] = not_so
        for tail in free_of_nothing:  # "milk free range eggs": a comma is missing, no milk is denied
            phrases[(*tokens, *tail)] = entry
        phrases[("non", *tokens)] = nothing


def _tree(phrases: Mapping[tuple[str, ...], Entry]) -> dict[str, Node | None]:
    first: dict[str, Node | None] = {}
    for tokens, entry in phrases.items():
        node = first.get(tokens[0])
        if node is None:
            node = first[tokens[0]] = Node()
        for word in tokens[1:]:
            if node.next is None:
                node.next = {}
            following = node.next.get(word)
            if following is None:
                following = node.next[word] = Node()
            node = following
        node.entry = entry
    return first
