"""Allergen ids, their groups, other names for them, and what each law makes a label declare, by date.

Ids belong to no jurisdiction. A group is flagged by every member ("tree_nut" by "almond"), and a word
for the whole group flags every member (a label saying only "tree nuts" flags an almond allergy). Naming
one member never clears the others. What a label says is read in ``label_text``.
"""

import difflib
import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from types import MappingProxyType
from typing import Literal, NamedTuple

from service.domain.errors import OutsideDates, UnknownName
from service.domain.messages import message

DIET_WORDS = frozenset(
    [
        "allergy",
        "allergic",
        "allergen",
        "intolerance",
        "intolerant",
        "sensitivity",
        "sensitive",
        "free",
        "disease",
        "protein",
        "no",
        "without",
        "avoid",
        "to",
        "a",
        "an",
        "alergia",
        "alergico",
        "alergica",
        "intolerancia",
        "intolerante",
        "enfermedad",
        "proteina",
        "sin",
        "al",
        "de",
        "del",
        "la",
        "el",
        "los",
        "las",
        "una",
        "un",
    ]
)
"""What may stand around the name of an allergen when people say what somebody must avoid, in English and Spanish."""
NEAR = 72
"""From this likeness on (of 100) a name is offered for one that is not known."""

Duty = Literal["mandatory", "recommended"]

GS1_MARK = "gs1:"
GS1_NAME = re.compile(rf"{GS1_MARK}(?:AllergenTypeCode-)?([A-Z0-9]+)")
"""A GS1 code where a name is expected, as the GS1 Web Vocabulary shortens its addresses."""

_NAME_WORD = re.compile(r"[^\W_]+")
_JURISDICTION_WORDS = {"UK": "GB", "USA": "US", "AUS": "AU", "NZL": "NZ", "CAN": "CA", "JPN": "JP", "GBR": "GB"}


class Allergen(NamedTuple):
    """One allergen: its id, plain name, GS1 AllergenTypeCode value, members, other names, and the source.

    ``apart``: a food may hold its group and be free of it, as lactose-free milk is milk.
    ``broad``: a whole kind of food ("fruit"): where only the kind is named, each of its members is to be asked about.
    ``content_of``: it is how much there is of what a group brings (gluten, of its cereals): where a food says so, the
    group is judged by it and by ``besides`` (oats), not by its other members.
    """

    id: str
    name: str
    gs1_code: str | None
    members: tuple[str, ...]
    aliases: tuple[str, ...]
    source: str
    status: str
    apart: bool = False
    broad: bool = False
    content_of: str | None = None
    besides: tuple[str, ...] = ()


class LegalRow(NamedTuple):
    """Headings of one law that took effect together and, while ``until`` is open, still hold."""

    jurisdiction: str
    from_: date
    until: date | None
    duty: Duty
    allergens: tuple[str, ...]
    species: tuple[str, ...]
    pending: Duty | None
    law: str
    source: str
    status: str
    note: str


class LegalEntry(NamedTuple):
    """One allergen that a law makes or wishes a label to declare on the day asked for.

    ``species`` are the ids that the law names under this heading, where it narrows or widens it;
    ``pending`` is a duty published as a draft and not adopted.
    """

    allergen: str
    status: Duty
    species: tuple[str, ...]
    pending: Duty | None
    since: date
    law: str
    source: str
    source_status: str
    note: str


