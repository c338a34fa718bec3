"""Form drafts: kept here, not yet recorded. A draft belongs to whoever typed it."""

import json
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any

from django.db.models import F

from goldroom.faces.clock import real_now
from goldroom.faces.models import Draft
from goldroom.faces.reader import Reader

DRAFTS_SHOWN = 20
UNTOUCHED_FOR = timedelta(days=1)
TOUCHED_AFTER = timedelta(seconds=1)


@dataclass(frozen=True, kw_only=True)
class Kept:
    """A draft: its boxes by path, first readings by path, files already uploaded."""

    entry_id: str
    kind: str
    corrects: str = ""
    boxes: Mapping[str, str] = field(default_factory=dict)
    first: Mapping[str, str] = field(default_factory=dict)
    attachments: tuple[Mapping[str, Any], ...] = ()
    changed_at: str = ""


def keep(reader: Reader, kept: Kept, *, is_untouched: bool = False) -> None:
    """Keep a draft; one of somebody else's by that id is left alone.

    One that nobody has typed into changed just when it was made.
    """
    now = real_now()
    made_at = now if is_untouched else now - TOUCHED_AFTER
    values = {
        "kind": kept.kind,
        "corrects": kept.corrects,
        "values": json.dumps(dict(kept.boxes)),
        "first": json.dumps(dict(kept.first)),
        "attachments": json.dumps([dict(each) for each in kept.attachments]),
        "changed_at": now,
    }
    own = Draft.objects.filter(entry_id=kept.entry_id, account_id=reader.account_id)
    if not own.update(**values):
        Draft.objects.get_or_create(
            entry_id=kept.entry_id,
            defaults={**values, "account_id": reader.account_id, "made_at": made_at},
        )


def kept(reader: Reader, entry_id: str) -> Kept | None:
    """Return the reader's draft of this id, or None."""
    row = Draft.objects.filter(entry_id=entry_id, account_id=reader.account_id).first()
    return None if row is None else _kept(row)


def begin(reader: Reader, new: Kept) -> None:
    """Keep a new form that nobody has typed into; forget such forms of other days."""
    long_ago = real_now() - UNTOUCHED_FOR
    untouched = Draft.objects.filter(
        account_id=reader.account_id, changed_at=F("made_at"), made_at__lt=long_ago
    )
    untouched.delete()
    keep(reader, new, is_untouched=True)


def kept_by(reader: Reader) -> tuple[Kept, ...]:
    """Return the reader's drafts that somebody typed into, the latest first."""
    rows = Draft.objects.filter(
        account_id=reader.account_id, changed_at__gt=F("made_at")
    ).order_by("-changed_at")
    return tuple(_kept(row) for row in rows[:DRAFTS_SHOWN])


def forget(reader: Reader, entry_id: str) -> None:
    """Throw the reader's draft away."""
    Draft.objects.filter(entry_id=entry_id, account_id=reader.account_id).delete()


def new_id() -> str:
    """Return a fresh entry id for a form."""
    return str(uuid.uuid4())


def _kept(row: Draft) -> Kept:
    return Kept(
        entry_id=str(row.entry_id),
        kind=row.kind,
        corrects=row.corrects,
        boxes=json.loads(row.values),
        first=json.loads(row.first),
        attachments=tuple(json.loads(row.attachments)),
        changed_at=row.changed_at.isoformat(timespec="minutes"),
    )
