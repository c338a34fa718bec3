"""A code drawn here is read again by an independent reader."""

import subprocess

import pytest
from reportlab.pdfgen.canvas import Canvas

from goldroom.plots.qr import draw_qr, qr_svg


@pytest.mark.reads_back
@pytest.mark.source("zbarimg reads ISO/IEC 18004 symbols; independent of reportlab")
@pytest.mark.parametrize("text", ["BAR-0001", "GR/1:H1-2026-10.30 $%*+" + "A7" * 30])
def test_code_is_read_back_byte_for_byte(text, tmp_path):
    canvas = Canvas(str(tmp_path / "a.pdf"), pagesize=(120, 120))
    draw_qr(canvas, text, 120)
    canvas.save()
    subprocess.run(
        ["pdftoppm", "-r", "200", "-png", "-singlefile", "a.pdf", "a"],
        cwd=tmp_path,
        check=True,
    )
    read = subprocess.run(
        ["zbarimg", "-q", "--raw", "-Sbinary", "a.png"],
        cwd=tmp_path,
        check=True,
        capture_output=True,
    )
    assert read.stdout == text.encode("ascii")


def test_svg_has_one_path_of_dark_modules_and_no_style():
    drawn = qr_svg("BAR-0001")
    assert drawn.count("<path") == 2
    assert "style=" not in drawn
    assert drawn == qr_svg("BAR-0001")
