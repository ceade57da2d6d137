"""A prep sheet as a PDF to print: large tick boxes, a step after another."""

import io
from collections.abc import Iterator
from typing import Any
from xml.sax.saxutils import escape

from service.domain.messages import message_of
from service.jobs.plan.pdf_fonts import BOLD, REGULAR, letters, plain, refuse_unknown_letters
from service.reference.messages import say

Reply = dict[str, Any]
BOX_POINTS = 16
"""Side of a tick box: to be hit with a pen and wet hands; our choice."""


def prep_pdf(reply: Reply, paper: str = "a4") -> bytes:
    """The sheet on A4 or Letter paper; raises ``BadInput`` for letters that the font does not have.

    ``reply``: as ``prep_sheet`` gives it. The same reply gives the same bytes.
    """
    from reportlab.lib.pagesizes import A4, LETTER
    from reportlab.lib.units import mm
    from reportlab.platypus import SimpleDocTemplate

    letters()
    for batch in reply["batches"]:
        containers = [one["container"] or "" for one in batch["goes"]]
        refuse_unknown_letters([batch["name"], *containers], ("batches", batch["place"]))
        refuse_unknown_letters([one["name"] for one in batch["ingredients"]], ("batches", batch["place"], "food"))
    out = io.BytesIO()
    title = plain(say(message_of(reply["title_message"])))
    page = SimpleDocTemplate(
        out,
        pagesize=LETTER if paper == "letter" else A4,
        leftMargin=15 * mm,
        rightMargin=15 * mm,
        topMargin=14 * mm,
        bottomMargin=14 * mm,
        title=title,
        invariant=1,
    )
    page.build(list(_story(reply, title, page.width)))
    return out.getvalue()


def _story(reply: Reply, title: str, width: float) -> Iterator[Any]:
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import KeepTogether, Paragraph, Spacer

    text = ParagraphStyle("text", fontName=REGULAR, fontSize=11, leading=15)
    small = ParagraphStyle("small", parent=text, fontSize=9, leading=12)
    head = ParagraphStyle("head", parent=text, fontName=BOLD, fontSize=14, leading=18, spaceBefore=4)
    yield Paragraph(_escaped(title), ParagraphStyle("title", parent=head, fontSize=20, leading=26))
    batches = reply["batches"]
    for step in reply["steps"]:
        batch = batches[step["batch"]]
        rows: list[Any] = []
        if step["clean"]:
            rows.append(_ticks([Paragraph(_escaped(step["clean"]), text)], width))
        first = Paragraph(f"{step['number']}. {_escaped(step['sentence'])}", head)
        rows += [first, _ticks([Paragraph(_ingredient(one), text) for one in batch["ingredients"]], width)]
        rows += [Paragraph(_escaped(note), text) for note in batch["notes"]]
        yield KeepTogether(rows)
        rest = [Paragraph(_escaped(one["sentence"]), text) for one in batch["goes"]]
        if rest:
            yield _ticks(rest, width)
        for figure in (*batch["cooling"], *batch["reheating"], *batch["keeping"]):
            yield Paragraph(f"{_escaped(figure['sentence'])} <font size=7>[{_escaped(figure['source'])}]</font>", small)
        yield Spacer(1, 8)
    for dip in reply["dips"]:
        yield _ticks(
            [Paragraph(f"{_escaped(dip['sentence'])} <font size=7>[{_escaped(dip['source'])}]</font>", text)], width
        )
    for note in (*reply["notes"], reply["order_basis"], *reply["cautions"]):
        yield Paragraph(_escaped(note), small)


def _ingredient(one: Reply) -> str:
    amounts = [one["metric_text"], one["us_text"], *([one["count_text"]] if one["count_text"] else [])]
    cut = f", {_escaped(one['cut'])}" if one["cut"] else ""
    return f"<b>{_escaped(amounts[0])}</b> ({_escaped(' / '.join(amounts[1:]))}) {_escaped(one['name'])}{cut}"


def _ticks(rows: list[Any], width: float) -> Any:
    """Rows with a tick box before each."""
    from reportlab.graphics.shapes import Drawing, Rect
    from reportlab.lib.colors import black
    from reportlab.platypus import Table, TableStyle

    def box() -> Any:
        drawn = Drawing(BOX_POINTS, BOX_POINTS)
        drawn.add(Rect(0.5, 0.5, BOX_POINTS - 1, BOX_POINTS - 1, fillColor=None, strokeColor=black, strokeWidth=1.2))
        return drawn

    table = Table([[box(), row] for row in rows], colWidths=[BOX_POINTS + 10, width - BOX_POINTS - 10], hAlign="LEFT")
    table.setStyle(
        TableStyle(
            [
                ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("TOPPADDING", (0, 0), (-1, -1), 3),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
            ]
        )
    )
    return table


def _escaped(text: str) -> str:
    """A text of anybody, as it may stand in a paragraph."""
    return escape(plain(text))
