"""The shape of the allergen vocabulary and the legal lists; that of the label words stands in ``label_word_models``."""

from datetime import date
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, model_validator

from service.reference.files import DataStatus, FileModel, Noted, Sourced

Id = Annotated[str, Field(pattern=r"^[a-z][a-z_]*$")]


def split_at_commas(value: object) -> object:
    """Cut a list written as text, with commas between."""
    return tuple(part.strip() for part in value.split(",")) if isinstance(value, str) else value


Ids = Annotated[tuple[Id, ...], BeforeValidator(split_at_commas)]
"""Allergen ids with commas between."""
Names = Annotated[tuple[str, ...], BeforeValidator(split_at_commas)]
"""Everyday names with commas between."""


class AllergenRow(FileModel):
    """One allergen; ``source`` and ``status`` are those of the file unless given."""

    id: Id
    name: str
    gs1: Annotated[str, Field(pattern=r"^[A-Z]{2,3}$")] | None = None
    members: Ids = ()
    aliases: Names = ()
    apart: bool = False
    broad: bool = False
    content_of: Id | None = None
    besides: Ids = ()
    source: str | None = None
    status: DataStatus | None = None


class NamesRow(FileModel):
    """Names that stand for more than one allergen."""

    names: Names
    allergens: Ids


class SeveralRow(NamesRow, Sourced):
    """The same with a source of its own."""


Gs1Code = Annotated[str, Field(pattern=r"^[A-Z]{2,3}$")]


class MixedGs1Row(Sourced):
    """A GS1 code that is not read, and the codes to give in its place."""

    code: Gs1Code
    codes: Names


class VocabularyFile(Sourced):
    """vocabulary.toml"""

    allergen: tuple[AllergenRow, ...]
    several: tuple[SeveralRow, ...]
    mixed_gs1: tuple[MixedGs1Row, ...]


class OtherNamesFile(Sourced):
    """spanish_names.toml: what people call each allergen in another language."""

    names: dict[Id, Names]
    several: tuple[NamesRow, ...]


SystemId = Literal["snomed", "unii", "gs1"]


class SystemRow(FileModel):
    """A system of codes: its address, and the version that was read where it has one."""

    id: SystemId
    uri: str
    version: str | None = None


class CodeRow(FileModel):
    """A code and the allergens it means; ``source`` and ``status`` are those of the file unless given."""

    system: SystemId
    code: str
    display: str
    allergens: Ids
    written: bool = False
    source: str | None = None
    status: DataStatus | None = None


class CodesFile(Sourced):
    """codes.toml"""

    system: tuple[SystemRow, ...]
    code: tuple[CodeRow, ...]

    @model_validator(mode="after")
    def _once(self) -> "CodesFile":
        codes = [(row.system, row.code) for row in self.code]
        written = [(row.system, row.allergens) for row in self.code if row.written]
        if len(set(codes)) != len(codes) or len(set(written)) != len(written):
            raise ValueError("a code appears twice, or two codes of a system are written for one allergen")
        if any(len(row.allergens) != 1 for row in self.code if row.written):
            raise ValueError("a code that is written means one allergen")
        return self


class LegalFileRow(Noted):
    """One dated row of a legal list, or ``same_as`` another jurisdiction's rows."""

    jurisdiction: Annotated[str, Field(pattern=r"^[A-Z]{2}$")]
    from_: date = Field(alias="from")
    until: date | None = None
    duty: Literal["mandatory", "recommended"]
    allergens: Ids = ()
    species: Ids = ()
    same_as: Annotated[str, Field(pattern=r"^[A-Z]{2}$")] | None = None
    pending: Literal["mandatory", "recommended"] | None = None
    law: str

    @model_validator(mode="after")
    def _says_what(self) -> "LegalFileRow":
        if bool(self.allergens) == bool(self.same_as):
            raise ValueError("give either allergens or same_as")
        if self.until is not None and self.until < self.from_:
            raise ValueError("until lies before from")
        return self


class LegalListsFile(FileModel):
    """legal_lists.toml"""

    row: tuple[LegalFileRow, ...]
