"""Read what a child must avoid out of a FHIR R4 list (``FhirAvoids``): every code is known, or the whole list is refused.

Of a threshold this service has written one; any other list means traces too. A status that says that somebody is still to
be protected, or none, means avoided.
"""

from collections.abc import Iterator
from typing import NamedTuple

from service.domain.allergens.vocabulary import resolve
from service.domain.errors import BadInput, Faults, Place, UnknownName, at
from service.domain.messages import Message, message
from service.jobs.household.children.avoids_as_fhir import THRESHOLD
from service.jobs.requests.fhir import AllergyIntolerance, Bundle, FhirAvoids, FhirConcept
from service.jobs.word_lists import Threshold
from service.reference.allergens.codes import allergen_codes
from service.reference.allergens.vocabulary import vocabulary

NOT_SO = frozenset({"refuted", "entered-in-error"})
"""Verification statuses of what is not, or was never meant to be, an allergy of this patient."""
OVER = frozenset({"inactive", "resolved"})
"""Clinical statuses of what is not avoided any more."""


class ReadAvoids(NamedTuple):
    """What the list makes a child avoid, by the id of the allergen; what of the list was left out, and why; whose it is.

    ``patient``: the reference and its place, None where the list names no patient.
    """

    avoids: dict[str, Threshold]
    left_out: list[Message]
    patient: tuple[str, Place] | None


def avoids_of_fhir(asked: FhirAvoids) -> ReadAvoids:
    """Read a list; raises ``BadInput`` or ``UnknownName``, all faults together, each with its place in the list."""
    faults = Faults()
    avoids: dict[str, Threshold] = {}
    left_out: list[Message] = []
    patient: tuple[str, Place] | None = None
    resources = list(_resources(asked, faults))
    for place, one in resources:
        with faults.at(*place):
            _refuse_modified(one)
            patient = _same_patient(patient, one, place)
            why = _why_left_out(one)
            if why is not None:
                left_out.append(message("avoids-read.left-out", name=_name(one), reason=why))
                continue
            threshold = _threshold(one)
            for allergen in _meant(one.code):
                known = avoids.get(allergen, threshold)
                avoids[allergen] = "may_contain" if "may_contain" in (known, threshold) else "contains"
    if not faults.found and not avoids:
        faults.add(BadInput(pointer="", value=len(resources), problem=message("fault.fhir-nothing-avoided")))
    faults.raise_all()
    return ReadAvoids(avoids, left_out, patient)


def _resources(asked: FhirAvoids, faults: Faults) -> Iterator[tuple[Place, AllergyIntolerance]]:
    whole = asked.root
    if isinstance(whole, AllergyIntolerance):
        yield (), whole
        return
    with faults.at():
        _refuse_modified(whole)
    for place, entry in enumerate(whole.entry):
        if isinstance(entry.resource, AllergyIntolerance):
            yield ("entry", place, "resource"), entry.resource


def _refuse_modified(one: AllergyIntolerance | Bundle) -> None:
    """What a reader must understand or leave the whole resource alone (FHIR R4, modifier elements)."""
    given = {"modifierExtension": bool(one.modifier_extension), "implicitRules": one.implicit_rules is not None}
    for name, there in given.items():
        if there:
            raise BadInput(field=(name,), value=name, problem=message("fault.fhir-modifier"))


def _same_patient(before: tuple[str, Place] | None, one: AllergyIntolerance, place: Place) -> tuple[str, Place] | None:
    reference = None if one.patient is None else one.patient.reference
    if reference is None:
        return before
    if before is not None and before[0] != reference:
        problem = message("fault.fhir-two-patients", other=before[0])
        raise BadInput(field=("patient", "reference"), value=reference, problem=problem)
    return before or (reference, (*place, "patient", "reference"))


def _why_left_out(one: AllergyIntolerance) -> Message | None:
    verified = one.verification_status.codes() if one.verification_status else set()
    clinical = one.clinical_status.codes() if one.clinical_status else set()
    for status in sorted((verified & NOT_SO) | (clinical & OVER)):
        return message("avoids-read.status", status=status)
    if one.category and "food" not in one.category:
        return message("avoids-read.no-food", category=", ".join(one.category))
    return None


def _name(one: AllergyIntolerance) -> str:
    """What is said to be avoided, in the words of the list."""
    code = one.code or FhirConcept()
    said = [code.text, *(coding.display or coding.code for coding in code.coding)]
    return next((text for text in said if text), "?")


def _threshold(one: AllergyIntolerance) -> Threshold:
    values = {extension.value_code for extension in one.extension if extension.url == THRESHOLD}
    return "contains" if values == {"contains"} else "may_contain"


def _meant(code: FhirConcept | None) -> list[str]:
    """All that the codes mean that are known, or the text where there is no code; a list of codes of which none is known is refused."""
    if code is None or not (code.coding or code.text):
        raise BadInput(field=("code",), value="nothing", problem=message("fault.fhir-no-code"))
    if not code.coding:
        with at("code", "text"):
            return list(resolve(vocabulary(), code.text or ""))
    meant = allergen_codes().meant
    known = [one for coding in code.coding for one in meant.get((coding.system or "", coding.code or ""), ())]
    if not known:
        first = code.coding[0]
        raise UnknownName(
            field=("code", "coding", 0, "code"),
            value=f"{first.system or '?'}|{first.code or '?'}" + (f" ({first.display})" if first.display else ""),
            kind=message("kind.allergen-code"),
            known=message("help.allergen-codes", systems=list(allergen_codes().systems)),
        )
    return list(dict.fromkeys(known))
