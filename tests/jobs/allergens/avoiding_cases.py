"""What people avoid in their own words, a food, what its packet says, and the outcome: tried through every way in.

Sources: gluten-free is a claim of at most 20 mg/kg gluten, whatever the cereal, Regulation (EU) No 828/2014 and 21 CFR 101.91;
wheat is an allergen of its own, Regulation (EU) No 1169/2011, Annex II, 1. Lactose is not milk protein: Annex II, 7.
"""

from typing import Any, NamedTuple

ON = "2026-12-01"
GF_OATS = "coeliac disease with gluten-free oats"


class Avoiding(NamedTuple):
    """One food for one child. ``claim``: printed on its packet; ``listed``: its list of ingredients."""

    avoids: str
    food: str
    outcome: str
    claim: str | None = None
    listed: str | None = None

    def packets(self) -> list[dict[str, Any]]:
        """The packet as a request has it, if one was read."""
        if self.claim is None and self.listed is None:
            return []
        claims = [] if self.claim is None else [self.claim]
        return [{"food": self.food, "read_on": ON, "claims": claims, "ingredients": self.listed}]


GF_BREAD = "Gluten-free wheat starch, rice flour, water, salt."
CASES = [
    Avoiding("coeliac disease", "bread-white", "avoid"),
    Avoiding("coeliac disease", "oats-rolled-dry", "avoid"),
    Avoiding("coeliac disease", "oats-rolled-dry", "avoid", "gluten_free"),
    Avoiding(GF_OATS, "oats-rolled-dry", "avoid"),
    Avoiding(GF_OATS, "oats-rolled-dry", "not_declared", "gluten_free"),
    Avoiding("coeliac disease", "bread-white", "not_declared", "gluten_free", GF_BREAD),
    Avoiding("wheat allergy", "bread-white", "avoid", "gluten_free", GF_BREAD),
    Avoiding("coeliac disease", "apple", "not_declared"),
    Avoiding("lactose intolerance", "milk-1-percent", "avoid"),
    Avoiding("lactose intolerance", "milk-lactose-free", "not_declared"),
    Avoiding("milk allergy", "milk-lactose-free", "avoid"),
    Avoiding("lactose intolerance", "yogurt-plain-low-fat", "not_declared", "lactose_free"),
    Avoiding("milk allergy", "yogurt-plain-low-fat", "avoid", "lactose_free"),
    Avoiding("lactose intolerance", "bread-white", "check_label"),
]
MISSPELT = [("coeliak disease", "gluten"), ("lactos intolerance", "lactose"), ("penut allergy", "peanut")]
"""A word that nobody knows, and a part of the name that is offered instead."""
LEFT_OUT_AS = {"avoid": "must_not", "check_label": "check_label", "not_declared": None}
"""Why an offer leaves out a food of that outcome; None: it stays."""


def child(words: str, **more: Any) -> dict[str, Any]:
    """A child that avoids this."""
    return {"nickname": "Rowan", "avoids": [{"allergen": words}], **more}


def check(words: str, food: str, packets: list[dict[str, Any]]) -> dict[str, Any]:
    """The body of a lunch check."""
    one = {"on": ON, "standard": "us-school-lunch", "child": child(words, age_years=9), "max_changes": 0}
    return {**one, "lunch": {"items": [{"food": food}]}, "packets": packets}


def screening(words: str, food: str, packets: list[dict[str, Any]]) -> dict[str, Any]:
    """The body of a screening."""
    return {"on": ON, "children": [child(words)], "items": [{"food": food}], "packets": packets}


def audit(words: str, food: str, packets: list[dict[str, Any]]) -> dict[str, Any]:
    """The body of an offer audit: the food, or a banana."""
    one = child(words, age_years=9, standard="us-school-lunch")
    groups = [{"id": "one", "items": [{"food": food}, {"food": "banana"}]}]
    return {"on": ON, "children": [one], "offer": {"groups": groups}, "packets": packets, "max_changes": 0}


def left_out_as(reply: dict[str, Any]) -> str | None:
    """Why an offer leaves the food out; None: it does not."""
    rows = reply["children"][0]["left_out"]
    return next((str(row["kind"]) for row in rows if row["item"] != "banana"), None)