@dataclass(frozen=True, slots=True, eq=False)
class AllergenVocabulary:
    """All allergens, what other names mean, and the legal lists; compared and hashed by identity."""

    allergens: Mapping[str, Allergen]
    names: Mapping[str, tuple[str, ...]]
    """Folded name (see ``folded_name``) to the ids it means: one, or several for "shellfish" and "nuts"."""
    legal_rows: tuple[LegalRow, ...]
    contents: Mapping[str, Allergen] = field(default_factory=dict)
    """The allergen that is the content of a group, by its own id and by the group's."""
    by_gs1: Mapping[str, str] = field(default_factory=dict)
    """GS1 AllergenTypeCode -> the id of its allergen."""
    mixed_gs1: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """GS1 codes that are not read because they mix allergens -> the codes to give in their place."""
    _below: Mapping[str, frozenset[str]] = field(default_factory=dict)
    _above: Mapping[str, frozenset[str]] = field(default_factory=dict)

    def groups_of(self, allergen: str) -> frozenset[str]:
        """The groups an allergen belongs to, at any remove, without itself."""
        return self._above.get(allergen, frozenset())

    def members_of(self, allergen: str) -> frozenset[str]:
        """What belongs to a group, at any remove, without itself."""
        return self._below.get(allergen, frozenset())

    @property
    def members(self) -> Mapping[str, frozenset[str]]:
        """For every allergen what belongs to it, at any remove, without itself."""
        return self._below

    @property
    def jurisdictions(self) -> tuple[str, ...]:
        """The jurisdictions with a legal list, ISO 3166 codes and EU."""
        return tuple(sorted({row.jurisdiction for row in self.legal_rows}))


def build_vocabulary(
    allergens: Sequence[Allergen],
    several: Sequence[tuple[Sequence[str], Sequence[str]]] = (),
    legal_rows: Sequence[LegalRow] = (),
    mixed_gs1: Mapping[str, tuple[str, ...]] = MappingProxyType({}),
    other_names: Sequence[tuple[Sequence[str], Sequence[str]]] = (),
) -> AllergenVocabulary:
    """Put a vocabulary together; raises ``UnknownName`` for a member or a legal row with an unknown id.

    Parameters
    ----------
    several: names that stand for more than one allergen, with the ids.
    mixed_gs1: GS1 codes that are not read -> the codes to give in their place.
    other_names: names in other languages, with the ids; a name that means something above keeps that meaning.
    """
    by_id = {allergen.id: allergen for allergen in allergens}
    for allergen in allergens:
        content_of = () if allergen.content_of is None else (allergen.content_of,)
        _all_known(by_id, (*allergen.members, *allergen.besides, *content_of), f"{allergen.id}/members")
    for row in legal_rows:
        _all_known(by_id, (*row.allergens, *row.species), f"{row.jurisdiction}/{row.from_.isoformat()}")
    own = [((one.id, one.name, *one.aliases), (one.id,)) for one in allergens]
    names: dict[str, tuple[str, ...]] = {}
    for words, ids in (*several, *own, *other_names):  # what a name means first, it keeps
        _all_known(by_id, ids, f"names/{'/'.join(words)}")
        for name in words:
            names.setdefault(folded_name(name), tuple(ids))
    below = {id_: frozenset(_closure(by_id, id_)) for id_ in by_id}
    above = {id_: frozenset(other for other in by_id if id_ in below[other]) for id_ in by_id}
    contents = {
        id_: allergen for allergen in allergens if allergen.content_of for id_ in (allergen.id, allergen.content_of)
    }
    by_gs1 = {allergen.gs1_code: allergen.id for allergen in allergens if allergen.gs1_code}
    return AllergenVocabulary(by_id, names, tuple(legal_rows), contents, by_gs1, mixed_gs1, below, above)


def folded_name(name: str) -> str:
    """A name as it is looked up: no case, accents, hyphens or plural endings.

    Source: common practice, no source.
    """
    plain = name.casefold()
    if not plain.isascii():
        parts = unicodedata.normalize("NFKD", plain)
        plain = "".join(letter for letter in parts if not unicodedata.combining(letter)).casefold()
    return " ".join(_singular(word) for word in _NAME_WORD.findall(plain))


def resolve(vocabulary: AllergenVocabulary, name: str) -> tuple[str, ...]:
    """The ids that a given id or everyday name means: "soya" is soy, "shellfish" crustacean and mollusc.

    What people say around the name does not matter: "an allergy to nuts", "lactose intolerance",
    "gluten-free", "milk protein". A GS1 code is marked as one: "gs1:AP" or "gs1:AllergenTypeCode-AP" is peanut.

    Raises ``UnknownName`` with near names when nothing fits.
    """
    marked = GS1_NAME.fullmatch(name.strip())
    if marked is not None:
        return (of_gs1(vocabulary, marked[1]),)
    folded = folded_name(name)
    ids = vocabulary.names.get(folded) or vocabulary.names.get(_without_diet_words(folded))
    if ids is not None:
        return ids
    near = _near_allergens(vocabulary, _without_diet_words(folded) or folded)
    raise UnknownName(
        value=name,
        kind=message("kind.allergen"),
        near=near,
        known=message("help.another-food")
        if near
        else message("help.no-allergen-here", names=sorted(vocabulary.allergens)),
    )


