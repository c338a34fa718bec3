"""Checks before serving: each at its threshold, and a deployment that has none."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from django.db import connection

from goldroom.faces.checks import check_databases, check_settings

ROOT = Path(__file__).resolve().parents[3]
DEMO_CLOCK = "2026-10-31T18:00:00+02:00@2026-11-20T09:00:00+00:00"


def ids(found):
    return [each.id for each in found]


@pytest.fixture
def keys(tmp_path, settings):
    """Return a folder of keys as it should be: its owner's alone."""
    folder = tmp_path / "keys"
    (folder / "our-mine").mkdir(parents=True)
    for path in (folder / "p-one.key.json", folder / "our-mine" / "p-two.key.json"):
        path.write_text("{}")
        path.chmod(0o600)
    folder.chmod(0o700)
    settings.KEYS_FOLDER = folder
    return folder


def test_nothing_is_wrong_with_what_stands_by_itself(keys):
    assert check_settings(None) == []


def test_no_folder_of_keys_is_needed(settings):
    settings.KEYS_FOLDER = None
    assert check_settings(None) == []


def test_a_folder_of_keys_that_is_not_there_is_told(keys):
    shutil.rmtree(keys)
    assert ids(check_settings(None)) == ["goldroom.E001"]


@pytest.mark.parametrize("mode", [0o640, 0o604, 0o660])
@pytest.mark.parametrize("name", ["p-one.key.json", "our-mine/p-two.key.json"])
def test_a_key_that_others_can_read_is_told(keys, name, mode):
    (keys / name).chmod(mode)
    (found,) = check_settings(None)
    assert found.id == "goldroom.E002"
    assert str(keys / name) in found.msg
    assert found.hint.startswith("chmod ")


@pytest.mark.parametrize("mode", [0o750, 0o701])
def test_a_folder_that_others_can_reach_is_told_but_for_a_demo(keys, settings, mode):
    keys.chmod(mode)
    assert ids(check_settings(None)) == ["goldroom.E002"]
    settings.DEMO_CLOCK = DEMO_CLOCK
    assert check_settings(None) == []


@pytest.mark.parametrize("name", ["log.key.json", "passphrase.txt"])
def test_what_only_a_demo_keeps_with_keys_is_told_elsewhere(keys, settings, name):
    (keys / name).write_text("{}")
    (keys / name).chmod(0o600)
    assert ids(check_settings(None)) == ["goldroom.E003"]
    settings.DEMO_CLOCK = DEMO_CLOCK
    assert check_settings(None) == []


@pytest.mark.parametrize(
    "clock",
    ["yesterday", "2026-10-31T18:00:00+02:00", DEMO_CLOCK.replace("+02:00", "")],
)
def test_a_demo_clock_is_two_times_with_their_offsets(settings, clock):
    settings.DEMO_CLOCK = clock
    assert ids(check_settings(None)) == ["goldroom.E004"]


@pytest.mark.parametrize(
    ("https", "debug", "expected"),
    [(True, False, ["goldroom.E005"]), (True, True, []), (False, False, [])],
)
def test_a_demo_clock_is_not_for_a_site_served(settings, https, debug, expected):
    settings.DEMO_CLOCK, settings.IS_HTTPS, settings.DEBUG = DEMO_CLOCK, https, debug
    assert ids(check_settings(None)) == expected


@pytest.mark.source("Django documentation, deployment checks, security.W009: 50")
@pytest.mark.parametrize(("length", "expected"), [(49, ["goldroom.E007"]), (50, [])])
def test_a_secret_has_fifty_characters(settings, length, expected):
    settings.SECRET_KEY = "x" * length
    assert ids(check_settings(None)) == expected


@pytest.mark.parametrize(
    ("minutes", "expected"),
    [(0, ["goldroom.E008"]), (1, []), (60, []), (61, ["goldroom.E008"])],
)
def test_idleness_is_a_minute_to_an_hour(settings, minutes, expected):
    settings.IDLE_SECONDS = 60 * minutes
    assert ids(check_settings(None)) == expected


def test_the_programs_clock_is_utc(settings):
    settings.TIME_ZONE = "Africa/Lusaka"
    assert ids(check_settings(None)) == ["goldroom.E009"]


def test_cookies_in_clear_to_named_hosts_are_told(settings):
    settings.NAMED_HOSTS = ["room.example"]
    settings.SESSION_COOKIE_SECURE = False
    assert ids(check_settings(None)) == ["goldroom.W001"]
    settings.SESSION_COOKIE_SECURE = True
    assert check_settings(None) == []


def test_databases_are_asked_only_when_named(told_once, settings):
    assert check_databases(None) == []
    assert check_databases(["default"]) == []


