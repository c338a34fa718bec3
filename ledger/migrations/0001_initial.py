"""The first schema: the record, the head and the work area."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = []

    operations = [
        migrations.CreateModel(
            name="Ledger",
            fields=[
                ("id", models.BigAutoField(primary_key=True, serialize=False)),
                ("origin", models.TextField(unique=True)),
                ("slug", models.TextField(unique=True)),
            ],
            options={
                "db_table": "ledger_ledger",
            },
        ),
        migrations.CreateModel(
            name="Head",
            fields=[
                (
                    "ledger",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        primary_key=True,
                        related_name="+",
                        serialize=False,
                        to="ledger.ledger",
                    ),
                ),
                ("size", models.BigIntegerField()),
                ("last_hash", models.BinaryField()),
                ("frontier", models.TextField()),
                ("at", models.TextField()),
            ],
            options={
                "db_table": "ledger_head",
            },
        ),
        migrations.CreateModel(
            name="Attachment",
            fields=[
                (
                    "pk",
                    models.CompositePrimaryKey(
                        "ledger_id",
                        "sha256",
                        blank=True,
                        editable=False,
                        primary_key=True,
                        serialize=False,
                    ),
                ),
                (
                    "ledger",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="ledger.ledger",
                    ),
                ),
                ("sha256", models.TextField()),
                ("size", models.BigIntegerField()),
                ("content", models.BinaryField()),
            ],
            options={
                "db_table": "ledger_attachment",
            },
        ),
        migrations.CreateModel(
            name="Entry",
            fields=[
                (
                    "pk",
                    models.CompositePrimaryKey(
                        "ledger_id",
                        "seq",
                        blank=True,
                        editable=False,
                        primary_key=True,
                        serialize=False,
                    ),
                ),
                (
                    "ledger",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="ledger.ledger",
                    ),
                ),
                ("seq", models.BigIntegerField()),
                ("entry_id", models.TextField()),
                ("leaf", models.BinaryField()),
                ("leaf_hash", models.BinaryField()),
            ],
            options={
                "db_table": "ledger_entry",
                "constraints": [
                    models.UniqueConstraint(
                        fields=("ledger", "entry_id"), name="ledger_entry_once"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="WorkAttachment",
            fields=[
                ("id", models.BigAutoField(primary_key=True, serialize=False)),
                (
                    "ledger",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="ledger.ledger",
                    ),
                ),
                ("sha256", models.TextField()),
                ("size", models.BigIntegerField()),
                ("content", models.BinaryField()),
            ],
            options={
                "db_table": "work_attachment",
                "constraints": [
                    models.UniqueConstraint(
                        fields=("ledger", "sha256"), name="work_attachment_once"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="WorkNonce",
            fields=[
                ("id", models.BigAutoField(primary_key=True, serialize=False)),
                (
                    "ledger",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="ledger.ledger",
                    ),
                ),
                ("nonce", models.TextField()),
                ("expires_at", models.TextField()),
                ("held_by", models.TextField(null=True)),
            ],
            options={
                "db_table": "work_nonce",
                "constraints": [
                    models.UniqueConstraint(
                        fields=("ledger", "nonce"), name="work_nonce_once"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="WorkProposal",
            fields=[
                ("id", models.BigAutoField(primary_key=True, serialize=False)),
                (
                    "ledger",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="ledger.ledger",
                    ),
                ),
                ("entry_id", models.TextField()),
                ("statement", models.BinaryField()),
                ("signatures", models.BinaryField()),
                ("created_at", models.TextField()),
                ("expires_at", models.TextField()),
            ],
            options={
                "db_table": "work_proposal",
                "constraints": [
                    models.UniqueConstraint(
                        fields=("ledger", "entry_id"), name="work_proposal_once"
                    )
                ],
            },
        ),
    ]
