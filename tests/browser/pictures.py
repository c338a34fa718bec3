"""Pictures of every sort of page, for people to look at; run by hand.

    python -m tests.browser.pictures FOLDER

makes a demonstration, serves it, and leaves a picture of every sort of page that an
officer, the security manager, the accountant and the laboratory reach, and of every
kind's form, as a tablet and as a desk's screen show it. The folder may be named by
GOLDROOM_PICTURES instead.
"""

import os
import re
import sys
import tempfile
from pathlib import Path

import django
from playwright.sync_api import sync_playwright

from goldroom.statements.registry import kinds
from tests.browser.conftest import CHROMIUM, FLAGS, TABLET
from tests.browser.crawl import walked
from tests.browser.desk import ACCOUNTANT, LABORATORY, OFFICER, SECURITY, Desk
from tests.browser.served import made, served
from tests.browser.watched import Watch

SCREENS = {"tablet": TABLET, "desk": {"width": 1366, "height": 900}}
PEOPLE = (OFFICER, SECURITY, ACCOUNTANT, LABORATORY)


def draw(folder: Path) -> int:
    """Draw every sort of page into `folder`; return how many pictures there are."""
    folder.mkdir(parents=True, exist_ok=True)
    with (
        tempfile.TemporaryDirectory() as scratch,
        served(made(Path(scratch) / "made"), Path(scratch) / "demo") as demo,
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(
            executable_path=CHROMIUM, headless=True, args=list(FLAGS)
        )
        for name in PEOPLE:
            context = browser.new_context(locale="en-GB")
            desk = Desk(context.new_page(), demo, Watch(demo.address))
            desk.go("/")
            _picture(desk, folder, "sign-in")
            desk.sign_in(name)
            for answer in walked(desk):
                if answer.is_page:
                    _picture(desk, folder, f"{name.split()[0]}-{answer.address}")
            if name == OFFICER:
                for kind in kinds():
                    desk.go(f"/say/{kind}/")
                    _picture(desk, folder, f"form-{kind}")
            context.close()
    return len(list(folder.glob("*.png")))


def _picture(desk: Desk, folder: Path, name: str) -> None:
    words = re.sub(r"[^A-Za-z0-9._-]+", "-", name).strip("-")[:100]
    for screen, size in SCREENS.items():
        desk.page.set_viewport_size(size)
        desk.page.screenshot(path=folder / f"{words}-{screen}.png", full_page=True)


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "goldroom.settings")
    django.setup()
    where = sys.argv[1] if len(sys.argv) > 1 else os.environ["GOLDROOM_PICTURES"]
    print(draw(Path(where)), "pictures in", where)
