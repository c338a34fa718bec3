"""A demonstration served by a real server process, at http://localhost:PORT.

The demonstration is made once (`made`) and copied for whoever records in it; it is
served as it says itself, in its file `environment`.
"""

import os
import shutil
import socket
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from urllib.error import URLError

ROOT = Path(__file__).resolve().parents[2]
MANAGE = (sys.executable, str(ROOT / "manage.py"))
STARTS_WITHIN_S = 120
LOG_LINES = 60


@dataclass(frozen=True)
class Served:
    """A demonstration that answers: its folder and its address."""

    folder: Path
    address: str

    @property
    def passphrase(self) -> str:
        """Return what opens every key of the demonstration."""
        text = (self.folder / "keys" / "passphrase.txt").read_text(encoding="utf-8")
        return text.strip()

    def log_end(self) -> str:
        """Return the last lines of what the server said."""
        lines = (self.folder / "server.log").read_text(encoding="utf-8").splitlines()
        return "\n".join(lines[-LOG_LINES:])


def made(folder: Path) -> Path:
    """Make the demonstration in `folder`, as the README's command does."""
    run = subprocess.run(
        [*MANAGE, "demo", "--into", str(folder)],
        env=_environment(folder),
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stdout + run.stderr
    return folder


@contextmanager
def served(demo: Path, folder: Path) -> Iterator[Served]:
    """Serve a copy of the demonstration, made in `folder`, until the block ends."""
    shutil.copytree(demo, folder)
    port = _free_port()
    found = Served(folder, f"http://localhost:{port}")
    with (folder / "server.log").open("wb") as log:
        server = subprocess.Popen(
            [*MANAGE, "runserver", "--noreload", str(port)],
            env=_serving(folder),
            stdout=log,
            stderr=log,
        )
        try:
            _wait_until_it_answers(server, found)
            yield found
        finally:
            server.terminate()
            server.wait(timeout=STARTS_WITHIN_S)


def _environment(folder: Path) -> dict[str, str]:
    found = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith("GOLDROOM_")
    }
    return {
        **found,
        "GOLDROOM_VAR": str(folder.parent / "var"),
        "GOLDROOM_DATABASE_URL": f"sqlite:///{folder / 'goldroom.sqlite3'}",
    }


def _serving(folder: Path) -> dict[str, str]:
    """Return what the demonstration says to go on with, for this copy of it."""
    lines = (folder / "environment").read_text(encoding="utf-8").splitlines()
    found = [each.removeprefix("export ") for each in lines if "=" in each]
    given = dict(each.split("=", 1) for each in found)
    here = {"GOLDROOM_KEYS": str(folder / "keys")}
    return {**given, **_environment(folder), **here}


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def _wait_until_it_answers(server: subprocess.Popen, found: Served) -> None:
    ends = datetime.now(UTC) + timedelta(seconds=STARTS_WITHIN_S)
    while True:
        try:
            urllib.request.urlopen(f"{found.address}/sign-in/", timeout=5).close()
        except URLError:
            is_up = server.poll() is None and datetime.now(UTC) < ends
            assert is_up, f"the server does not answer:\n{found.log_end()}"
        else:
            return
