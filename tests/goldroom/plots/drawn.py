"""What stands in a drawing: its words and its shapes."""

from reportlab.graphics.shapes import Drawing, String


def drawn_words(drawing: Drawing) -> list[str]:
    """Return every text of the drawing."""
    return [each.text for each in drawing.contents if isinstance(each, String)]
