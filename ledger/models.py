"""The tables of the keeper.

The record: `ledger_ledger`, `ledger_entry` and `ledger_attachment` only grow, and
triggers say so (see `fence`). `ledger_head` is a running summary of the entries,
recomputed and compared by every verification.

The work area: tables named `work_*` hold what is not yet part of a record and may
change: proposals waiting for signatures, nonces handed out, files uploaded.

An entry is its `leaf`, bytes that are never rebuilt. `seq`, `entry_id` and
`leaf_hash` repeat what the leaf says, for searching, and are compared with it.
Nothing cascades: no delete of one row ever reaches another. Times are clock texts
(`2026-09-24T04:00:00.123456Z`), as in the leaves, and compare as text.
"""

from django.db import models


class Ledger(models.Model):
    """One record. Its origin is in its first entry and never changes."""

    id = models.BigAutoField(primary_key=True)
    origin = models.TextField(unique=True)
    slug = models.TextField(unique=True)

    class Meta:
        db_table = "ledger_ledger"

    def __str__(self) -> str:
        return self.origin


class Entry(models.Model):
    """A signed statement in its place: the bytes that are the record."""

    pk = models.CompositePrimaryKey("ledger_id", "seq")
    ledger = models.ForeignKey(
        Ledger, models.DO_NOTHING, db_index=False, related_name="+"
    )
    seq = models.BigIntegerField()
    entry_id = models.TextField()
    leaf = models.BinaryField()
    leaf_hash = models.BinaryField()

    class Meta:
        db_table = "ledger_entry"
        constraints = (
            models.UniqueConstraint(
                fields=("ledger", "entry_id"), name="ledger_entry_once"
            ),
        )

    def __str__(self) -> str:
        return f"entry {self.seq}"


class Head(models.Model):
    """Where a ledger stands: the row that appending locks.

    `frontier` lists the roots of the complete subtrees (lower-case hex, widest
    first, separated by blanks); `at` is the clock text of the last entry.
    """

    ledger = models.OneToOneField(
        Ledger, models.DO_NOTHING, primary_key=True, related_name="+"
    )
    size = models.BigIntegerField()
    last_hash = models.BinaryField()
    frontier = models.TextField()
    at = models.TextField()

    class Meta:
        db_table = "ledger_head"

    def __str__(self) -> str:
        return f"head at {self.size}"


class Attachment(models.Model):
    """A file that an entry cites, named by its SHA-256 in lower-case hex."""

    pk = models.CompositePrimaryKey("ledger_id", "sha256")
    ledger = models.ForeignKey(
        Ledger, models.DO_NOTHING, db_index=False, related_name="+"
    )
    sha256 = models.TextField()
    size = models.BigIntegerField()
    content = models.BinaryField()

    class Meta:
        db_table = "ledger_attachment"

    def __str__(self) -> str:
        return self.sha256


class WorkProposal(models.Model):
    """A statement with some of its signatures, waiting for the others."""

    id = models.BigAutoField(primary_key=True)
    ledger = models.ForeignKey(
        Ledger, models.DO_NOTHING, db_index=False, related_name="+"
    )
    entry_id = models.TextField()
    statement = models.BinaryField()
    signatures = models.BinaryField()
    created_at = models.TextField()
    expires_at = models.TextField()

    class Meta:
        db_table = "work_proposal"
        constraints = (
            models.UniqueConstraint(
                fields=("ledger", "entry_id"), name="work_proposal_once"
            ),
        )

    def __str__(self) -> str:
        return f"proposal {self.entry_id}"


class WorkNonce(models.Model):
    """A nonce handed out and not yet burnt.

    Free until `expires_at`; once a proposal holds it (`held_by`, the entry id) it
    stays valid for that one statement as long as the proposal waits.
    """

    id = models.BigAutoField(primary_key=True)
    ledger = models.ForeignKey(
        Ledger, models.DO_NOTHING, db_index=False, related_name="+"
    )
    nonce = models.TextField()
    expires_at = models.TextField()
    held_by = models.TextField(null=True)

    class Meta:
        db_table = "work_nonce"
        constraints = (
            models.UniqueConstraint(fields=("ledger", "nonce"), name="work_nonce_once"),
        )

    def __str__(self) -> str:
        return self.nonce


class WorkAttachment(models.Model):
    """A file uploaded for a statement that is not yet an entry."""

    id = models.BigAutoField(primary_key=True)
    ledger = models.ForeignKey(
        Ledger, models.DO_NOTHING, db_index=False, related_name="+"
    )
    sha256 = models.TextField()
    size = models.BigIntegerField()
    content = models.BinaryField()

    class Meta:
        db_table = "work_attachment"
        constraints = (
            models.UniqueConstraint(
                fields=("ledger", "sha256"), name="work_attachment_once"
            ),
        )

    def __str__(self) -> str:
        return self.sha256
