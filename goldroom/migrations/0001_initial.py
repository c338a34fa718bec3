"""The first schema: rows of the fold, the journal, and who is mentioned where."""

from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = []

    operations = [
        migrations.CreateModel(
            name="Row",
            fields=[
                (
                    "pk",
                    models.CompositePrimaryKey(
                        "ledger_id",
                        "record",
                        "key",
                        blank=True,
                        editable=False,
                        primary_key=True,
                        serialize=False,
                    ),
                ),
                ("ledger_id", models.BigIntegerField()),
                ("record", models.TextField()),
                ("key", models.TextField()),
                ("status", models.TextField()),
                ("place", models.TextField()),
                ("at", models.TextField()),
                ("seq", models.BigIntegerField()),
                ("value", models.TextField()),
            ],
            options={
                "db_table": "goldroom_row",
                "indexes": [
                    models.Index(
                        fields=["ledger_id", "record", "status"],
                        name="goldroom_row_status",
                    ),
                    models.Index(
                        fields=["ledger_id", "record", "at"],
                        name="goldroom_row_at",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="JournalLine",
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
                ("ledger_id", models.BigIntegerField()),
                ("seq", models.BigIntegerField()),
                ("entry_id", models.TextField()),
                ("kind", models.TextField()),
                ("signing_class", models.TextField()),
                ("occurred_at", models.TextField()),
                ("received_at", models.TextField()),
                ("people", models.TextField()),
                ("sentence", models.TextField()),
            ],
            options={
                "db_table": "goldroom_journal",
                "indexes": [
                    models.Index(
                        fields=["ledger_id", "occurred_at"],
                        name="goldroom_journal_at",
                    ),
                    models.Index(
                        fields=["ledger_id", "entry_id"],
                        name="goldroom_journal_entry",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Mention",
            fields=[
                (
                    "pk",
                    models.CompositePrimaryKey(
                        "ledger_id",
                        "record",
                        "key",
                        "seq",
                        blank=True,
                        editable=False,
                        primary_key=True,
                        serialize=False,
                    ),
                ),
                ("ledger_id", models.BigIntegerField()),
                ("record", models.TextField()),
                ("key", models.TextField()),
                ("seq", models.BigIntegerField()),
            ],
            options={"db_table": "goldroom_mention"},
        ),
    ]
