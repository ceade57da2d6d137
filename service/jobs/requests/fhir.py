"""FHIR R4 lists of allergies as other programs send them: one AllergyIntolerance, or a Bundle with some.

Only what says what must be avoided is read; other elements, and other resources of a Bundle, are passed over. An element
that may change the meaning of the rest is refused where the list is read (``avoids_from_fhir``), as FHIR asks.
Source: HL7 FHIR R4 (4.0.1), AllergyIntolerance and Bundle.
"""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Discriminator, Field, RootModel, Tag

from service.jobs.requests.fields import AS_ALLERGY, AS_BUNDLE, AS_OTHER, ONE_LINE

MOST_ENTRIES = 500
Text = Annotated[str, Field(max_length=500, pattern=ONE_LINE)]


class FhirPart(BaseModel):
    """A part of a FHIR resource: elements that are not read here may be in it."""

    model_config = ConfigDict(
        extra="ignore", strict=True, defer_build=True, json_schema_extra={"additionalProperties": True}
    )


class FhirCoding(FhirPart):
    """A code of a system."""

    system: Text | None = Field(None, description="Address of the system of codes, e.g. http://snomed.info/sct.")
    code: Text | None = Field(None, description="The code in that system.")
    display: Text | None = Field(None, description="What the code means, for people; not read.")


class FhirConcept(FhirPart):
    """Something said by codes, by a text, or by both."""

    coding: Annotated[list[FhirCoding], Field(max_length=50)] = Field(
        default_factory=list, description="The same thing in one or more systems of codes."
    )
    text: Text | None = Field(None, description="The same in words; read where there is no code.")

    def codes(self) -> set[str]:
        """The codes, whatever their system."""
        return {one.code for one in self.coding if one.code}


class FhirReference(FhirPart):
    """Another resource, by its address."""

    reference: Text | None = Field(None, description="e.g. Patient/ and an id.")


class FhirExtension(FhirPart):
    """An element that FHIR itself does not have."""

    url: Text = Field(description="What it means.")
    value_code: Text | None = Field(None, alias="valueCode", description="Its value, where that is a code.")


class FhirResource(FhirPart):
    """What any resource may have that changes the meaning of the rest."""

    implicit_rules: Text | None = Field(None, alias="implicitRules", description="Refused where it is given.")
    modifier_extension: list[Any] = Field(
        default_factory=list, alias="modifierExtension", description="Refused where it is given."
    )


class AllergyIntolerance(FhirResource):
    """One allergy or intolerance of a patient."""

    resource_type: Literal["AllergyIntolerance"] = Field(alias="resourceType", description="Always AllergyIntolerance.")
    clinical_status: FhirConcept | None = Field(
        None, alias="clinicalStatus", description="inactive and resolved: not avoided any more; anything else: avoided."
    )
    verification_status: FhirConcept | None = Field(
        None,
        alias="verificationStatus",
        description="refuted and entered-in-error: not avoided; anything else: avoided.",
    )
    category: list[Text] = Field(
        default_factory=list, description="Passed over where it is given without food among it."
    )
    code: FhirConcept | None = Field(
        None, description="What is avoided: codes of GET /v1/allergens, or a name in `text`."
    )
    patient: FhirReference | None = Field(None, description="Whose it is; of a whole list always the same.")
    extension: list[FhirExtension] = Field(
        default_factory=list, description="The threshold, as this service writes it; others are passed over."
    )


class OtherResource(FhirPart):
    """A resource of another kind; passed over."""

    model_config = ConfigDict(
        json_schema_extra={
            "not": {"properties": {"resourceType": {"const": "AllergyIntolerance"}}, "required": ["resourceType"]}
        }
    )


def _type_of(value: object) -> str:
    kind = value.get("resourceType") if isinstance(value, dict) else None
    if isinstance(value, AllergyIntolerance) or kind == "AllergyIntolerance":
        return AS_ALLERGY
    return AS_OTHER


class FhirEntry(FhirPart):
    """One resource of a Bundle."""

    resource: (
        Annotated[
            Annotated[AllergyIntolerance, Tag(AS_ALLERGY)] | Annotated[OtherResource, Tag(AS_OTHER)],
            Discriminator(_type_of),
        ]
        | None
    ) = Field(None, description="The resource.")


class Bundle(FhirResource):
    """Several resources, of which the AllergyIntolerances are read."""

    resource_type: Literal["Bundle"] = Field(alias="resourceType", description="Always Bundle.")
    entry: Annotated[list[FhirEntry], Field(max_length=MOST_ENTRIES)] = Field(
        default_factory=list, description="The resources, in any order."
    )


def _list_type_of(value: object) -> str | None:
    kind = value.get("resourceType") if isinstance(value, dict) else None
    if isinstance(value, Bundle) or kind == "Bundle":
        return AS_BUNDLE
    return AS_ALLERGY if _type_of(value) == AS_ALLERGY else None


class FhirAvoids(
    RootModel[
        Annotated[
            Annotated[AllergyIntolerance, Tag(AS_ALLERGY)] | Annotated[Bundle, Tag(AS_BUNDLE)],
            Discriminator(
                _list_type_of, custom_error_type="no_fhir_list", custom_error_message="is no list of allergies"
            ),
        ]
    ]
):
    """What a child avoids as FHIR R4: an AllergyIntolerance, or a Bundle with some."""

    model_config = ConfigDict(defer_build=True)
