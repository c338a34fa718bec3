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

    def way(self, words: str) -> Locator:
        """Return a way in the frame of the page."""
        ways = self.page.get_by_role("navigation", name="Parts of the record")
        return ways.get_by_role("link", name=words, exact=True)

    def find(self, words: str) -> None:
        """Look for what bears these words, from the journal's own box."""
        self.way("Journal").click()
        self.fill({"Find a seal, bar, item, vessel or entry": words})
        self.button("Find").click()

    def begin(self, title: str) -> None:
        """Begin a form from the list of what can be recorded."""
        self.way("Today").click()
        self.link("Record something").click()
        self.page.get_by_role("main").get_by_role(
            "link", name=title, exact=True
        ).click()
        expect(self.heading(title)).to_be_visible()

    def group(self, *names: str) -> Locator:
        """Return the group of boxes under these legends, the outermost first."""
        found: Page | Locator = self.page
        for name in names:
            found = found.get_by_role("group", name=_just(name))
        return found

    def one_more(self, *names: str) -> Locator:
        """Ask for one more row of the last named group; return the row."""
        *outer, last = names
        rows = self.group(*outer, last)
        met = rows.get_by_role("group", name=re.compile(rf"^{last} \d+$")).count()
        button = f"One more: {last}"
        rows.get_by_role("button", name=button, exact=True).click()
        row = self.group(*outer, last, f"{last} {met + 1}")
        expect(row).to_be_visible()
        return row

    def fill(self, values: Mapping[str, str], within: Locator | None = None) -> None:
        """Fill boxes by the words at them; a choice takes what it is shown as."""
        for words, value in values.items():
            box = (within or self.page).get_by_label(_just(words))
            if box.evaluate("box => box.tagName") == "SELECT":
                box.select_option(label=value)
            else:
                box.fill(value)

    def choose(self, words: str, says: str, within: Locator | None = None) -> None:
        """Choose at a box what says some words, whatever else it says."""
        box = (within or self.page).get_by_label(_just(words))
        shown = box.get_by_role("option").all_inner_texts()
        found = [each for each in shown if re.search(rf"\b{re.escape(says)}", each)]
        assert found, f"{words}: none of {shown} says {says}"
        box.select_option(label=found[0])

    def reading(self, where: Locator, digits: str, instrument: str) -> None:
        """Type the digits of a display and choose the instrument they stand on."""
        self.fill({"Digits on the display": digits}, where)
        self.choose("Instrument", instrument, where)

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


def _just(words: str) -> re.Pattern[str]:
    """Return what matches these words, marked as what may be left out or not."""
    return re.compile(rf"^\s*{re.escape(words)}\s*(\(may be left out\))?\s*$")
