"""How words are folded before they are looked up, and what an unknown word may be.

Folding is letter by letter (compatibility forms, no case, no accents), so that every found word leads
back to its place in the text as printed. An unknown word is cut where it is made of known words run
together ("soybeanoil"), else checked against the known words for a slip of the keys ("chedadr"). A slip
(neighbouring letters swapped, a letter doubled, a double letter written once) counts as the word meant;
any other near miss is only raised for checking. Nothing is ever cleared by likeness.
"""

import unicodedata
from collections.abc import Iterable, Sequence
from typing import Final

from service.domain.labels.mark_up import without_mark_up
from service.domain.labels.words import PIECES, Entry, Flag, LabelWords, Node, Tier
from service.domain.messages import Message, message

LONGEST_WORD: Final = 40
"""Letters; longer runs are searched for known words and raised for checking as a whole."""
REMEMBERED: Final = 60_000
"""How many different first words a vocabulary holds before unknown ones are no longer remembered."""
SHORTEST_NEAR: Final = 5
SHORTEST_UNLIKE: Final = 6
"""Letters a word must have for a near miss that is not a slip of the keys."""
LONG_WORD: Final = 12
"""Letters from which on an unknown word is searched for known words within: "skimmedmilkpowder"."""
LONGEST_PIECE: Final = 16
MOST_PIECES: Final = 5

_SPECIAL = {
    "œ": "oe",
    "æ": "ae",
    "ø": "o",
    "ł": "l",
    "đ": "d",
    "ð": "d",
    "þ": "th",
    "ı": "i",
    "’": "'",
    "‘": "'",
    "ʼ": "'",
    "`": "'",
    "´": "'",
    "™": " ",
    "®": " ",
    "©": " ",
    "℠": " ",
    "•": ";",
    "·": ";",
    "。": ".",
    "⁄": "/",
}


SCANNED: Final = (("rn", "m"), ("vv", "w"), ("cl", "d"), ("ii", "u"))
"""Letters that a scanner reads for others: "rnilk", "cashevvs"."""


class _Folding(dict[int, str]):
    """Letter to its folded form, worked out when first met (at most once for every Unicode letter)."""

    def __missing__(self, code: int) -> str:
        folded = self[code] = _fold_letter(chr(code))
        return folded


def _fold_letter(letter: str) -> str:
    if letter in _SPECIAL:
        return _SPECIAL[letter]
    lower = letter.casefold()
    if lower in _SPECIAL:
        return _SPECIAL[lower]
    category = unicodedata.category(letter)
    if category in ("Cf", "Mn", "Me"):
        return ""
    if category in ("Zl", "Zp") or letter in "\v\f\x85":
        return "\n"
    if category == "Zs":
        return " "
    if "\u3040" <= letter <= "\u30ff":  # the marks of a kana belong to it
        return letter
    if category == "Pd":
        return "-"
    if category == "No" and unicodedata.decomposition(letter).startswith("<super>"):
        return "*"
    parts = unicodedata.normalize("NFKD", letter).casefold()
    return "".join(_SPECIAL.get(part, part) for part in parts if not unicodedata.combining(part))


_FOLDING = _Folding()


def fold(text: str) -> tuple[str, list[int] | None]:
    """The folded text, and for each of its letters the place in the text as printed.

    The places are ``None`` when both are the same, as for plain ASCII. Tags and the like are left out.
    """
    if "<" in text or "&" in text or "*" in text or "_" in text:
        text = without_mark_up(text)
    if text.isascii():
        return text.lower(), None
    folded = text.translate(_FOLDING)
    if all(len(_FOLDING[ord(letter)]) == 1 for letter in set(text)):
        return folded, None
    places: list[int] = []
    for place, letter in enumerate(text):
        places.extend([place] * len(_FOLDING[ord(letter)]))
    return folded, places


def look_at_unknown(words: LabelWords, word: str) -> Node | None:
    """What a word that begins no phrase is: run-together words, a misspelling, or nothing; remembered."""
    if word in words.first:
        return words.first[word]
    found = _judge(words, word)
    if len(words.first) < REMEMBERED and len(word) <= LONGEST_WORD:
        words.first[word] = found
    return found


