"""The security manager: who held a bar at an hour, and a copy for somebody to check."""

import json
import subprocess
import sys
from datetime import datetime, timedelta
from pathlib import Path

from playwright.sync_api import expect

from tests.browser.desk import MANAGER, SECURITY, Desk

BAR = "OF-0412"
VERIFIED, NOT_PINNED = 0, 3
"""Exit codes of the checker, as the README documents them."""


def said(demo: Path) -> list[dict]:
    """Return the month as it was said, a statement each."""
    lines = (demo / "month.jsonl").read_text(encoding="utf-8").splitlines()
    return [json.loads(line) for line in lines]


def test_the_holder_of_a_bar_at_an_hour_is_found_by_its_stamp(reading, desk_at):
    month = said(reading.folder)
    item = next(
        each["data"]["item"]
        for each in month
        if each["kind"] == "bar.numbered" and each["data"]["stamped"] == BAR
    )
    placed = next(
        each
        for each in month
        if each["kind"] == "vault.placed" and item in json.dumps(each["data"])
    )
    names = {
        each["person"]: each["name"]
        for each in month[0]["data"]["persons"]
        if month[0]["kind"] == "ledger.opened"
    }
    asked_at = datetime.fromisoformat(placed["occurred_at"]) + timedelta(minutes=30)

    desk = desk_at(reading)
    desk.sign_in(SECURITY)
    desk.find(BAR)
    expect(desk.heading(f"Bar {BAR}")).to_be_visible()
    when = {"Day and time, by the site's clock": f"{asked_at:%Y-%m-%dT%H:%M}"}
    desk.fill(when)
    desk.button("Who held it?").click()
    answer = desk.page.get_by_role("status")
    for signer in placed["signers"]:
        expect(answer).to_contain_text(names[signer["person"]])
    for fitted in placed["data"].get("closed", ()):
        for seal in fitted["seals_fitted"]:
            expect(answer).to_contain_text(seal["seal"])


def test_a_whole_copy_is_signed_by_two_and_verifies_without_us(
    recording, desk_at, tmp_path
):
    desk = desk_at(recording)
    desk.sign_in(SECURITY)
    desk.way("Check").click()
    _, size, _ = to_copy(desk, "The chain mark of now")
    policy = to_copy(desk, "The policy")
    desk.link("Whole copies").click()
    desk.page.get_by_role("link", name="Record an export of").click()
    expect(desk.heading("Export made")).to_be_visible()
    expect(desk.page.get_by_label("Entries in it")).to_have_value(size)
    desk.fill({"Taken by": "the auditor (invented)", "What for": "the yearly audit"})
    desk.choose("Signs with you", MANAGER)
    desk.read_over()
    entry = desk.signed_by(SECURITY, MANAGER)

    desk.way("Site").click()
    desk.page.get_by_role("main").get_by_role("link", name="Whole copies").click()
    with desk.page.expect_download() as download:
        desk.link(f"bundle of entry {entry}").click()
    bundle = tmp_path / "bundle.zip"
    download.value.save_as(bundle)
    trusted = recording.folder / "month.policy"
    kept = recording.folder / "month.checkpoint"

    assert " ".join(policy) in " ".join(trusted.read_text(encoding="utf-8").split())
    assert checked(bundle, "--policy", trusted) == NOT_PINNED
    assert checked(bundle, "--policy", trusted, "--anchor", kept) == VERIFIED


def to_copy(desk: Desk, name: str) -> list[str]:
    """Return the lines to copy that stand under a name."""
    lines = desk.page.locator("pre").and_(
        desk.page.get_by_role("region", name=name, exact=True)
    )
    return lines.inner_text().split()


def checked(bundle: Path, *options: str | Path) -> int:
    """Run the independent checker; return its exit code."""
    line = [sys.executable, "-m", "ledger.core.verify", bundle, *options]
    return subprocess.run(line, check=False, capture_output=True).returncode
