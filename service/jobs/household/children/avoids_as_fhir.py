"""What a child avoids as FHIR R4: a Bundle with an AllergyIntolerance for each allergen (HL7 FHIR R4, 4.0.1).

It says that the child is to be kept away from something, and no more: a family says what, and a clinician has confirmed
nothing (``unconfirmed``), and ``type`` is left out, since the reason is not stored. Without an entry nothing is known; it
does not say that there is no allergy. The child is named by its id alone.
"""

from typing import Any
from uuid import NAMESPACE_URL, uuid5

from service.domain.allergens.screening import Avoidance
from service.reference.allergens.codes import allergen_codes
from service.reference.allergens.vocabulary import vocabulary

SPACE = "https://packed-lunch.invalid/fhir/"
"""Where names of ours begin: a name that nobody can have (RFC 2606)."""
THRESHOLD = f"{SPACE}threshold"
"""The extension that says from which level on a food must not be packed; without it, from may_contain on."""
CLINICAL = "http://terminology.hl7.org/CodeSystem/allergyintolerance-clinical"
VERIFICATION = "http://terminology.hl7.org/CodeSystem/allergyintolerance-verification"


def avoids_bundle(child_id: str, avoided: list[Avoidance], updated_at: str) -> dict[str, Any]:
    """The Bundle; ``updated_at``: when the child's record was last edited, with its zone."""
    entries = [_entry(child_id, one) for one in avoided]
    bundle: dict[str, Any] = {"resourceType": "Bundle", "type": "collection", "meta": {"lastUpdated": updated_at}}
    return {**bundle, "entry": entries} if entries else bundle


def _entry(child_id: str, one: Avoidance) -> dict[str, Any]:
    resource_id = str(uuid5(NAMESPACE_URL, f"{SPACE}{child_id}/{one.allergen}"))
    codings = [
        {"system": code.system, "code": code.code, "display": code.display}
        | ({} if code.version is None else {"version": code.version})
        for code in allergen_codes().written[one.allergen]
    ]
    threshold = [{"url": THRESHOLD, "valueCode": one.threshold}] if one.threshold == "contains" else []
    resource = {
        "resourceType": "AllergyIntolerance",
        "id": resource_id,
        **({"extension": threshold} if threshold else {}),
        "clinicalStatus": {"coding": [{"system": CLINICAL, "code": "active"}]},
        "verificationStatus": {"coding": [{"system": VERIFICATION, "code": "unconfirmed"}]},
        "category": ["food"],
        "code": {**({"coding": codings} if codings else {}), "text": vocabulary().allergens[one.allergen].name},
        "patient": {"reference": f"Patient/{child_id}"},
    }
    return {"fullUrl": f"urn:uuid:{resource_id}", "resource": resource}