def _near_allergens(vocabulary: AllergenVocabulary, given: str) -> list[str]:
    """The ids whose names are words of what was given ("egg white"), else those that it may be a misspelling of."""
    from rapidfuzz import fuzz, process

    named = [vocabulary.names[word] for word in given.split() if word in vocabulary.names]
    if not named:
        close = process.extract(given, vocabulary.names.keys(), scorer=fuzz.ratio, limit=3, score_cutoff=NEAR)
        named = [vocabulary.names[match] for match, _score, _place in close]
    return list(dict.fromkeys(id_ for ids in named for id_ in ids))


def of_gs1(vocabulary: AllergenVocabulary, code: str) -> str:
    """The allergen that a GS1 AllergenTypeCode stands for, by its value: "AP" is peanut.

    Raises ``UnknownName`` for a code that is not known, and for one that mixes allergens.
    """
    known = vocabulary.by_gs1.get(code)
    if known is None:
        raise UnknownName(
            value=code,
            kind=message("kind.gs1-code"),
            near=vocabulary.mixed_gs1.get(code, ()),
            known=message("help.known", names=sorted(vocabulary.by_gs1)),
        )
    return known


def jurisdiction_code(jurisdiction: str) -> str:
    """The code of a jurisdiction however it was written: "usa" is US, "uk" is GB."""
    code = jurisdiction.strip().upper()
    return _JURISDICTION_WORDS.get(code, code)


def legal_list(vocabulary: AllergenVocabulary, jurisdiction: str, on: date) -> tuple[LegalEntry, ...]:
    """What the law of a jurisdiction makes (or wishes) a label declare on a day, mandatory entries first.

    Raises ``UnknownName`` for a jurisdiction without a list, ``OutsideDates`` for a day before its first row.
    """
    code = jurisdiction_code(jurisdiction)
    rows = [row for row in vocabulary.legal_rows if row.jurisdiction == code]
    if not rows:
        raise UnknownName(
            field="jurisdiction",
            value=jurisdiction,
            kind=message("kind.jurisdiction"),
            known=message("help.known", names=list(vocabulary.jurisdictions)),
        )
    first = min(row.from_ for row in rows)
    if on < first:
        raise OutsideDates(
            field="on",
            value=on.isoformat(),
            problem=message("fault.before-first-list", jurisdiction=code, first=first.isoformat()),
        )
    in_force = [row for row in rows if row.from_ <= on and (row.until is None or on <= row.until)]
    entries = [
        LegalEntry(allergen, row.duty, row.species, row.pending, row.from_, row.law, row.source, row.status, row.note)
        for row in in_force
        for allergen in row.allergens
    ]
    return tuple(sorted(entries, key=lambda entry: (entry.status != "mandatory", entry.allergen)))


def _without_diet_words(folded: str) -> str:
    return " ".join(word for word in folded.split() if word not in DIET_WORDS)


def _singular(word: str) -> str:
    if len(word) > 4 and word.endswith("ies"):
        return word[:-3] + "y"
    if len(word) > 4 and word.endswith(("oes", "ches", "shes")):
        return word[:-2]
    if len(word) > 3 and word.endswith("s") and not word.endswith("ss"):
        return word[:-1]
    return word


def _closure(by_id: Mapping[str, Allergen], id_: str) -> set[str]:
    found: set[str] = set()
    waiting = list(by_id[id_].members)
    while waiting:
        member = waiting.pop()
        if member not in found:
            found.add(member)
            waiting.extend(by_id[member].members)
    return found


def _all_known(by_id: Mapping[str, Allergen], ids: Sequence[str], pointer: str) -> None:
    for id_ in ids:
        if id_ not in by_id:
            near = difflib.get_close_matches(id_, by_id, n=3)
            raise UnknownName(pointer=pointer, value=id_, kind=message("kind.allergen-id"), near=near)
