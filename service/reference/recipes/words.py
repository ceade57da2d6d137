"""The units and words of ingredient lines: reference_data/recipes/units.toml and words.toml."""

from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from pydantic import Field, model_validator

from service.domain.errors import ReferenceFault
from service.domain.recipes.vocabulary import Unit, UnitKind, Vocabulary
from service.reference.files import FileModel, Noted, Sourced, data_path, read_toml

WHERE = "recipes/units.toml"


class UnitSize(Noted):
    """How large a unit is in some countries; either its weight or its volume."""

    countries: list[str] = Field(min_length=1)
    grams: Decimal | None = Field(None, gt=0)
    millilitres: Decimal | None = Field(None, gt=0)

    @model_validator(mode="after")
    def _one_size(self) -> "UnitSize":
        if (self.grams is None) == (self.millilitres is None):
            raise ValueError("give either grams or millilitres")
        return self


class UnitRow(FileModel):
    """One unit and the words that mean it."""

    id: str
    kind: UnitKind
    words: list[str] = Field(min_length=1)
    exact: list[str] = []
    after_food: bool = False
    size: list[UnitSize] = []


class UnitsFile(FileModel):
    """All units."""

    title: str
    unit: list[UnitRow]


class WordsFile(Sourced):
    """All other words."""

    title: str
    numbers: dict[str, str]
    about: list[str]
    sizes: list[str]
    heaped: list[str]
    vague: list[str]
    compounds: list[str]
    preparations: list[str]
    manners: list[str]
    kept_with: list[str]
    parts: list[str]
    describing: list[str]
    no_other_food: list[str]
    plain_kinds: list[str]
    notes: list[str]
    notes_behind_a_comma: list[str]
    one_food: list[str]
    poured: list[str]


@lru_cache(maxsize=1)
def vocabulary() -> Vocabulary:
    """What the reader of ingredient lines knows; ``ReferenceFault`` for a word of two units or a size of the wrong kind."""
    rows = read_toml(data_path(WHERE), UnitsFile).unit
    words = read_toml(data_path("recipes/words.toml"), WordsFile)
    units: dict[str, Unit] = {}
    exact: dict[str, Unit] = {}
    by_id: dict[str, Unit] = {}
    for row in rows:
        unit = Unit(row.id, row.kind, _sizes(row), row.after_food)
        by_id[row.id] = unit
        for known, spellings in ((units, row.words), (exact, row.exact)):
            for word in spellings:
                if word in known:
                    raise _fault(row, word, "means two units", "Leave it in one of them.")
                known[word] = unit
    return Vocabulary(
        units,
        exact,
        by_id,
        {word: Fraction(value) for word, value in words.numbers.items()},
        frozenset(words.about),
        frozenset(words.sizes),
        frozenset(words.heaped),
        frozenset(words.vague),
        frozenset(words.compounds),
        frozenset(words.preparations),
        frozenset(words.manners),
        frozenset(words.kept_with),
        frozenset(words.parts),
        frozenset(words.describing),
        frozenset(words.no_other_food),
        frozenset(words.plain_kinds),
        tuple(sorted(words.notes, key=len, reverse=True)),
        frozenset(words.notes_behind_a_comma),
        tuple(words.one_food),
        frozenset(words.poured),
    )


def _sizes(row: UnitRow) -> dict[str, Fraction]:
    """By country, in milligrams or microlitres."""
    found: dict[str, Fraction] = {}
    for size in row.size:
        given = size.grams if row.kind == "mass" else size.millilitres
        if row.kind not in ("mass", "volume") or given is None:
            raise _fault(
                row, row.kind, "does not go with this size", "Give grams for a mass and millilitres for a volume."
            )
        for country in size.countries:
            if country in found:
                raise _fault(row, country, "has two sizes", "Leave one of them.")
            found[country] = Fraction(given) * 1000
    return found


def _fault(row: UnitRow, value: str, problem: str, remedy: str) -> ReferenceFault:
    return ReferenceFault(pointer=f"{WHERE}#/{row.id}", value=value, problem=problem, remedy=remedy)
