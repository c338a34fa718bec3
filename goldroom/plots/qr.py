"""A text as a QR code whose runs of dark modules are one path.

Upper-case letters, digits, space and $%*+-./: take least room (the alphanumeric mode
of ISO/IEC 18004).
"""

from collections.abc import Iterator

from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel
from reportlab.pdfgen.canvas import Canvas

QUIET = 4
"""Modules of white round a code, as ISO/IEC 18004 asks for."""


def draw_qr(canvas: Canvas, text: str, size: float) -> None:
    """Draw the code straight on a canvas, its foot and left edge at the origin."""
    modules = _modules(text)
    step = size / (len(modules) + 2 * QUIET)
    path = canvas.beginPath()
    for row, start, length in _runs(modules):
        bottom = size - (row + QUIET + 1) * step
        path.rect((start + QUIET) * step, bottom, length * step, step)
    canvas.drawPath(path, stroke=0, fill=1)


def qr_svg(text: str) -> str:
    """Return the code as SVG, one unit a module, as wide as it is given room."""
    modules = _modules(text)
    whole = len(modules) + 2 * QUIET
    path = "".join(
        f"M{start + QUIET} {row + QUIET}h{length}v1h-{length}z"
        for row, start, length in _runs(modules)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {whole} {whole}"'
        ' role="img" shape-rendering="crispEdges"><title>QR code</title>'
        f'<path fill="#fff" d="M0 0h{whole}v{whole}H0z"/>'
        f'<path fill="#000" d="{path}"/></svg>'
    )


def _modules(text: str) -> list[list[bool]]:
    code = QRCode(None, QRErrorCorrectLevel.M)
    code.addData(text)
    code.make()
    return [[bool(each) for each in row] for row in code.modules]


def _runs(modules: list[list[bool]]) -> Iterator[tuple[int, int, int]]:
    """Yield each run of dark modules: its row, where it starts, how long it is."""
    for n, row in enumerate(modules):
        start = None
        for column, is_dark in enumerate([*row, False]):
            if is_dark and start is None:
                start = column
            elif not is_dark and start is not None:
                yield n, start, column - start
                start = None
