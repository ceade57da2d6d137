"""Promise: what a child avoids goes out as FHIR R4 that a general library reads, and comes in whole or not at all.

The reader is ``fhir.resources``, whose R4B models hold AllergyIntolerance and Bundle: R4B (4.3.0) left both as they are in
R4 (4.0.1). The codes asked for are those of HL7's own R4 example (cashew nuts, 227493005) and of the value set "Allergy
Intolerance - SNOMED CT IPS Free Set" (CC BY 4.0); the statuses are those of HL7's code systems.
"""

import json
from typing import Any

import pytest
from fhir.resources.R4B.allergyintolerance import AllergyIntolerance
from fhir.resources.R4B.bundle import Bundle

from tests.api.household.homes import Home, child_body
from tests.api.problems_seen import problem_of

FHIR = "application/fhir+json"
SNOMED = "http://snomed.info/sct"
GS1 = "https://ref.gs1.org/voc/AllergenTypeCode"
CLINICAL = "http://terminology.hl7.org/CodeSystem/allergyintolerance-clinical"
VERIFICATION = "http://terminology.hl7.org/CodeSystem/allergyintolerance-verification"


def allergy(coded: str, system: str = SNOMED, **more: Any) -> dict[str, Any]:
    """An AllergyIntolerance as a clinic would send it, held against the library's model."""
    one = {
        "resourceType": "AllergyIntolerance",
        "clinicalStatus": {"coding": [{"system": CLINICAL, "code": "active"}]},
        "verificationStatus": {"coding": [{"system": VERIFICATION, "code": "confirmed"}]},
        "type": "allergy",
        "category": ["food"],
        "criticality": "high",
        "code": {"coding": [{"system": system, "code": coded}]},
        "patient": {"reference": "Patient/example"},
        "reaction": [{"manifestation": [{"text": "hives"}], "severity": "mild"}],
        **more,
    }
    AllergyIntolerance.model_validate(one)
    return one


def bundle(*resources: dict[str, Any]) -> dict[str, Any]:
    return {"resourceType": "Bundle", "type": "collection", "entry": [{"resource": one} for one in resources]}


def child_of(home: Home, *avoids: dict[str, str], name: str = "Juniper") -> str:
    return home.kept("/v1/children", {**child_body(name), "avoids": list(avoids)})


def send(home: Home, method: str, child: str, body: Any, **headers: str) -> Any:
    sent = {"content_type": FHIR, "if_match": "*", **headers}
    return home.ask(method, f"/v1/children/{child}/avoids", body, **sent)


def avoided(home: Home, child: str) -> dict[str, str]:
    items = home.ask("GET", f"/v1/children/{child}/avoids").json()["items"]
    return {one["allergen"]: one["threshold"] for one in items}


def test_a_general_library_reads_what_goes_out(home: Home) -> None:
    """Every element that R4 asks for is there, and no name."""
    child = child_of(
        home, {"allergen": "cashew"}, {"allergen": "soya", "threshold": "contains"}, {"allergen": "lactose"}
    )
    answer = home.ask("GET", f"/v1/children/{child}/avoids", accept=FHIR)
    assert answer.headers["content-type"] == FHIR
    assert answer.headers["etag"] == '"1"'
    read = Bundle.model_validate_json(answer.content)
    assert read.type == "collection"
    resources = {one.resource.code.text: one.resource for one in read.entry}
    assert set(resources) == {"cashew", "soy", "lactose"}
    for one in resources.values():
        assert isinstance(one, AllergyIntolerance)
        assert one.clinicalStatus.coding[0].code == "active"
        assert one.verificationStatus.coding[0].code == "unconfirmed"
        assert one.category == ["food"]
        assert one.patient.reference == f"Patient/{child}"
        assert one.type is None  # the household says what is avoided, not why
    codes = {(one.system, one.code) for one in resources["cashew"].code.coding}
    assert codes == {(SNOMED, "227493005"), (GS1, "SC")}
    assert [one.valueCode for one in resources["soy"].extension] == ["contains"]
    assert resources["cashew"].extension is None
    assert "Juniper" not in answer.text


