"""Labels: read back from the PDF by another library, each within its own label, in the letters of many languages."""

import io
from typing import Any

import pytest
from pydantic import ValidationError
from pypdf import PdfReader
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import mm

from service.domain.errors import LunchError
from service.domain.plan.label_sheet import LabelSheet
from service.jobs.plan.labels.label_sheet import label_pdf, label_reply, label_sheet
from service.jobs.plan.labels.requests import LabelSheetRequest
from service.reference.plan.label_sheets import label_sheets
from tests.refused import refused

FAMILY = [{"nickname": "Rowan"}, {"nickname": "Linden", "avoids": [{"allergen": "milk"}]}]
NAMES = [
    "Käsespätzle mit Röstzwiebeln, Weißkohl und süßen Möhren für übermorgen Mittag in großen Schüsseln",
    "Gâteau de légumes à la crème fraîche, œufs brouillés, pâtes au blé et maïs grillé d'août",
    "Albóndigas caseras con piñones, calabacín, pimentón y arroz con azafrán para los niños pequeños",
    "Pączki z różą, żurek, gołębki ze śmietaną i świeżą pietruszką na drugie śniadanie dla dzieci",
    "Žemlovka s jablky, řízek s bramborovým salátem, ďábelské topinky a čerstvá ředkvička navíc",
    "Töltött káposzta tejföllel, gyümölcsös rétes és főtt tojásos szendvics hosszú kirándulásra",
    "Sărmăluțe în foi de varză cu smântână și mămăligă, plăcintă cu brânză și stafide pentru școală",
    "Σπανακόπιτα με φέτα και άνηθο, γεμιστές ντομάτες με ρύζι και γλυκό του κουταλιού για το σχολείο",
    "Баница със сирене, пълнени чушки с ориз и кайма и компот от ябълки за дълъг училищен ден",
    "Rødgrød med fløde, smørrebrød med æg og rejer samt blåbærgrød på køl til ti små børn i morgen",
]
"""German, French, Spanish, Polish, Czech, Hungarian, Romanian, Greek, Bulgarian, Danish."""
KEPT = "018f0000-0000-7000-8000-000000000001"


def label(**more: Any) -> dict[str, Any]:
    return {"food": "sandwich-cheese", "made": "2026-11-29", "use_by": "2026-12-13", "thaw_hours": 12, **more}


def asked(labels: list[dict[str, Any]], **more: Any) -> LabelSheetRequest:
    body = {"sheet": "a4-3x7", "children": FAMILY, "labels": labels, **more}
    return LabelSheetRequest.model_validate(body)


def texts_at(pdf: bytes) -> list[tuple[int, float, float, float, str]]:
    """Every piece of text in a PDF as pypdf reads it: page, left, base line, size, text."""
    found: list[tuple[int, float, float, float, str]] = []
    for number, page in enumerate(PdfReader(io.BytesIO(pdf)).pages):

        def visit(text: str, _cm: Any, tm: Any, _font: Any, size: float, number: int = number) -> None:
            if text.strip():
                found.append((number, tm[4], tm[5], size, text.strip()))

        page.extract_text(visitor_text=visit)
    return found


