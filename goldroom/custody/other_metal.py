"""Other metal: what came to the gold room from elsewhere in the plant."""

from dataclasses import dataclass

from goldroom.custody.record import Record

OTHER_METAL = "other metal"
"""Where a crossing says that it went, when metal joins the room from elsewhere."""


@dataclass(frozen=True, kw_only=True)
class OtherMetal(Record):
    """Where an item came from that no flush brought, and who handed it over.

    `origin` is the trade's word for it (elution_sludge, sump, trap ...); `sample`
    names the sample of it that is to be assayed ("" if none was taken).
    """

    table = "other_metal"
    key_of = "{item}"
    item: str
    origin: str
    sample: str
    from_where: str
    handed_over_by: str
    at: str
    entry: str
    known_at: str
