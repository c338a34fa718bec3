"""Samples that the tables hold, and those never accounted for."""

from datetime import datetime

from goldroom.custody.moves import HELD
from goldroom.custody.records import Item
from goldroom.custody.sampled import Sample
from goldroom.findings.found import Found, Threshold
from goldroom.findings.samples import ACCOUNTED_WITHIN as ACCOUNTED_WITHIN
from goldroom.findings.samples import samples_open
from goldroom.reports import rows


def sample_findings(ledger_id: int, *, within: Threshold, now: datetime) -> list[Found]:
    """Return what the rules find of samples at this moment."""
    held = rows.every(ledger_id, Item, *HELD)
    told = {each.sample: each for each in rows.every(ledger_id, Sample)}
    return samples_open(held, told, within=within, now=now)
