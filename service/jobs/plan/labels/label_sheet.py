"""Labels on a sheet, as text and as a PDF: each in its place, nothing outside its room."""

import io
from typing import Any, NamedTuple

from service.domain.cautions import CAUTIONS
from service.domain.errors import BadAmount, BadInput, Faults, at
from service.domain.foods.packets import NO_PACKETS
from service.domain.messages import message
from service.domain.plan.label_sheet import LabelSheet
from service.domain.plan.label_text import NoRoom, Placed, placed
from service.jobs.foods.resolve import food_of
from service.jobs.plan.kitchen.resolve import Kitchen, resolve_kitchen
from service.jobs.plan.labels.lines import label_lines
from service.jobs.plan.labels.requests import LabelAsked, LabelSheetRequest
from service.jobs.plan.pdf_fonts import BOLD, REGULAR, letters, refuse_unknown_letters
from service.reference.messages import listed_as
from service.reference.plan.label_sheets import label_sheets

POINTS = 72 / 25.4
"""Points in a millimetre."""
MARGIN_MM = 2.5
CODE_MM = 18.0
CODE_SHARE = 0.3
"""Most of a label's width that a QR code takes; these are our choices."""
STOCK = "/stock/{stock_id}"
"""Path of the page of what a label stands for."""


class Label(NamedTuple):
    """A label ready to be drawn: its rows, and what its QR code says; None: it has none."""

    name: str
    rows: list[Placed]
    code: str | None
    asked: LabelAsked


class LabelSheetMade(NamedTuple):
    """Labels in their places on a sheet, from a position on."""

    sheet: LabelSheet
    start: int
    labels: list[Label]

    def each(self) -> list[Label]:
        """Every label as often as it is printed."""
        return [label for label in self.labels for _copy in range(label.asked.copies)]


def label_sheet(asked: LabelSheetRequest) -> LabelSheetMade:
    """The labels, fitted into their room.

    Raises ``LunchError`` for what does not fit, all faults together: also for a label of which what must stand in full
    (whom it is not for, allergens, dates) has no room, and for letters that the font does not have.
    """
    sheet = label_sheets()[asked.sheet]
    faults = Faults()
    kitchen = Kitchen((), NO_PACKETS)
    with faults.at():
        kitchen = resolve_kitchen(asked)
    if asked.start > sheet.labels:
        problem = message("fault.start-off-sheet", labels=sheet.labels)
        faults.add(BadAmount(field="start", value=asked.start, problem=problem))
    labels: list[Label] = []
    for place, one in enumerate(asked.labels):
        with faults.at("labels", place):
            labels.append(_label(one, sheet, kitchen, asked))
    faults.raise_all()
    return LabelSheetMade(sheet, asked.start, labels)


def label_reply(made: LabelSheetMade) -> dict[str, Any]:
    """The labels as they are printed: their text row by row, and where each lies. Measures in millimetres, letters in points."""
    sheet = made.sheet
    each = made.each()
    places = list(sheet.places(len(each), made.start))
    where: dict[int, list[dict[str, int]]] = {}
    for number, (label, (page, _left, _top)) in enumerate(zip(each, places, strict=True)):
        position = (made.start - 1 + number) % sheet.labels + 1
        where.setdefault(id(label), []).append({"page": page + 1, "position": position})
    return {
        "sheet": {
            "id": sheet.id,
            "paper": sheet.paper,
            "across": sheet.across,
            "down": sheet.down,
            "width_mm": sheet.width,
            "height_mm": sheet.height,
        },
        "pages": places[-1][0] + 1,
        "labels": [
            {
                "place": place,
                "id": one.asked.id,
                "name": one.name,
                "rows": [{"text": row.text, "points": round(row.points, 2), "bold": row.bold} for row in one.rows],
                "code": one.code,
                "printed": where[id(one)],
            }
            for place, one in enumerate(made.labels)
        ],
        **listed_as("caution", CAUTIONS),
    }


def _label(asked: LabelAsked, sheet: LabelSheet, kitchen: Kitchen, whole: LabelSheetRequest) -> Label:
    from reportlab.pdfbase.pdfmetrics import stringWidth

    letters()
    with at("food"):
        food = food_of(asked.food, kitchen.known.of_what_is_made(asked.made, asked.use_by or asked.made))
    lines = label_lines(asked, food, kitchen, list(whole.regions))
    refuse_unknown_letters([one.text for one in lines], ("name",) if asked.name else ("food",))
    code = None if asked.stock_id is None else (whole.address or "").rstrip("/") + STOCK.format(stock_id=asked.stock_id)
    width = (sheet.width - 2 * MARGIN_MM) * POINTS - (0 if code is None else _code_points(sheet) + MARGIN_MM * POINTS)
    height = (sheet.height - 2 * MARGIN_MM) * POINTS
    try:
        rows = placed(lines, width, height, lambda text, bold, size: stringWidth(text, BOLD if bold else REGULAR, size))
    except NoRoom as fault:
        name = asked.id or asked.name or food.name
        problem = message("fault.label-too-small", name=name, width=sheet.width, height=sheet.height)
        raise BadInput(field=(), value=name, problem=problem) from fault
    return Label(asked.name or food.name, rows, code, asked)


def _code_points(sheet: LabelSheet) -> float:
    return min(CODE_MM, sheet.width * CODE_SHARE, sheet.height - 2 * MARGIN_MM) * POINTS


def label_pdf(made: LabelSheetMade) -> bytes:
    """The labels as a PDF; the same labels give the same bytes."""
    from reportlab.pdfgen.canvas import Canvas

    out = io.BytesIO()
    sheet, each = made.sheet, made.each()
    paper = (sheet.paper_width * POINTS, sheet.paper_height * POINTS)
    canvas = Canvas(out, pagesize=paper, invariant=1)
    page = 0
    for label, (on_page, left, top) in zip(each, sheet.places(len(each), made.start), strict=True):
        while page < on_page:
            canvas.showPage()
            page += 1
        x, y = (left + MARGIN_MM) * POINTS, paper[1] - (top + MARGIN_MM) * POINTS
        for row in label.rows:
            canvas.setFont(BOLD if row.bold else REGULAR, row.points)
            # The letters stand on their base line, a quarter of their size above the end of the row.
            canvas.drawString(x, y - row.below + row.points * 0.25, row.text)
        if label.code is not None:
            side = _code_points(sheet)
            right = (left + sheet.width - MARGIN_MM) * POINTS
            _draw_code(canvas, label.code, right - side, y - side, side)
    canvas.save()
    return out.getvalue()


def _draw_code(canvas: Any, text: str, left: float, bottom: float, side: float) -> None:
    """A QR code (ISO/IEC 18004) with medium error correction, drawn as squares."""
    import segno

    matrix = segno.make_qr(text, error="m").matrix
    module = side / len(matrix)
    for row, cells in enumerate(matrix):
        for column, dark in enumerate(cells):
            if dark:
                x, y = left + column * module, bottom + side - (row + 1) * module
                canvas.rect(x, y, module, module, stroke=0, fill=1)