def test_nothing_avoided_is_a_bundle_without_entries(home: Home) -> None:
    """FHIR knows no empty list; and it does not say that there is no allergy."""
    answer = home.ask("GET", f"/v1/children/{child_of(home)}/avoids", accept=FHIR)
    assert Bundle.model_validate_json(answer.content).entry is None


def test_what_goes_out_comes_back_the_same(home: Home) -> None:
    every = [one["id"] for one in home.ask("GET", "/v1/allergens").json()["items"]]
    some = [{"allergen": one, "threshold": "contains"} for one in every[:45]]
    some += [{"allergen": "lactose"}, {"allergen": "gluten_content"}]
    first = child_of(home, *some)
    sent = json.loads(home.ask("GET", f"/v1/children/{first}/avoids", accept=FHIR).content)
    for entry in sent["entry"]:
        entry["resource"]["patient"]["reference"] = "Patient/of-another-system"
    second = child_of(home, {"allergen": "kiwi"}, name="Rowan")
    assert send(home, "PUT", second, sent).status_code == 200
    assert avoided(home, second) == avoided(home, first)
    assert len(avoided(home, first)) >= 45


def test_adding_keeps_what_is_there_and_the_stricter_threshold(home: Home) -> None:
    child = child_of(home, {"allergen": "egg"}, {"allergen": "soya", "threshold": "contains"})
    answer = send(home, "POST", child, bundle(allergy("227493005"), allergy("256355007")))
    assert answer.status_code == 200, answer.text
    assert answer.json()["removed"] == []
    assert avoided(home, child) == {"egg": "may_contain", "soy": "may_contain", "cashew": "may_contain"}
    version = answer.headers["etag"]
    again = send(home, "POST", child, allergy("227493005"))
    assert again.headers["etag"] == version


def test_replacing_says_what_is_gone(home: Home) -> None:
    child = child_of(home, {"allergen": "egg"}, {"allergen": "milk"})
    told = send(home, "PUT", child, bundle(allergy("227493005"), allergy("264295007"))).json()
    assert told["removed"] == ["egg"]
    assert {one["allergen"] for one in told["items"]} == {"cashew", "milk"}
    whole = home.ask("GET", f"/v1/children/{child}").json()
    assert whole["nickname"] == "Juniper"
    assert whole["standard"] == child_body("Juniper")["standard"]


@pytest.mark.parametrize(("code", "system", "ids"), [
    ("735029006", SNOMED, {"crustacean", "mollusc"}),  # "Shellfish"
    ("13577000", SNOMED, {"tree_nut", "peanut"}),  # "Nut"
    ("227037002", SNOMED, {"fish"}),  # HL7's example fishallergy
    ("QE1QX6B99R", "http://fdasis.nlm.nih.gov", {"peanut"}),
    ("AW", GS1, {"gluten_cereal"}),
])  # fmt: skip
def test_a_code_means_all_that_it_may(home: Home, code: str, system: str, ids: set[str]) -> None:
    child = child_of(home)
    assert send(home, "PUT", child, allergy(code, system)).status_code == 200
    assert set(avoided(home, child)) == ids


def test_a_text_alone_is_read_as_a_name(home: Home) -> None:
    child = child_of(home)
    assert send(home, "PUT", child, allergy("", code={"text": "Soya"})).status_code == 200
    assert set(avoided(home, child)) == {"soy"}


def test_unknown_codes_are_refused_by_name_and_nothing_is_written(home: Home) -> None:
    child = child_of(home, {"allergen": "egg"})
    unknown = allergy("", code={"coding": [{"system": SNOMED, "code": "387517004", "display": "Paracetamol"}]})
    none = allergy("", code={})
    sent = bundle(allergy("227493005"), unknown, none, allergy("UN", GS1))
    told = problem_of(send(home, "PUT", child, sent), 422, "many-faults")
    places = {one["pointer"]: one for one in told["errors"]}
    assert set(places) == {
        "#/entry/1/resource/code/coding/0/code", "#/entry/2/resource/code", "#/entry/3/resource/code/coding/0/code",
    }  # fmt: skip
    first = places["#/entry/1/resource/code/coding/0/code"]
    assert first["value"] == f"{SNOMED}|387517004 (Paracetamol)"
    assert "GET /v1/allergens" in first["remedy"]
    assert avoided(home, child) == {"egg": "may_contain"}


