"""A worksheet whose words stay words and whose figures are exact.

Text that would be read as a formula is written as text and marked as text, so that
editing its cell leaves it text. A figure is decimal, or decimal text; a formula keeps
beside it what it came to, for programs that do not work it out.
"""

from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r")

STYLES: Mapping[str, Mapping[str, object]] = {
    "plain": {},
    "guarded": {"quote_prefix": True},
    "title": {"bold": True, "font_size": 14},
    "heading": {"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"},
    "right": {
        "bold": True,
        "bottom": 1,
        "text_wrap": True,
        "valign": "top",
        "align": "right",
        "indent": 1,
    },
    "long": {"text_wrap": True, "valign": "top"},
    "grams": {"num_format": "#,##0.000_)"},
    "kilograms": {"num_format": "#,##0.000000_)"},
    "ratio": {"num_format": "0.000_)"},
    "count": {"num_format": "0_)"},
}
LINE = 15
"""Points: the height of a line of words."""


@dataclass
class Sheet:
    """One worksheet and the styles that its cells may have."""

    page: Worksheet
    styles: Mapping[str, Format]

    def text(self, row: int, column: int, words: str, style: str = "plain") -> None:
        """Write words that stay words, whatever they begin with."""
        if words.startswith(STARTS_A_FORMULA):
            style = "guarded"
        self.page.write_string(row, column, words, self.styles[style])

    def texts(self, row: int, words: Iterable[str], style: str = "plain") -> None:
        """Write a row of words."""
        for column, each in enumerate(words):
            self.text(row, column, each, style)

    def headings(self, row: int, words: Iterable[str], right: Container[int]) -> None:
        """Write a row of headings, those of these columns above figures."""
        self.page.set_row(row, 2 * LINE)
        for column, each in enumerate(words):
            self.text(row, column, each, "right" if column in right else "heading")

    def long(self, row: int, column: int, words: str, letters: int) -> None:
        """Write words over as many lines as they need, `letters` in a line."""
        self.page.set_row(row, LINE * -(-max(1, len(words)) // letters))
        self.text(row, column, words, "long")

    def number(
        self, row: int, column: int, figure: object, style: str = "grams"
    ) -> None:
        """Write a figure given as decimal or decimal text; leave None empty."""
        if figure is not None:
            self.page.write_number(
                row, column, float(Decimal(str(figure))), self.styles[style]
            )

    def formula(
        self,
        row: int,
        column: int,
        formula: str,
        figure: object,
        style: str = "grams",
    ) -> None:
        """Write a formula and what it came to when this was drawn."""
        value = float(Decimal(str(figure)))
        self.page.write_formula(row, column, f"={formula}", self.styles[style], value)
