"""Refusals as a form shows them: at the box they speak of, and in a summary on top."""

import re
from dataclasses import dataclass

from goldroom.errors import Refusal
from ledger.core.errors import LedgerRefusal

FIGURE_FOR = re.compile(r"\bThe figure for \S+ ")


@dataclass(frozen=True, kw_only=True)
class Problem:
    """What is wrong with a form: `field` is the box's path ("" for the whole)."""

    code: str
    field: str
    message: str

    @property
    def box(self) -> str:
        """Return the id of the box on the page."""
        return box_id(self.field)


def problem_of(refusal: Refusal | LedgerRefusal) -> Problem:
    """Return a refusal as a form shows it."""
    return Problem(
        code=refusal.code,
        field=refusal.field,
        message=_for_people(refusal.message, refusal.field),
    )


def _for_people(message: str, field: str) -> str:
    """Return a refusal's words without the path that programs go by."""
    words = message.removeprefix(f"{field}: ") if field else message
    words = FIGURE_FOR.sub("The figure ", words)
    plain = words.replace(", without quotation marks", "")
    return plain[:1].upper() + plain[1:]


def box_id(path: str) -> str:
    """Return the id that the box of a path has on a page: "box-products-1-mass"."""
    kept = "".join(sign if sign.isalnum() else "-" for sign in path)
    return f"box-{kept}".rstrip("-")