def status(system: str, code: str) -> dict[str, Any]:
    return {"coding": [{"system": system, "code": code}]}


@pytest.mark.parametrize("more", [
    {"clinicalStatus": status(CLINICAL, "resolved")},
    {"clinicalStatus": status(CLINICAL, "inactive")},
    {"verificationStatus": status(VERIFICATION, "refuted")},
    {"verificationStatus": status(VERIFICATION, "entered-in-error"), "clinicalStatus": None},
    {"category": ["medication"], "code": {"coding": [{"system": SNOMED, "code": "387517004"}]}},
])  # fmt: skip
def test_what_is_over_or_no_food_is_left_out_and_said(home: Home, more: dict[str, Any]) -> None:
    child = child_of(home, {"allergen": "egg"})
    other = {name: value for name, value in allergy("256350002", **more).items() if value is not None}
    told = send(home, "POST", child, bundle(allergy("227493005"), other)).json()
    assert len(told["left_out"]) == 1
    assert set(avoided(home, child)) == {"egg", "cashew"}


@pytest.mark.parametrize("more", [
    {"clinicalStatus": None, "verificationStatus": None, "category": None, "patient": None},
    {"verificationStatus": status(VERIFICATION, "unconfirmed")},
    {"verificationStatus": status(VERIFICATION, "presumed")},
    {"type": "intolerance"},
])  # fmt: skip
def test_what_is_not_ruled_out_is_avoided(home: Home, more: dict[str, Any]) -> None:
    """Unknown is never clear."""
    child = child_of(home)
    one = {name: value for name, value in {**allergy("227493005"), **more}.items() if value is not None}
    assert send(home, "PUT", child, one).status_code == 200
    assert set(avoided(home, child)) == {"cashew"}


def test_a_list_that_leaves_nothing_to_avoid_is_refused(home: Home) -> None:
    """An empty list says nothing; a child's avoids are not lost by it."""
    child = child_of(home, {"allergen": "egg"})
    over = allergy("227493005", clinicalStatus=status(CLINICAL, "resolved"))
    for sent in (bundle(), bundle(over), {"resourceType": "Bundle", "type": "collection"}):
        problem_of(send(home, "PUT", child, sent), 422, "bad-input")
    assert set(avoided(home, child)) == {"egg"}


def test_a_list_of_two_patients_or_of_a_sibling_is_refused(home: Home) -> None:
    child, sibling = child_of(home), child_of(home, name="Rowan")
    two = bundle(allergy("227493005"), allergy("256350002", patient={"reference": "Patient/other"}))
    told = problem_of(send(home, "PUT", child, two), 422, "bad-input")
    assert told["errors"][0]["pointer"] == "#/entry/1/resource/patient/reference"
    of_sibling = allergy("227493005", patient={"reference": f"Patient/{sibling}"})
    told = problem_of(send(home, "PUT", child, of_sibling), 422, "bad-input")
    assert told["errors"][0]["pointer"] == "#/patient/reference"
    assert avoided(home, child) == avoided(home, sibling) == {}


def test_what_may_change_the_meaning_is_refused(home: Home) -> None:
    """FHIR R4: an element that a reader does not know and that modifies the rest must not be passed over."""
    child = child_of(home)
    for more in ({"modifierExtension": [{"url": "https://example.org/not", "valueBoolean": True}]},
                 {"implicitRules": "https://example.org/rules"}):  # fmt: skip
        problem_of(send(home, "PUT", child, allergy("227493005", **more)), 422, "bad-input")
    assert avoided(home, child) == {}


def test_other_forms_are_refused_with_what_there_is(home: Home) -> None:
    child = child_of(home)
    told = problem_of(home.ask("GET", f"/v1/children/{child}/avoids", accept="text/csv"), 406, "not-acceptable")
    assert "application/fhir+json" in json.dumps(told)
    problem_of(send(home, "PUT", child, allergy("227493005"), content_type="application/json"), 415, "not-fhir")
    problem_of(send(home, "PUT", child, {"resourceType": "Patient"}), 422, "invalid-request")
    problem_of(send(home, "PUT", child, allergy("227493005"), if_match='"7"'), 412, "stale-edit")
