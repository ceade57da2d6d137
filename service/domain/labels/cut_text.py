"""A label's text cut into words, and what the marks between them do: join words, end sentences, open brackets.

Looking around is bounded or worked out once for the whole text, so that time grows evenly with length.
"""

import re
from collections.abc import Iterator, Sequence
from typing import Final

from service.domain.labels.spelling import LONGEST_WORD, SCANNED, look_at_unknown
from service.domain.labels.words import ASCII_TOKEN, TOKEN, LabelWords

FURTHEST_LOOK: Final = 40
"""How many words are looked at around a word, for a list of oils, a source in brackets, a list of denials."""

OPENERS: Final = "([{<"
CLOSERS: Final = ")]}>"
LINKS: Final = frozenset({"and", "or", "&", "nor"})

_EMPHASIS: Final = "*_+^\u2020\u2021"
_GAPS: Final = frozenset({" ", "-", "", "'", "  ", "- ", " -", "\n", " \n", "\r\n", "\t", "' ", "-\n", "- \n", "   "})
_BROKEN_WORD: Final = re.compile(r"-[ \t]*(?:\r?\n[ \t]*| )")
_LOOKS_SCANNED: Final = re.compile(r"[013-9@$!|](?:(?=[a-z]{2})|(?<=[a-z].)(?=[a-z0-9]))")
"""A digit or mark within a word, as a scanner may leave it: "m1lk", "s0ya", "cre@m"."""
_SPACED: Final = re.compile(r"[ .-][a-z][ .-][a-z]\b")
"""Letters with a space, a point or a hyphen after each, as in "m i l k"."""
_BETWEEN_LETTERS: Final = (" ", ".", "-")
_MIXED: Final = re.compile(r"[a-z0-9@$!|]*(?:[013-9@$!|][a-z]|[a-z][013-9@$!|])[a-z0-9@$!|]*")
_FIGURE: Final = re.compile(r"[0-9]+(?:g|mg|kg|ml|l|kj|kcal)")
"""An amount with its unit: "36g" is no "egg"."""
_MEANT: Final = tuple(
    str.maketrans(dict(zip("013456789@$!|", letters, strict=True))) for letters in ("oleasgtbgasll", "oieasbzbgasii")
)
"""The letters that digits and marks are mistaken for; 1 is l or i, 6 is g or b, 7 is t or z."""
_E_NUMBER: Final = re.compile(r"\be\.(?= ?[1-9][0-9]{2})")
BREAKS: Final = frozenset("\n\r\t")
"""Ends of lines and of the cells of a table."""
_COMMAS: Final = frozenset(",;.")
_RUNS_ON: Final = frozenset({"and", "or", "&", "nor", "of", "from", "no", "with", "the"})
_JAPANESE: Final = re.compile("[\u3040-\u30ff\u4e00-\u9fff]")
_LONGEST_JAPANESE: Final = 12


def is_gap(separator: str) -> bool:
    """Whether what stands between two words lets them belong together (spaces, a hyphen, an apostrophe).

    Marks of emphasis or of a footnote count as nothing when they touch the word before ("_peanut_ butter",
    "peanut* butter"); one that only touches the word after may be the point of a list.
    """
    if separator in _GAPS:
        return True
    if separator[0] in _EMPHASIS:
        separator = separator.strip(_EMPHASIS)
    marks = separator.strip()
    if marks in ("", "'"):
        return True
    return marks == "-" and not (separator[0].isspace() and separator[-1] in " \t")


def is_list_mark(separator: str) -> bool:
    """Whether what ends a sentence here may as well separate the items of a list: a semicolon, a bullet, a bar."""
    return (";" in separator or "|" in separator) and not any(mark in separator for mark in ".!([{)]}")


def begins_list(separator: str) -> bool:
    """Whether what stands after "may contain" only opens its list: a colon, a bullet, a new paragraph."""
    return not any(mark in separator for mark in ".!([{)]}")