def _judge(words: LabelWords, word: str) -> Node | None:
    if len(word) < SHORTEST_NEAR or word in words.plain or not word.isalpha():
        return None
    if len(word) > LONGEST_WORD:
        return _searched(words, word)
    compound = _compound(words, word)
    if compound:
        return _node(Entry(compound))
    for scanned, meant in SCANNED:
        if scanned in word and word.replace(scanned, meant) in words.single:
            entry = Entry(role=PIECES)
            entry.pieces = (word.replace(scanned, meant),)
            return _node(entry)
    cut = cut_run_together(words, word)
    if cut:
        entry = Entry(role=PIECES)
        entry.pieces = cut
        return _node(entry)
    likely = _near_miss(words, word) or _begins_or_ends(words, word) or _resembles_a_name(words, word)
    if likely is None and len(word) >= LONG_WORD and word not in words.known:
        return _searched(words, word)
    return likely


def _compound(words: LabelWords, word: str) -> tuple[Flag, ...]:
    """What a word made of several means by the stem it begins with, and may mean by the one it ends with."""
    if word in words.known:
        return ()
    lengths = range(min(len(word), LONGEST_PIECE), 3, -1)
    flags = next((words.stems[word[:length]] for length in lengths if word[:length] in words.stems), ())
    last = next((words.endings[word[-length:]] for length in lengths if word[-length:] in words.endings), ())
    sure = {flag.allergen for flag in flags}
    return flags + tuple(flag._replace(tier="check_label") for flag in last if flag.allergen not in sure)


def cut_run_together(words: LabelWords, word: str) -> tuple[str, ...]:
    """Cut a word into known words, as few as will do, one of them an allergen's; nothing if it cannot be."""
    if len(word) <= SHORTEST_NEAR:
        return ()
    best: list[tuple[str, ...] | None] = [None] * (len(word) + 1)
    best[len(word)] = ()
    for start in range(len(word) - 3, -1, -1):
        for end in range(start + 3, min(len(word), start + LONGEST_PIECE) + 1):
            rest = best[end]
            piece = word[start:end]
            if rest is None or len(rest) >= MOST_PIECES or piece not in words.pieces:
                continue
            here = best[start]
            if here is None or len(rest) + 1 < len(here):
                best[start] = (piece, *rest)
    cut = best[0] or ()
    if len(cut) < 2 or not any(piece in words.single for piece in cut):
        return ()
    return cut


def _near_miss(words: LabelWords, word: str) -> Node | None:
    candidates = {
        known
        for known in _one_edit_away(words, word)
        if known in words.proper and known[0] == word[0] and (len(known) >= SHORTEST_UNLIKE or _is_slip(word, known))
    }
    if not candidates:
        return None
    slips = sorted(known for known in candidates if _is_slip(word, known))
    flags: dict[tuple[str, Tier], Flag] = {}
    for known in slips or sorted(candidates):
        for flag in words.single[known].flags:
            reason = (
                message("label-reason.misspelling", known=known)
                if slips
                else message("label-reason.maybe-misspelling", known=known)
            )
            tier: Tier = flag.tier if slips else "check_label"
            flags.setdefault((flag.allergen, tier), Flag(flag.allergen, tier, reason))
    return _node(Entry(tuple(flags.values())))


def _one_edit_away(words: LabelWords, word: str) -> set[str]:
    """The names of allergens, and what compounds begin with, that are one edit away from a word."""
    if not words.near:
        _fill_near(words)
    candidates = set(words.near.get(word, ()))
    for at in range(len(word)):
        candidates.update(words.near.get(word[:at] + word[at + 1 :], ()))
    return {known for known in candidates if _one_edit(word, known)}


def _fill_near(words: LabelWords) -> None:
    near: dict[str, list[str]] = {}
    for known in words.names.union(words.stems):
        if len(known) < SHORTEST_NEAR:
            continue
        for key in {known, *(known[:at] + known[at + 1 :] for at in range(len(known)))}:
            near.setdefault(key, []).append(known)
    words.near.update((key, tuple(found)) for key, found in near.items())
    stems: dict[str, list[str]] = {}
    for known in words.proper:
        if len(known) >= SHORTEST_UNLIKE or known in _SHORT_STEMS:
            stems.setdefault(known[:4], []).append(known)
    words.long_runs.update((key, tuple(found)) for key, found in stems.items())


