"""The gold room officer's day, done by somebody who reads nothing but the pages."""

import re

from playwright.sync_api import expect

from tests.browser import axe
from tests.browser.desk import OFFICER, SECURITY, WITNESS, Desk


def test_the_cleanup_sheet_is_written_read_over_and_signed_by_two(recording, desk_at):
    desk = desk_at(recording)
    desk.sign_in(OFFICER)
    expected = desk.page.get_by_role("region", name="Flushes not on a sheet yet")
    told = expected.get_by_role("listitem").all_inner_texts()
    hopper = re.findall(r"into (\w+)", told[0])[0]
    desk.link("Write the cleanup sheet").click()

    desk.choose("Hopper", hopper)
    for n, line in enumerate(told, start=1):
        numbers = re.findall(r"flushes (\d+) to (\d+)", line)[0]
        row = desk.group("Flushes", f"Flushes {n}")
        expect(row.get_by_label("First flush")).to_have_value(numbers[0])
        expect(row.get_by_label("Last flush")).to_have_value(numbers[1])
    answer = "the feed pump had tripped; counted from the panel, nothing spilled"
    for box in desk.page.get_by_label("Answer", exact=True).all():
        box.fill(answer)
    desk.choose("Signs with you", WITNESS)
    desk.read_over()

    expect(desk.page.get_by_text(answer)).to_be_visible()
    assert axe.complaints(desk.page) == []
    desk.sign(OFFICER)
    expect(desk.page.get_by_text(f"Give the screen to {WITNESS}")).to_be_visible()
    expect(desk.page.get_by_role("banner").get_by_text(OFFICER)).to_be_visible()
    desk.signed_by(WITNESS)

    expect(desk.heading("Cleanup sheet")).to_be_visible()
    for name in (OFFICER, WITNESS):
        expect(desk.page.get_by_role("rowheader", name=name)).to_be_visible()
    desk.way("Today").click()
    expect(expected).to_have_count(0)


def test_metal_goes_from_the_safe_through_the_furnace_into_bars(recording, desk_at):
    desk = desk_at(recording)
    desk.sign_in(OFFICER)
    charge = make_up_what_the_safe_holds(desk)
    castings = pour(desk, charge)
    for n, casting in enumerate(castings):
        stamped = number(desk, casting, grams=f"{1010 + 5 * n}.0")
        desk.find(stamped)
        expect(desk.heading(f"Bar {stamped}")).to_be_visible()
        expect(desk.page.get_by_text(f"{casting} ({stamped}").first).to_be_visible()
    sample(desk, castings[0], grams="1006.0")


def held(desk: Desk, words: str):
    """Return the row of what is held that says these words."""
    desk.way("Holdings").click()
    return desk.page.get_by_role("row").filter(has_text=words)


def make_up_what_the_safe_holds(desk: Desk) -> str:
    """Charge every concentrate in the safe; return the charge's id."""
    rows = held(desk, "Concentrate safe")
    items = [each.split()[0] for each in rows.all_inner_texts()]
    seal = re.findall(r"S-\d{4}", rows.first.inner_text())[0]
    desk.begin("Charge made up")
    desk.choose("Furnace", "F1")
    desk.fill({"Crucible": "A1", "Earlier uses of the crucible": "4"})
    opened = desk.one_more("Vessels opened")
    desk.choose("Vessel", "C1", opened)
    cut = desk.group("Vessels opened", "Vessels opened 1", "Seals removed 1")
    desk.fill({"Point": "door", "Number read": seal, "Tamper signs": "none"}, cut)
    cut.get_by_role("group", name="Remains kept").get_by_label("yes").check()
    for n, item in enumerate(items, start=1):
        if n > 1:
            desk.one_more("Sources")
        desk.fill({"Source": item}, desk.group("Sources", f"Sources {n}"))
    for flux, mass_kg in (("borax", "6,2"), ("soda ash", "2.8")):
        row = desk.one_more("Fluxes")
        desk.fill({"Flux": flux, "Mass, kg": mass_kg}, row)
    charge = desk.page.get_by_label("Charge id").input_value()
    desk.choose("Signs with you", SECURITY)
    desk.read_over()
    borax = desk.page.get_by_role("definition").filter(has_text="6.2")
    expect(borax).to_have_text(re.compile(r"^6\.2( \(usually [\d.]+ to [\d.]+\))?$"))
    desk.signed_by(OFFICER, SECURITY)
    return charge


def pour(desk: Desk, charge: str) -> list[str]:
    """Pour the charge into two moulds and dip a sample; return the castings' ids."""
    desk.begin("Charge poured")
    desk.fill({"Charge": charge, "Tap temperature, °C": "1205"})
    desk.choose("Where the castings cool", "Gold room")
    castings = [f"{charge}-{n}" for n in (1, 2)]
    for n, casting in enumerate(castings, start=1):
        if n > 1:
            desk.one_more("Castings")
        row = desk.group("Castings", f"Castings {n}")
        desk.fill({"Casting id": casting, "Mould": f"M{n}"}, row)
    dip = desk.one_more("Samples")
    desk.fill({"Sample id": "DIP-9001", "Way": "dip"}, dip)
    desk.reading(dip.get_by_role("group", name="Mass"), "5.91", "AB1")
    desk.fill({"Slag id": "SLG-9001"})
    desk.choose("Signs with you", SECURITY)
    desk.read_over()
    desk.signed_by(OFFICER, SECURITY)
    return castings


def number(desk: Desk, casting: str, *, grams: str) -> str:
    """Stamp and weigh a casting; return the number stamped on it."""
    stamped = f"OF-090{casting[-1]}"
    desk.begin("Bar numbered")
    desk.fill({"Casting": casting, "Stamped number": stamped})
    desk.reading(desk.group("First reading"), grams, "BU1")
    desk.reading(desk.group("Second reading"), grams, "BU1")
    desk.choose("Signs with you", WITNESS)
    desk.read_over()
    desk.signed_by(OFFICER, WITNESS)
    return stamped


def sample(desk: Desk, bar: str, *, grams: str) -> None:
    """Drill a bar and weigh it again; the drillings are then among what is held."""
    desk.begin("Bar re-weighed")
    desk.fill({"Bar": bar})
    drilled = desk.one_more("Taken off")
    desk.fill({"Sample id": "DRL-9001", "Way": "drill"}, drilled)
    desk.reading(drilled.get_by_role("group", name="Mass"), "4.02", "AB1")
    desk.reading(desk.group("First reading"), grams, "BU1")
    desk.reading(desk.group("Second reading"), grams, "BU1")
    desk.choose("Signs with you", WITNESS)
    desk.read_over()
    desk.signed_by(OFFICER, WITNESS)
    expect(held(desk, "DRL-9001")).to_be_visible()