def digits_as_letters(words: LabelWords, folded: str) -> str:
    """The text, of the same length, with words that a scanner read with digits put as the word for an allergen."""

    def meant(found: re.Match[str]) -> str:
        if _FIGURE.fullmatch(found[0]):
            return found[0]
        for letters in _MEANT:
            word = found[0].translate(letters)
            if word in words.single:
                return word
            for scanned, meant_by_it in SCANNED:  # "rn1lk"
                put_right = word.replace(scanned, meant_by_it)
                if put_right in words.single:
                    return put_right.ljust(len(word))
        return found[0]

    return _MIXED.sub(meant, folded)


def _cut_japanese(words: LabelWords, parts: Sequence[str]) -> Iterator[str]:
    """Cut runs of Japanese letters into the words known, the longest first, and what is left between them."""
    yield parts[0]
    for at in range(1, len(parts), 2):
        run, unknown, here = parts[at], 0, 0
        if not _JAPANESE.match(run):
            yield from parts[at : at + 2]
            continue
        pieces: list[str] = []
        while here < len(run):
            furthest = min(len(run), here + _LONGEST_JAPANESE)
            end = next((end for end in range(furthest, here, -1) if run[here:end] in words.japanese), here)
            if end > here:
                pieces += [run[unknown:here], run[here:end]] if here > unknown else [run[here:end]]
                unknown = end
            here = max(end, here + 1)
        pieces += [run[unknown:]] if unknown < len(run) else []
        for piece in pieces[:-1]:
            yield piece
            yield ""
        yield pieces[-1]
        yield parts[at + 1]


def places_apart(parts: Sequence[str], tokens: Sequence[str]) -> frozenset[int]:
    """The words that a line break or tab parts from the word before: items of a list with one to a line.

    A break in a sentence that holds commas may be one that a long text runs over; so may one after "and".
    """
    found: list[int] = []
    commas = False
    for at in range(1, len(tokens)):
        separator = parts[2 * at]
        if BREAKS.isdisjoint(separator):
            commas = (commas or not _COMMAS.isdisjoint(separator)) and not ends_sentence(parts, at - 1, len(tokens))
            continue
        marked = separator.strip()
        if marked[:1] not in _COMMAS and not (commas and not marked) and tokens[at - 1] not in _RUNS_ON:
            found.append(at)
        commas = False
    return frozenset(found)


class CutText:
    """Words and what separates them: ``parts[2 * n]`` stands before word n, ``parts[2 * n + 1]`` is word n.

    ``tokens`` are the words as looked up, which differ from the parts where a broken or misspelt word was
    put right.
    """

    __slots__ = ("_ends", "_unclosed", "apart", "broken", "parts", "tokens", "words")

    def __init__(self, words: LabelWords, folded: str) -> None:
        self.words = words
        if _LOOKS_SCANNED.search(folded):
            folded = digits_as_letters(words, folded)
        if "e." in folded:
            folded = _E_NUMBER.sub("e ", folded)
        self.broken = any(mark in folded for mark in BREAKS)
        """Whether the text has line breaks or tabs."""
        self.parts: list[str] = (ASCII_TOKEN if folded.isascii() else TOKEN).split(folded)
        if not folded.isascii() and _JAPANESE.search(folded):
            self.parts = list(_cut_japanese(words, self.parts))
        self.tokens: list[str] = self.parts[1::2]
        if _SPACED.search(folded) or "-\n" in folded or "- " in folded or "-\r" in folded:
            self._join_broken_words()
        self._settle_marks()

    def _settle_marks(self) -> None:
        """Work out what depends on the places of the words; to be called again when they have been cut anew."""
        self.apart = places_apart(self.parts, self.tokens) if self.broken else frozenset()
        self._ends: list[int] | None = None
        self._unclosed: frozenset[int] = frozenset()

    def ends(self) -> list[int]:
        """For every word, the word before which its sentence ends, or the bracket it stands in."""
        if self._ends is None:  # most texts neither warn nor deny: then nobody asks
            self._ends, self._unclosed = region_ends(self.parts, len(self.tokens))
        return self._ends

    def is_in_unclosed_bracket(self, at: int) -> bool:
        """Whether a word stands in brackets that are never closed."""
        self.ends()
        return at in self._unclosed

    def _join_broken_words(self) -> None:
        """Read a word that a hyphen cuts, mostly at the end of a line, as one, if it is known as one ("mi-", "lk")."""
        parts, tokens = self.parts[:1], self.tokens[:0]
        here, count = 0, len(self.tokens)
        while here < count:
            printed, token = self.parts[2 * here + 1], self.tokens[here]
            after = self.parts[2 * here + 2]
            spaced = self._spaced_letters(here) if len(token) == 1 and after in _BETWEEN_LETTERS else here
            if spaced > here:
                printed = "".join(self.parts[2 * here + 1 : 2 * spaced + 2])
                token = "".join(self.tokens[here : spaced + 1])
                here, after = spaced, self.parts[2 * spaced + 2]
            elif here + 1 < count and _BROKEN_WORD.fullmatch(after) and len(token) <= LONGEST_WORD:
                joined = token + self.tokens[here + 1]
                if self._is_one_word(joined, self.tokens[here + 1], at_line_end="\n" in after):
                    here += 1
                    printed, token = printed + after + self.parts[2 * here + 1], joined
                    after = self.parts[2 * here + 2]
            parts += (printed, after)
            tokens.append(token)
            here += 1
        self.parts, self.tokens = parts, tokens

    def _spaced_letters(self, start: int) -> int:
        """The last letter of a word printed with a space or the like after each letter: "m i l k", "m-i-l-k".

        The first letter if there is no such word.
        """
        end = start
        while end + 1 < len(self.tokens) and end - start < LONGEST_WORD:
            if len(self.tokens[end + 1]) > 1 or self.parts[2 * end + 2] not in _BETWEEN_LETTERS:
                break
            end += 1
        while end > start and "".join(self.tokens[start : end + 1]) not in self.words.single:
            end -= 1
        return end

    def _is_one_word(self, joined: str, second: str, *, at_line_end: bool) -> bool:
        if at_line_end:
            return (
                joined in self.words.plain
                or joined in self.words.known
                or look_at_unknown(self.words, joined) is not None
            )
        return joined in self.words.single and self.words.first.get(second) is None