def _one_edit(word: str, known: str) -> bool:
    """Whether one letter dropped, added or changed, or two neighbours swapped, makes one word the other."""
    if abs(len(word) - len(known)) > 1 or word == known:
        return False
    start = 0
    while start < min(len(word), len(known)) and word[start] == known[start]:
        start += 1
    left, right = word[start:], known[start:]
    if len(word) > len(known):
        return left[1:] == right
    if len(word) < len(known):
        return left == right[1:]
    return left[1:] == right[1:] or (left[:2] == right[1::-1] and left[2:] == right[2:])


def _is_slip(word: str, known: str) -> bool:
    """Whether the one edit is a swap of neighbours, a letter doubled, or a double letter written once."""
    if len(word) == len(known):
        return sorted(word) == sorted(known)
    longer, shorter = (word, known) if len(word) > len(known) else (known, word)
    at = next((place for place, letter in enumerate(shorter) if letter != longer[place]), len(shorter))
    return at > 0 and longer[at] == longer[at - 1]


def _begins_or_ends(words: LabelWords, word: str) -> Node | None:
    for length in range(min(len(word) - 1, LONGEST_PIECE), 2, -1):
        for part in (word[:length], word[-length:]):
            if (length >= SHORTEST_UNLIKE or part in _SHORT_STEMS) and part in words.proper:
                return _check_only(words, (part,), message("label-reason.begins-or-ends", known=part))
    return None


def _resembles_a_name(words: LabelWords, word: str) -> Node | None:
    """Raise for checking what a word of no table is like, begins like or ends like, in any language.

    "Haselnüse" is like "Haselnüsse", "torskfilé" begins with "torsk", "Rohmlich" ends like "Milch".
    """
    if word in words.known:
        return None
    lengths = range(min(len(word) - 2, LONGEST_PIECE), SHORTEST_NEAR - 1, -1)
    beginnings = [word[:length] for length in lengths]
    endings = [word[-length:] for length in lengths if length >= SHORTEST_UNLIKE]
    alike = [*_like(words, [word], SHORTEST_NEAR), *_like(words, beginnings), *_like(words, endings)]
    if not alike:
        return None
    if alike[0] in word:
        return _check_only(words, alike, message("label-reason.begins-or-ends", known=alike[0]))
    return _check_only(words, alike, message("label-reason.maybe-misspelling", known=alike[0]))


def _like(words: LabelWords, parts: Sequence[str], shortest: int = SHORTEST_UNLIKE) -> list[str]:
    """The names that the first part that is one, or is one edit away from one, stands for."""
    for part in parts:
        if part in words.names:
            return [part]
        near = _one_edit_away(words, part)
        alike = sorted(known for known in near if len(known) >= shortest or known in words.stems)
        if alike:
            return alike
    return []


_SHORT_STEMS = frozenset(
    [
        "milk",
        "whey",
        "fish",
        "crab",
        "tofu",
        "wheat",
        "cream",
        "pecan",
        "prawn",
        "squid",
        "lupin",
        "tuna",
        "soy",
        "soya",
        "egg",
        "eggs",
        "yolk",
        "mayo",
        "dairy",
        "durum",
        "gouda",
        "kefir",
        "queso",
        "krill",
        "clams",
        "crabs",
        "trout",
        "flour",
        "nuts",
        "oats",
        "curds",
    ]
)
"""Words too short to be checked against by rule that still begin or end hardly another word on labels."""


def _searched(words: LabelWords, word: str) -> Node | None:
    """Known words anywhere in a long run of letters, raised for checking; time grows with its length."""
    if not words.long_runs:
        _fill_near(words)
    flags: dict[str, Flag] = {}
    stems_of = words.long_runs.get
    for at in range(len(word) - 3):
        for stem in stems_of(word[at : at + 4], ()):
            if word.startswith(stem, at):
                for flag in words.single[stem].flags:
                    reason = message("label-reason.long-run", stem=stem)
                    flags.setdefault(flag.allergen, Flag(flag.allergen, "check_label", reason))
    return _node(Entry(tuple(flags.values()))) if flags else None


def _check_only(words: LabelWords, names: Iterable[str], reason: str | Message) -> Node:
    flags = [words.stems[known] if known in words.stems else words.single[known].flags for known in names]
    allergens = dict.fromkeys(flag.allergen for some in flags for flag in some)
    return _node(Entry(tuple(Flag(allergen, "check_label", reason) for allergen in allergens)))


def _node(entry: Entry) -> Node:
    entry.settle()
    node = Node()
    node.entry = entry
    return node
