"""What the faces keep for themselves; nothing here is part of the record.

Tables are named `faces_*`. An account is how the server knows a person between two
requests; who they are, which roles they hold and whether their key is valid is asked
of the ledger each time.
"""

from typing import ClassVar

from django.contrib.auth.base_user import AbstractBaseUser
from django.contrib.auth.models import BaseUserManager
from django.db import models

from ledger.core.signing import SigningKey


class Account(AbstractBaseUser):
    """A person of a ledger who has signed in here. It holds no password.

    `name` is the ledger's slug and the person's id with a colon between.
    """

    name = models.TextField(unique=True)
    ledger_id = models.BigIntegerField()
    person = models.TextField()
    unlocked: SigningKey | None = None  # for the length of one request only

    USERNAME_FIELD = "name"
    REQUIRED_FIELDS: ClassVar[list[str]] = []
    objects = BaseUserManager["Account"]()

    class Meta:
        db_table = "faces_account"

    def __str__(self) -> str:
        return self.name


class Token(models.Model):
    """A program's way in: the SHA-256 of a secret that was shown once."""

    digest = models.CharField(max_length=64, primary_key=True)
    account = models.ForeignKey(Account, on_delete=models.CASCADE)
    label = models.TextField()
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()

    class Meta:
        db_table = "faces_token"

    def __str__(self) -> str:
        return self.label


class Draft(models.Model):
    """Unsent values of a form: nobody's word yet. Its id becomes the entry's.

    `values` are the boxes of the form as typed, by path; `first` what was first
    typed where a reading was changed after the check. Both are JSON texts.
    """

    entry_id = models.UUIDField(primary_key=True)
    account = models.ForeignKey(Account, on_delete=models.CASCADE)
    kind = models.TextField()
    corrects = models.TextField(default="")
    values = models.TextField()
    first = models.TextField(default="{}")
    attachments = models.TextField(default="[]")
    made_at = models.DateTimeField()
    changed_at = models.DateTimeField()

    class Meta:
        db_table = "faces_draft"
        indexes = (
            models.Index(fields=("account", "changed_at"), name="faces_draft_of"),
        )

    def __str__(self) -> str:
        return f"{self.kind} {self.entry_id}"


class LastCheck(models.Model):
    """The result of the last verification of a ledger; `report` is a JSON text."""

    ledger_id = models.BigIntegerField(primary_key=True)
    checked_at = models.DateTimeField()
    size = models.BigIntegerField()
    exit_code = models.IntegerField()
    report = models.TextField()

    class Meta:
        db_table = "faces_last_check"

    def __str__(self) -> str:
        return f"ledger {self.ledger_id} at {self.size}"
