"""An address as a QR code (ISO/IEC 18004) to be scanned from a page."""

import io

from markupsafe import Markup


def qr_code(address: str) -> Markup:
    """The code as SVG to stand in a page: dark on light in dark mode too, and without any style of its own."""
    import segno  # only where a code is drawn: a server starts without it

    drawn = io.BytesIO()
    segno.make_qr(address, error="m").save(
        drawn, kind="svg", dark="#000000", light="#ffffff", xmldecl=False, svgns=True, omitsize=True, svgclass="qr", lineclass=None
    )  # fmt: skip
    return Markup(drawn.getvalue().decode())  # noqa: S704 - drawn here, from no text of anybody
