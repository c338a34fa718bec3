"""Every plot as SVG and PDF: well formed, bare of style, script and links, the same."""

import re
from collections.abc import Callable
from xml.etree import ElementTree as ET

import pytest
from reportlab.graphics import renderPDF
from reportlab.pdfgen.canvas import Canvas

from goldroom.plots.flow import flow_plot
from goldroom.plots.gravity import gravity_plot
from goldroom.plots.plot import Plot
from goldroom.plots.svg import svg_of
from tests.goldroom.plots.checks import gravity
from tests.goldroom.plots.flows import FLOWS

SVG = "{http://www.w3.org/2000/svg}"
PLOTS: dict[str, Callable[[], Plot]] = {
    "flow": lambda: flow_plot(FLOWS["all steps"]),
    "flow less than nothing": lambda: flow_plot(FLOWS["less than nothing held"]),
    "flow of one load": lambda: flow_plot(FLOWS["one load"]),
    "flow, empty": lambda: flow_plot(FLOWS["empty"]),
    "gravity": lambda: gravity_plot(gravity("130", ("80.000", "15.5", "30.250"))),
    "gravity, a fall": lambda: gravity_plot(gravity("130", ("80.000", "-9.5", "3"))),
    "gravity, empty": lambda: gravity_plot(gravity(None, ("0", "0", "0"))),
}
EACH_PLOT = pytest.mark.parametrize("name", PLOTS)

ALLOWED = {"svg", "title", "desc", "g", "path", "rect", "polygon", "polyline", "text"}


@EACH_PLOT
@pytest.mark.source("W3C Content Security Policy Level 3, style-src and script-src")
def test_svg_bears_nothing_that_a_strict_content_policy_blocks(name):
    root = ET.fromstring(svg_of(PLOTS[name](), "p1"))
    for element in root.iter():
        assert element.tag.removeprefix(SVG) in ALLOWED
        for attribute, value in element.attrib.items():
            plain = attribute.rpartition("}")[2]
            assert plain != "style"
            assert plain != "href"
            assert not plain.startswith("on")
            assert "url(" not in value


@EACH_PLOT
@pytest.mark.source("W3C SVG Accessibility API Mappings: role img, named by its title")
def test_svg_is_an_image_named_by_its_sentence(name):
    plot = PLOTS[name]()
    root = ET.fromstring(svg_of(plot, "p1"))
    assert root.get("role") == "img"
    title = root[0]
    assert title.tag == f"{SVG}title"
    assert title.text == plot.sentence
    assert root.get("aria-labelledby") == title.get("id")
    assert root.get("viewBox") == f"0 0 480 {plot.drawing.height:g}"


@EACH_PLOT
def test_every_id_bears_the_prefix_so_two_plots_share_a_page(name):
    first, second = (
        set(re.findall(r' id="([^"]+)"', svg_of(PLOTS[name](), prefix)))
        for prefix in ("p1", "p2")
    )
    assert first
    assert all(each.startswith("p1-") for each in first)
    assert not first & second


@EACH_PLOT
def test_svg_keeps_every_word_of_the_drawing(name):
    plot = PLOTS[name]()
    root = ET.fromstring(svg_of(plot, "p1"))
    shown = [each.text for each in root.iter(f"{SVG}text")]
    assert shown == [
        each.text for each in plot.drawing.contents if hasattr(each, "text")
    ]


@EACH_PLOT
def test_two_drawings_give_the_same_bytes(name):
    assert svg_of(PLOTS[name](), "p1") == svg_of(PLOTS[name](), "p1")
    assert pdf_of(PLOTS[name]()) == pdf_of(PLOTS[name]())


def pdf_of(plot: Plot) -> bytes:
    """Return the plot alone on a page, with no time of its making."""
    canvas = Canvas(
        "plot.pdf",
        pagesize=(plot.drawing.width, plot.drawing.height),
        invariant=1,
    )
    renderPDF.draw(plot.drawing, canvas, 0, 0)
    data = canvas.getpdfdata()
    assert isinstance(data, bytes)
    return data


@EACH_PLOT
def test_words_escape_what_would_be_markup(name):
    plot = PLOTS[name]()
    spoiled = Plot(plot.name, plot.drawing, '<script>"&', plot.headings, plot.rows)
    assert "<script" not in svg_of(spoiled, "p1")


def test_single_strokes_stay_open_so_that_dashes_show():
    for element in ET.fromstring(svg_of(PLOTS["gravity"](), "p1")).iter(f"{SVG}path"):
        strokes = element.attrib["d"].count("L")
        assert strokes != 1 or "Z" not in element.attrib["d"]


@EACH_PLOT
def test_no_attribute_says_none_of_python(name):
    assert "None" not in svg_of(PLOTS[name](), "p1")
