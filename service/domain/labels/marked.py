"""A label's text cut at the places where its reader found something, so that the words can be marked where they stand."""

from collections.abc import Iterable
from typing import NamedTuple

from service.domain.labels.evidence import Field, LabelEvidence
from service.domain.labels.words import Tier


class Named(NamedTuple):
    """An allergen that words stand for, and how sure that is."""

    allergen: str
    tier: Tier


class Piece(NamedTuple):
    """Some letters of the text, and what they were found to name; nothing where they are only text."""

    text: str
    named: tuple[Named, ...] = ()


def marked(text: str, evidence: Iterable[LabelEvidence], field: Field) -> list[Piece]:
    """The text of a field in pieces that, put together, are the text again; what overlaps is one piece.

    ``evidence``: what was read, as ``LabelReading.evidence``; that of other fields is passed over.

    >>> from service.reference.labels.words import label_words
    >>> from service.domain.labels.reader import read_label
    >>> text = "Sugar, butter."
    >>> [(one.text, one.named) for one in marked(text, read_label(label_words(), text).evidence, "ingredients")]
    [('Sugar, ', ()), ('butter', (Named(allergen='milk', tier='contains'),)), ('.', ())]
    """
    pieces: list[Piece] = []
    done = 0
    for start, end, named in _joined(sorted((row.start, row.end, row) for row in evidence if row.field == field)):
        if start > done:
            pieces.append(Piece(text[done:start]))
        pieces.append(Piece(text[start:end], named))
        done = end
    if done < len(text):
        pieces.append(Piece(text[done:]))
    return pieces


def _joined(places: Iterable[tuple[int, int, LabelEvidence]]) -> Iterable[tuple[int, int, tuple[Named, ...]]]:
    """Places in their order, those that overlap as one, each allergen and tier once in it."""
    found: list[tuple[int, int, tuple[Named, ...]]] = []
    for start, end, row in places:
        one = Named(row.allergen, row.tier)
        if found and start < found[-1][1]:
            before, until, named = found[-1]
            found[-1] = (before, max(until, end), named if one in named else (*named, one))
        else:
            found.append((start, end, (one,)))
    return found