def region_ends(parts: Sequence[str], count: int) -> tuple[list[int], frozenset[int]]:
    """For every word, the word before which its sentence ends, or the bracket it stands in, whichever is first.

    And the words in brackets that are never closed.
    """
    sentence = [count] * (count + 1)
    following = count
    for at in range(count - 1, -1, -1):
        if ends_sentence(parts, at, count):
            following = at + 1
        sentence[at] = following
    bracket = [count] * count
    open_words: list[list[int]] = [[]]
    for at in range(count):
        for mark in parts[2 * at]:
            if mark in OPENERS:
                open_words.append([])
            elif mark in CLOSERS:
                for inner in open_words.pop():
                    bracket[inner] = at
                if not open_words:
                    open_words.append([])
        open_words[-1].append(at)
    closed_at_the_end = sum(mark in CLOSERS for mark in parts[2 * count])
    unclosed = frozenset(at for inner in open_words[1 : len(open_words) - closed_at_the_end] for at in inner)
    return [min(sentence[at], bracket[at]) for at in range(count)], unclosed


def sentence_start(parts: Sequence[str], at: int) -> int:
    """The first word of the sentence that a word stands in; not further back than the words looked at."""
    furthest = max(0, at - FURTHEST_LOOK)
    while at > furthest and not ends_sentence(parts, at - 1, len(parts) // 2):
        at -= 1
    return at


def next_colons(parts: Sequence[str], count: int) -> list[int]:
    """For every word, the next word after it that has a colon straight after it (a heading), or the count."""
    found = [count] * (count + 1)
    for at in range(count - 1, -1, -1):
        found[at] = at if ":" in parts[2 * at + 2] else found[at + 1]
    return found


def sentence_end(parts: Sequence[str], at: int) -> int:
    """The word after the sentence that a word stands in, as far as the words looked at."""
    count = len(parts) // 2
    furthest = min(count, at + FURTHEST_LOOK)
    while at < furthest and not ends_sentence(parts, at, count):
        at += 1
    return min(at + 1, count)


def ends_sentence(parts: Sequence[str], at: int, count: int) -> bool:
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
    return not ((word.isdigit() and following.isdigit()) or (len(word) == 1 and len(following) == 1 and word.isascii()))
