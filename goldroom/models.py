"""Read tables: what the entries come to, written by `projection` alone.

They can be thrown away and folded again (`manage.py rebuild_tables`), and every
verification compares them with a fresh fold. `Row` holds one record of the fold
(see `goldroom.custody.records`) as canonical text, with the few columns that are
searched; `JournalLine` is an entry read aloud; `Mention` leads from a thing or a
person to the entries that speak of it.
"""

from django.db import models


class Row(models.Model):
    """One record of the fold: `record` names its sort, `value` is its text."""

    pk = models.CompositePrimaryKey("ledger_id", "record", "key")
    ledger_id = models.BigIntegerField()
    record = models.TextField()
    key = models.TextField()
    status = models.TextField()
    place = models.TextField()
    at = models.TextField()
    seq = models.BigIntegerField()
    value = models.TextField()

    class Meta:
        db_table = "goldroom_row"
        indexes = (
            models.Index(
                fields=("ledger_id", "record", "status"), name="goldroom_row_status"
            ),
            models.Index(fields=("ledger_id", "record", "at"), name="goldroom_row_at"),
        )

    def __str__(self) -> str:
        return f"{self.record} {self.key}"


class JournalLine(models.Model):
    """An entry in words. Times are UTC texts; `people` are ids, in signing order."""

    pk = models.CompositePrimaryKey("ledger_id", "seq")
    ledger_id = models.BigIntegerField()
    seq = models.BigIntegerField()
    entry_id = models.TextField()
    kind = models.TextField()
    signing_class = models.TextField()
    occurred_at = models.TextField()
    received_at = models.TextField()
    people = models.TextField()
    sentence = models.TextField()

    class Meta:
        db_table = "goldroom_journal"
        indexes = (
            models.Index(
                fields=("ledger_id", "occurred_at"), name="goldroom_journal_at"
            ),
            models.Index(
                fields=("ledger_id", "entry_id"), name="goldroom_journal_entry"
            ),
        )

    def __str__(self) -> str:
        return self.sentence


class Mention(models.Model):
    """An entry speaks of a thing (item, vessel, seal ...) or is signed by a person."""

    pk = models.CompositePrimaryKey("ledger_id", "record", "key", "seq")
    ledger_id = models.BigIntegerField()
    record = models.TextField()
    key = models.TextField()
    seq = models.BigIntegerField()

    class Meta:
        db_table = "goldroom_mention"

    def __str__(self) -> str:
        return f"{self.record} {self.key} in entry {self.seq}"