@pytest.mark.parametrize("sheet", list(label_sheets().values()), ids=lambda one: one.id)
def test_no_text_leaves_its_label(sheet: LabelSheet) -> None:
    """Ten long names on each sheet: base lines and beginnings lie within a label, and every row is as wide as it may be."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    made = label_sheet(asked([label(name=name, stock_id=KEPT) for name in NAMES], sheet=sheet.id, start=2))
    cells = list(sheet.places(len(NAMES), 2))
    pieces = texts_at(label_pdf(made))
    assert pieces
    for page, x, y, size, text in pieces:
        height = sheet.paper_height * mm
        inside = [
            place
            for place, (on, left, top) in enumerate(cells)
            if on == page and left * mm <= x and x + stringWidth(text, "Roboto", size) <= (left + sheet.width) * mm
            and top * mm <= height - y - size * 0.7 and height - y + size * 0.25 <= (top + sheet.height) * mm + 0.1
        ]  # fmt: skip
        assert len(inside) == 1, text


def test_names_in_ten_languages_are_read_back_letter_by_letter() -> None:
    """On a label with room for them, whole; pypdf reads what was written."""
    made = label_sheet(asked([label(name=name) for name in NAMES], sheet="letter-2x3"))
    whole = " ".join(text for _page, _x, _y, _size, text in texts_at(label_pdf(made)))
    for name in NAMES:
        assert all(word in whole for word in name.split())


def test_a_small_label_cuts_the_name_and_never_the_allergens() -> None:
    reply = label_reply(label_sheet(asked([label(name=NAMES[0], stock_id=KEPT)], sheet="letter-3x10")))
    text = " ".join(row["text"] for row in reply["labels"][0]["rows"])
    assert "NOT FOR Linden" in text
    assert "Contains: cereals containing gluten, milk and wheat" in text
    assert "Use by Sunday 13 December" in text
    assert "Thaw in the fridge: 12 hours" in text


def test_a_label_without_room_for_its_allergens_is_refused_by_name() -> None:
    contains = (
        "milk, egg, wheat, soy, peanut, sesame, almond, walnut, fish, crustaceans, celery, mustard, lupin, molluscs"
    )
    own = {"name": "everything bar", "serving": {"grams": 50}, "contains": contains}
    children = [{"nickname": f"Child with a long name {n:02}", "avoids": [{"allergen": "milk"}]} for n in range(20)]
    with refused(LunchError, "everything bar"):
        label_sheet(asked([label(food=own)], sheet="letter-3x10", children=children))


def test_whom_it_is_not_for_and_who_has_to_wait() -> None:
    reply = label_reply(label_sheet(asked([label(), label(food="hummus"), label(food="apple")])))
    texts = [" ".join(row["text"] for row in one["rows"]) for one in reply["labels"]]
    assert "NOT FOR Linden" in texts[0]
    assert "Not for Linden until the packets are read" in texts[1]
    assert "Linden" not in texts[2]
    assert "Other allergens: read the packets." in texts[1]


def test_a_dish_with_rice_is_reheated_as_rice_is() -> None:
    """UK guidance for cooked rice holds for what is in a dish, too: the label of rice has a line that others do not have."""

    def lines(food: Any) -> set[str]:
        (one,) = label_reply(label_sheet(asked([label(food=food, reheat=True)], sheet="a4-2x4")))["labels"]
        return {row["text"] for row in one["rows"]}

    rice = [{"food": "rice-brown-cooked", "grams": 300}, {"food": "chicken-breast-roasted", "grams": 300}]
    chicken = lines("chicken-breast-roasted")
    of_rice = {one for one in lines("rice-brown-cooked") - chicken if "rice within" in one}
    assert len(of_rice) == 1
    assert of_rice <= lines({"name": "chicken and rice", "ingredients": rice, "portions": 4})


def test_the_code_is_the_address_of_what_it_stands_for() -> None:
    for address, code in ((None, f"/stock/{KEPT}"), ("https://lunch.example/", f"https://lunch.example/stock/{KEPT}")):
        more = {} if address is None else {"address": address}
        reply = label_reply(label_sheet(asked([label(stock_id=KEPT)], **more)))
        assert reply["labels"][0]["code"] == code


def test_labels_go_on_from_any_position_to_the_next_page() -> None:
    reply = label_reply(label_sheet(asked([label(copies=3)], start=20)))
    assert reply["labels"][0]["printed"] == [
        {"page": 1, "position": 20},
        {"page": 1, "position": 21},
        {"page": 2, "position": 1},
    ]
    assert reply["pages"] == 2


def test_the_same_labels_give_the_same_bytes() -> None:
    first, second = (label_pdf(label_sheet(asked([label(stock_id=KEPT)]))) for _ in range(2))
    assert first == second


def test_papers_are_those_of_the_library() -> None:
    sizes = {one.paper: (one.paper_width * mm, one.paper_height * mm) for one in label_sheets().values()}
    for paper, known in (("a4", A4), ("letter", LETTER)):
        assert sizes[paper] == pytest.approx(known, abs=0.1)


@pytest.mark.parametrize("start", [22, 1_000])
def test_a_start_off_the_sheet_is_refused(start: int) -> None:
    with refused(LunchError, "21"):
        label_sheet(asked([label()], start=start))


@pytest.mark.parametrize(
    ("labels", "more", "kind"),
    [
        ([label(copies=0)], {}, "greater_than_equal"),
        ([label(copies=300), label(copies=300)], {}, "too_many_labels"),
        ([label()] * 10_000, {}, "too_long"),
        ([label(use_by="2026-11-28")], {}, "use_by_before_made"),
        ([label()], {"sheet": "a5-1x1"}, "not_listed"),
        ([label()], {"start": 0}, "greater_than_equal"),
    ],
)
def test_what_no_sheet_can_hold_is_refused(labels: list[dict[str, Any]], more: dict[str, Any], kind: str) -> None:
    with pytest.raises(ValidationError) as fault:
        asked(labels, **more)
    assert fault.value.errors()[0]["type"] == kind


@pytest.mark.parametrize("use_by", ["2026-12-13", "2027-03-30"])
def test_a_label_says_what_the_packets_said_when_it_was_made_however_long_it_is_kept(use_by: str) -> None:
    # A packet holds for 90 days: up to 26 February. What is in the freezer is what went in on 29 November.
    def rows(level: str, read_on: str = "2026-11-28") -> list[str]:
        tick = {"allergen": "milk", "level": level}
        packets = [
            {"food": food, "read_on": read_on, "allergens": [tick]}
            for food in ("bread-whole-wheat", "sunflower-seed-butter", "jam")
        ]
        made = label(food="sandwich-sunflower-jam", use_by=use_by)
        (one,) = label_reply(label_sheet(asked([made], packets=packets)))["labels"]
        return [row["text"] for row in one["rows"]]

    assert "NOT FOR Linden" in rows("contains")
    assert not [row for row in rows("not_named") if "Linden" in row]
    read_later = [row for row in rows("not_named", "2026-12-01") if "Linden" in row]
    assert bool(read_later) == (use_by == "2027-03-30")
