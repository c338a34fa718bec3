"""Numbered paper forms: what work goes on when the server is down.

A form is issued beforehand, filled in with ink while the work is done, and written
up afterwards; a spoiled one is kept and said to be void. So every number is
accounted for, as with seals.
"""

from dataclasses import dataclass

from goldroom.custody.record import Record


@dataclass(frozen=True, kw_only=True)
class PaperForm(Record):
    """A numbered form; `status` is issued, used or void.

    `at` is when it was handed out, `issued_entry` by which entry: forms of one
    handing-out are one range. `ended_entry` wrote it up or made it void, `ended_at`
    says when its paper tells of, or when it was found spoiled ("" until then).
    """

    table = "paper_form"
    key_of = "{form}"
    form: str
    status: str
    series: str
    number: int
    issued_to: str
    place: str
    at: str
    issued_entry: str
    known_at: str
    ended_at: str = ""
    ended_entry: str = ""
    ended_known_at: str = ""
