"""What the program says of its own settings before it serves anybody.

`manage.py check --deploy` asks the settings, `manage.py check --database default` and
`migrate` also what depends on the ledgers kept. Errors stop every command.

    goldroom.E001   the folder of keys is not there
    goldroom.E002   keys can be read by other accounts of the machine
    goldroom.E003   the log's key, or a passphrase, lies among the keys served
    goldroom.E004   the demo clock is not two times with offsets
    goldroom.E005   a demo clock where a site is served over HTTPS
    goldroom.E006   a demo clock beside a ledger that is no demo
    goldroom.E007   the secret is shorter than 50 characters
    goldroom.E008   minutes of idleness outside 1 to 60
    goldroom.E009   the machine's time is not taken as UTC
    goldroom.E010   the machine does not know a site's time zone
    goldroom.W001   cookies go over plain HTTP to named hosts
    goldroom.W002   a trigger that guards the record is missing or changed

The last is no error, for `migrate` is what puts the triggers up again.
"""

import stat
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.conf import settings
from django.core.checks import CheckMessage, Error, Warning
from django.core.exceptions import ImproperlyConfigured
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper

from goldroom.faces import clock
from goldroom.keys import LOG_KEY, PASSPHRASE_FILE
from ledger import fence, read
from ledger.sealed_keys import SUFFIX

SECRET_MIN = 50
IDLE_MINUTES_MIN, IDLE_MINUTES_MAX = 1, 60
OF_OTHERS = stat.S_IRWXG | stat.S_IRWXO


def check_settings(app_configs: object, **kwargs: Any) -> list[CheckMessage]:
    """Return what is wrong with the settings, whatever the database holds."""
    return [*_keys(), *_demo_clock(), *_secret(), *_sessions(), *_time()]


def check_databases(
    databases: Sequence[str] | None = None, **kwargs: Any
) -> list[CheckMessage]:
    """Return what is wrong with the settings for the ledgers that are kept."""
    found: list[CheckMessage] = []
    for alias in databases or ():
        connection = connections[alias]
        if "ledger_entry" in connection.introspection.table_names():
            found += [*_fence(connection), *_ledgers()]
    return found


def _keys() -> Iterator[CheckMessage]:
    folder: Path | None = settings.KEYS_FOLDER
    if folder is None:
        return
    if not folder.is_dir():
        yield Error(
            f"GOLDROOM_KEYS names {folder}, which is no folder.",
            hint="Make the folder, or leave the variable out: everybody then brings"
            " their key file.",
            id="goldroom.E001",
        )
        return
    if not settings.DEMO_CLOCK:  # a demonstration's keys guard nothing
        yield from _reachable(folder)
        yield from _not_served(folder)


def _reachable(folder: Path) -> Iterator[CheckMessage]:
    keys = sorted(folder.rglob(f"*{SUFFIX}"))
    readable = [each for each in (folder, *keys) if each.stat().st_mode & OF_OTHERS]
    if readable:
        yield Error(
            f"Other accounts of this machine may reach {readable[0]}.",
            hint=f"chmod -R go-rwx {folder}",
            id="goldroom.E002",
        )


def _not_served(folder: Path) -> Iterator[CheckMessage]:
    """Yield what only a demonstration may have among its keys."""
    for name in (f"{LOG_KEY}{SUFFIX}", PASSPHRASE_FILE):
        for path in sorted(folder.rglob(name)):
            yield Error(
                f"{path} lies in the folder of keys that the pages open.",
                hint="Move it to another machine: whoever runs this one could sign"
                " chain marks, or open everybody's keys.",
                id="goldroom.E003",
            )


def _demo_clock() -> Iterator[CheckMessage]:
    if not settings.DEMO_CLOCK:
        return
    try:
        clock.shift_of(settings.DEMO_CLOCK)
    except ImproperlyConfigured as wrong:
        yield Error(str(wrong), id="goldroom.E004")
    if settings.IS_HTTPS and not settings.DEBUG:
        yield Error(
            "GOLDROOM_DEMO_CLOCK is set where named hosts are served over HTTPS.",
            hint="Unset it; only a demonstration on one's own machine needs it.",
            id="goldroom.E005",
        )


def _secret() -> Iterator[CheckMessage]:
    if len(settings.SECRET_KEY) < SECRET_MIN:
        yield Error(
            f"GOLDROOM_SECRET_KEY has {len(settings.SECRET_KEY)} characters; expected"
            f" {SECRET_MIN} or more.",
            hint="Leave it out, and one is made and kept in GOLDROOM_VAR.",
            id="goldroom.E007",
        )


def _sessions() -> Iterator[CheckMessage]:
    minutes = settings.IDLE_SECONDS // 60
    if not IDLE_MINUTES_MIN <= minutes <= IDLE_MINUTES_MAX:
        yield Error(
            f"GOLDROOM_IDLE_MINUTES is {minutes}; expected {IDLE_MINUTES_MIN} to"
            f" {IDLE_MINUTES_MAX}.",
            hint="15 is usual where several people share a screen.",
            id="goldroom.E008",
        )
    if settings.NAMED_HOSTS and not settings.SESSION_COOKIE_SECURE:
        yield Warning(
            "Named hosts are served over plain HTTP: who listens on the network can"
            " take over a session and read passphrases.",
            hint="Unset GOLDROOM_HTTPS and serve over TLS.",
            id="goldroom.W001",
        )


def _time() -> Iterator[CheckMessage]:
    if not settings.USE_TZ or settings.TIME_ZONE != "UTC":
        yield Error(
            f"TIME_ZONE is {settings.TIME_ZONE!r}; expected 'UTC'.",
            hint="A site's own zone stands in its ledger; leave the program's alone.",
            id="goldroom.E009",
        )


def _fence(connection: BaseDatabaseWrapper) -> Iterator[CheckMessage]:
    dialect = fence.DIALECTS[connection.vendor]
    standing = dialect.standing(connection)
    missing = [
        name
        for name, wanted in sorted(dialect.expected(connection).items())
        if name.startswith("trigger ") and standing.get(name) != wanted
    ]
    if missing:
        yield Warning(
            f"{len(missing)} of the triggers that guard the record do not stand as"
            f" they should, {missing[0]} among them.",
            hint="Ask the security manager who took them down; run verify_ledger,"
            " then migrate, which puts them up again.",
            id="goldroom.W002",
        )


def _ledgers() -> Iterator[CheckMessage]:
    for ledger in read.ledgers():
        opening = read.keyring(ledger.pk).opening
        if opening is None:
            continue
        if settings.DEMO_CLOCK and not opening.demo:
            yield Error(
                f"GOLDROOM_DEMO_CLOCK is set, but ledger {ledger.slug} is no demo.",
                hint="Unset it, or keep the demonstration in a database of its own.",
                id="goldroom.E006",
            )
        try:
            ZoneInfo(opening.time_zone)
        except (ZoneInfoNotFoundError, ValueError):
            yield Error(
                f"This machine does not know {opening.time_zone!r}, the time zone of"
                f" ledger {ledger.slug}.",
                hint="Install the machine's time zone data (the package tzdata).",
                id="goldroom.E010",
            )
