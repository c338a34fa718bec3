"""A browser at a served demonstration; nothing may go wrong unseen beside the page.

`reading` is one served demonstration for all tests that record nothing; `recording`
is a module's own. `desk_at` opens a fresh browser profile at either; when the test
ends, the console must have been silent, the content policy kept, and no other host
asked.
"""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect, sync_playwright

from tests.browser.desk import Desk
from tests.browser.served import Served, made, served
from tests.browser.watched import Watch

CHROMIUM = "/usr/bin/chromium"
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
TABLET = {"width": 820, "height": 1180}
WAITS_MS = 30_000
"""How long a busy machine may take over anything that a test waits for."""
SLOWEST_TOLD = 5


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Tell which answers took longest, the asking of them included."""
    took = [
        (took_ms, address)
        for reports in terminalreporter.stats.values()
        for report in reports
        if getattr(report, "when", "") == "call"
        for took_ms, address in dict(getattr(report, "user_properties", ())).items()
    ]
    for took_ms, address in sorted(took, reverse=True)[:SLOWEST_TOLD]:
        terminalreporter.write_line(f"{took_ms:6.0f} ms  {address}")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Start the machine's own Chromium once."""
    expect.set_options(timeout=WAITS_MS)
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(
            executable_path=CHROMIUM, headless=True, args=list(FLAGS)
        )
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make the demonstration once; others copy it."""
    return made(tmp_path_factory.mktemp("made") / "demo")


@pytest.fixture(scope="session")
def reading(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Serve one demonstration for all that only read."""
    with served(demo, tmp_path_factory.mktemp("reading") / "demo") as found:
        yield found


@pytest.fixture(scope="module")
def recording(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Serve a demonstration of the module's own, to record in."""
    with served(demo, tmp_path_factory.mktemp("recording") / "demo") as found:
        yield found


@pytest.fixture
def desk_at(browser: Browser) -> Iterator[Callable[[Served], Desk]]:
    """Return what opens a watched page in a profile of its own."""
    opened = []

    def opens(demo: Served) -> Desk:
        context = browser.new_context(
            viewport=TABLET, accept_downloads=True, locale="en-GB"
        )
        context.set_default_timeout(WAITS_MS)
        watch = Watch(demo.address).over(context)
        opened.append((context, watch, demo))
        return Desk(context.new_page(), demo, watch)

    yield opens
    for context, _watch, _demo in opened:
        context.close()
    for _context, watch, demo in opened:
        assert watch.wrong == [], demo.log_end()