def test_a_demo_clock_beside_a_ledger_that_is_no_demo_is_told(
    told_once, settings, monkeypatch
):
    settings.DEMO_CLOCK = DEMO_CLOCK
    assert check_databases(["default"]) == []
    monkeypatch.setattr("goldroom.faces.checks.read.keyring", _of_a_site)
    assert ids(check_databases(["default"])) == ["goldroom.E006"]
    settings.DEMO_CLOCK = ""
    assert check_databases(["default"]) == []


def test_a_zone_that_the_machine_does_not_know_is_told(told_once, monkeypatch):
    monkeypatch.setattr(
        "goldroom.faces.checks.read.keyring",
        lambda ledger_id: _of_a_site(ledger_id, zone="Atlantis/Harbour"),
    )
    assert ids(check_databases(["default"])) == ["goldroom.E010"]


class _Opening:
    demo = False

    def __init__(self, time_zone):
        self.time_zone = time_zone


class _Ring:
    def __init__(self, zone):
        self.opening = _Opening(zone)


def _of_a_site(ledger_id, zone="Africa/Lusaka"):
    return _Ring(zone)


def test_a_trigger_taken_down_is_told_and_migrate_puts_it_up_again(fresh_db):
    on = " ON ledger_entry" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER ledger_entry_update{on}")
    (found,) = check_databases(["default"])
    assert found.id == "goldroom.W002"
    assert "ledger_entry_update" in found.msg
    assert "verify_ledger" in found.hint
    run("migrate", GOLDROOM_DATABASE_URL=url_of(fresh_db))
    assert check_databases(["default"]) == []


def url_of(name):
    if connection.vendor == "sqlite":
        return f"sqlite:///{name}"
    given = connection.settings_dict
    user = given["USER"] + (f":{given['PASSWORD']}" if given["PASSWORD"] else "")
    if given["HOST"].startswith("/"):
        return f"postgresql://{user}@/{name}?host={given['HOST']}"
    port = f":{given['PORT']}" if given["PORT"] else ""
    return f"postgresql://{user}@{given['HOST']}{port}/{name}"


def run(*arguments, **environment):
    """Run a command of the project with an environment of its own."""
    inherited = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith(("GOLDROOM_", "DJANGO_"))
    }
    return subprocess.run(
        [sys.executable, "manage.py", *arguments],
        cwd=ROOT,
        env=inherited | environment,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture
def site(tmp_path, keys):
    """Return the environment of a site that is served as it should be."""
    return {
        "GOLDROOM_VAR": str(tmp_path / "var"),
        "GOLDROOM_ALLOWED_HOSTS": "room.example",
        "GOLDROOM_KEYS": str(keys),
        "GOLDROOM_SECRET_KEY": "Wp3-vh0Zc_kQ9t1xLrB7uYdMn5gJa2EoSf8iHXe4TqRz6CbKs-new",
        "GOLDROOM_BEHIND_PROXY": "1",
    }


@pytest.mark.source("Django documentation, deployment checklist: check --deploy")
def test_a_site_as_it_should_be_has_nothing_to_mend(site):
    done = run("check", "--deploy", "--fail-level", "WARNING", **site)
    assert done.returncode == 0, done.stderr
    assert "no issues" in done.stdout


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"GOLDROOM_SECRET_KEY": "short"}, "goldroom.E007"),
        ({"GOLDROOM_HTTPS": "0"}, "goldroom.W001"),
        ({"GOLDROOM_IDLE_MINUTES": "61"}, "goldroom.E008"),
        ({"GOLDROOM_DEMO_CLOCK": DEMO_CLOCK}, "goldroom.E005"),
        ({"GOLDROOM_IDLE_MINUTES": "a while"}, "write a whole number"),
    ],
)
def test_a_site_with_one_thing_wrong_is_told_it(site, change, told):
    done = run("check", "--deploy", "--fail-level", "WARNING", **site | change)
    assert done.returncode != 0
    assert told in done.stderr


@pytest.mark.parametrize(("behind", "expected"), [("1", "X_FORWARDED_PROTO"), ("", "")])
def test_a_proxys_word_is_taken_only_where_the_site_says_so(site, behind, expected):
    told = "from django.conf import settings; print(settings.SECURE_PROXY_SSL_HEADER)"
    done = run(
        "shell", "-v", "0", "-c", told, **site | {"GOLDROOM_BEHIND_PROXY": behind}
    )
    assert done.returncode == 0, done.stderr
    assert (expected or "None") in done.stdout


@pytest.mark.parametrize(
    ("change", "told"),
    [({}, "served"), ({"GOLDROOM_IDLE_MINUTES": "0"}, "goldroom.E008")],
)
def test_a_web_server_starts_only_if_the_checks_pass(site, change, told):
    done = run(
        "shell", "-v", "0", "-c",
        "import goldroom.wsgi; print('served')", **site | change,
    )  # fmt: skip
    assert (done.returncode == 0) == (not change)
    assert told in done.stdout + done.stderr
