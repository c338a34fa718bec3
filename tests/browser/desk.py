"""Somebody at a screen who knows nothing but what the page says.

Everything is found by its words: labels, roles and names, never by an id.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from playwright.sync_api import Locator, Page, expect

from tests.browser.served import Served
from tests.browser.watched import Watch

OFFICER = "Dara Wexmoor (invented)"
WITNESS = "Edda Quoyle (invented)"
SECURITY = "Ruvi Calderstone (invented)"
MANAGER = "Bex Thornquist (invented)"
ACCOUNTANT = "Loris Pentworth (invented)"
LABORATORY = "Kato Verrill (invented)"
METALLURGIST = "Ysolt Merrinwood (invented)"
ENTRY = re.compile(r"/journal/(\d+)/")


@dataclass(frozen=True)
class Desk:
    """A page of a watched browser, at a served demonstration."""

    page: Page
    demo: Served
    watch: Watch

    def go(self, where: str) -> None:
        """Open an address of the site."""
        self.page.goto(f"{self.demo.address}{where}")

    def sign_in(self, name: str) -> None:
        """Sign in from the first page of the site."""
        self.go("/")
        self.give_name(name)
        expect(self.heading("Today")).to_be_visible()

    def give_name(self, name: str) -> None:
        """Fill in the sign-in page and send it."""
        self.page.get_by_label("Your name").select_option(label=name)
        self.page.get_by_label("Passphrase of your key").fill(self.demo.passphrase)
        self.button("Sign in").click()

    def heading(self, words: str) -> Locator:
        """Return the page's own heading, if it says these words."""
        return self.page.get_by_role("heading", level=1, name=words)

    def button(self, words: str) -> Locator:
        """Return the button that says just these words."""
        return self.page.get_by_role("button", name=words, exact=True)

    def link(self, words: str) -> Locator:
        """Return the link that says just these words."""
        return self.page.get_by_role("link", name=words, exact=True)

    def begin(self, title: str) -> None:
        """Begin a form from the list of what can be recorded."""
        self.page.get_by_role("navigation").get_by_role(
            "link", name="Today", exact=True
        ).click()
        self.link("Record something").click()
        self.page.get_by_role("main").get_by_role(
            "link", name=title, exact=True
        ).click()
        expect(self.heading(title)).to_be_visible()

    def group(self, name: str) -> Locator:
        """Return the group of boxes under a legend that begins so."""
        return self.page.get_by_role("group", name=name).first

    def fill(self, values: Mapping[str, str], within: Locator | None = None) -> None:
        """Fill boxes by the words at them; a choice takes what it is shown as."""
        for words, value in values.items():
            box = (within or self.page).get_by_label(words).first
            if box.evaluate("box => box.tagName") == "SELECT":
                box.select_option(label=value)
            else:
                box.fill(value)

    def reading(self, name: str, digits: str, instrument: str) -> None:
        """Type the digits of a display and choose the instrument they stand on."""
        where = self.group(name)
        self.fill({"Digits on the display": digits, "Instrument": instrument}, where)

    def read_over(self) -> None:
        """Go on from a form to the page where it is read and signed."""
        self.button("Read it over, then sign").click()
        expect(self.page.get_by_role("heading", name="What you sign")).to_be_visible()

    def sign(self, name: str) -> None:
        """Give a signature at the place that the page holds for `name`."""
        self.page.get_by_label(f"Passphrase of {name}'s key").fill(self.demo.passphrase)
        self.button(f"Sign as {name}").click()

    def signed_by(self, *names: str) -> int:
        """Sign one after the other on this screen; return the entry's number."""
        for name in names:
            self.sign(name)
        expect(self.page).to_have_url(ENTRY)
        return int(ENTRY.findall(self.page.url)[0])
