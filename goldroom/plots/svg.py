"""A plot as SVG text that can stand inside a page under its content policy."""

import re
from xml.etree import ElementTree as ET

from reportlab.graphics import renderSVG
from reportlab.pdfbase.pdfmetrics import stringWidth

from goldroom.plots.plot import BOLD, FONT, Plot

SVG = "http://www.w3.org/2000/svg"
SCREEN_FONT = "system-ui, sans-serif"
SINGLE_LINE = re.compile(r"M [^MLZ]+ L [^MLZ]+ Z")
"""A line that is closed back on itself: drawn twice, its dashes would fill."""
NOT_KEPT = ("version", "baseProfile", "width", "height", "preserveAspectRatio")


def svg_of(plot: Plot, prefix: str) -> str:
    """Return the plot's drawing as SVG; `prefix` makes its ids the page's only ones.

    It bears no style attribute, no script and no reference, and takes the width that
    it is given. Its title is the plot's sentence.
    """
    root = ET.fromstring(renderSVG.drawToString(plot.drawing))
    for element in list(root):
        if _tag(element) in ("title", "desc", "clipPath"):
            root.remove(element)
    for element in root.iter():
        element.tag = _tag(element)
        _say_by_attributes(element)
        if "id" in element.attrib:
            element.set("id", f"{prefix}-{element.attrib['id']}")
        if "clip-path" in element.attrib:
            del element.attrib["clip-path"]
    for name in NOT_KEPT:
        root.attrib.pop(name, None)
    root.set("xmlns", SVG)
    root.set("viewBox", f"0 0 {plot.drawing.width:g} {plot.drawing.height:g}")
    root.set("role", "img")
    root.set("aria-labelledby", f"{prefix}-title")
    title = ET.Element("title", {"id": f"{prefix}-title"})
    title.text = plot.sentence
    root.insert(0, title)
    desc = ET.Element("desc")
    desc.text = "The table beside it gives the same figures."
    root.insert(1, desc)
    return ET.tostring(root, encoding="unicode")


def _tag(element: ET.Element) -> str:
    return element.tag.rpartition("}")[2]


def _say_by_attributes(element: ET.Element) -> None:
    """Turn an element's style declarations into attributes of the same names."""
    style = element.attrib.pop("style", "")
    for declaration in style.split(";"):
        name, _, value = declaration.partition(":")
        name, value = name.strip(), value.strip()
        if not name or not value:
            continue
        if name == "font-family":
            element.set("font-weight", "bold" if "Bold" in value else "normal")
            value = SCREEN_FONT
        element.set(name, "none" if value == "None" else value)
    if element.tag == "text":
        _hold_width(element)
    if SINGLE_LINE.fullmatch(element.get("d", "")):
        element.set("d", element.attrib["d"].removesuffix(" Z"))


def _hold_width(element: ET.Element) -> None:
    """Give words the width that the drawing reckoned with, whatever the screen's font.

    Where they end was worked out from the paper's font.
    """
    font = BOLD if element.get("font-weight") == "bold" else FONT
    size = float(element.get("font-size", "12").removesuffix("px"))
    width = stringWidth(element.text or "", font, size)
    if width:
        element.set("textLength", f"{width:g}")
        element.set("lengthAdjust", "spacingAndGlyphs")
