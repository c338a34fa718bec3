"""Which parcels a period has, and which steps can be balanced on their own."""

from goldroom.reconcile.network import incidence, parcels_of
from goldroom.reconcile.priors import Quantities
from tests.goldroom.reconcile.book import OCTOBER, WELL, Book


def ways(book: Book, period: tuple[str, str] = OCTOBER) -> list[tuple[str, ...]]:
    """Return (item, role, from, to) of the period's parcels."""
    data = book.data()
    parcels = parcels_of(
        data, Quantities(data, WELL), from_at=period[0], to_at=period[1]
    )
    return [
        (each.item, each.way.role, each.way.from_step, each.way.to_step)
        for each in parcels
    ]


def test_a_load_comes_in_and_is_held_until_its_lot():
    book = Book()
    book.load("L1", at="2026-10-05T08:00:00Z")
    assert ways(book) == [
        ("L1", "passed", "", "hopper"),
        ("L1", "closing", "hopper", ""),
    ]
    book.lot("T1", ["L1"], at="2026-10-06T08:00:00Z", grams="20000")
    assert ways(book) == [
        ("L1", "passed", "", "hopper"),
        ("T1", "passed", "hopper", "table"),
        ("T1", "closing", "table", ""),
    ]


def test_a_closing_is_the_next_opening():
    book = Book()
    book.load("L1", at="2026-10-05T08:00:00Z")
    november = (OCTOBER[1], "2026-12-01T04:00:00Z")
    assert ways(book, november) == [
        ("L1", "opening", "", "hopper"),
        ("L1", "closing", "hopper", ""),
    ]


def test_what_happens_at_the_start_belongs_to_the_period_and_at_the_end_to_the_next():
    book = Book()
    book.load("early", at=OCTOBER[0])
    book.load("late", at=OCTOBER[1])
    assert ways(book) == [
        ("early", "passed", "", "hopper"),
        ("early", "closing", "hopper", ""),
    ]


def test_an_item_used_up_at_the_very_start_is_an_opening_and_its_child_passes():
    book = Book()
    book.load("L1", at="2026-09-20T08:00:00Z")
    book.lot("T1", ["L1"], at=OCTOBER[0], grams="20000")
    assert ways(book) == [
        ("L1", "opening", "", "hopper"),
        ("T1", "passed", "hopper", "table"),
        ("T1", "closing", "table", ""),
    ]


def test_stock_declared_before_the_period_is_an_opening():
    book = Book()
    book.make("heel", "heel", step="smelt", at="2026-09-30T08:00:00Z", is_opening=True)
    assert ways(book)[0] == ("heel", "opening", "", "smelt")


def test_stock_declared_within_the_period_comes_in_from_outside():
    book = Book()
    book.make("heel", "heel", step="smelt", at="2026-10-02T08:00:00Z", is_opening=True)
    assert ways(book) == [
        ("heel", "passed", "", "smelt"),
        ("heel", "closing", "smelt", ""),
    ]


def test_declared_stock_that_moved_on_was_where_its_first_crossing_led_from():
    book = Book()
    book.make("B0", "bar", step="smelt", at="2026-09-30T08:00:00Z", is_opening=True)
    book.cross("B0", "vault", at="2026-10-02T08:00:00Z")
    assert ways(book) == [
        ("B0", "opening", "", "smelt"),
        ("B0", "passed", "smelt", "vault"),
        ("B0", "closing", "vault", ""),
    ]


def test_tails_that_leave_at_once_are_out_of_the_table_once():
    book = Book()
    book.load("L1", at="2026-10-05T08:00:00Z")
    book.lot("T1", ["L1"], at="2026-10-06T08:00:00Z", grams="20000")
    book.table_run(["T1"], "C1", "R1", at="2026-10-06T09:00:00Z")
    assert [each for each in ways(book) if each[0] == "R1"] == [
        ("R1", "passed", "table", ""),
    ]


def test_a_charge_holds_nothing_and_its_sources_are_held_until_the_pour():
    book = Book()
    book.make(
        "C1", "concentrate", step="smelt", from_step="table", at="2026-10-20T08:00:00Z"
    )
    book.pour("F1", ["C1"], ["B1"], at="2026-11-01T05:00:00Z")
    assert ways(book) == [
        ("C1", "passed", "table", "smelt"),
        ("C1", "closing", "smelt", ""),
    ]


def test_the_incidence_has_a_row_for_each_balance():
    book = Book()
    book.load("L0", at="2026-09-20T08:00:00Z")
    book.load("L1", at="2026-10-05T08:00:00Z")
    book.lot("T1", ["L0"], at="2026-10-06T08:00:00Z", grams="20000")
    data = book.data()
    parcels = parcels_of(
        data, Quantities(data, WELL), from_at=OCTOBER[0], to_at=OCTOBER[1]
    )
    assert [each.item for each in parcels] == ["L0", "L1", "T1", "L1", "T1"]
    hopper, table = frozenset({"hopper"}), frozenset({"table"})
    assert incidence(parcels, [hopper, table, hopper | table]).tolist() == [
        [1, 1, -1, -1, 0],
        [0, 0, 1, 0, -1],
        [1, 1, 0, -1, -1],
    ]


def drilled(book: Book) -> None:
    """Weigh bar B1 again the day after its numbering: 20 g were drilled off it."""
    again = book.act("2026-10-07T08:00:00Z")
    book.make(
        "DR1",
        "sample",
        step="smelt",
        from_step="smelt",
        at="",
        parents=["B1"],
        act=again,
    )
    book.weigh("DR1", "20", again, scale="BU1", wanted_for="sample")
    book.weigh("B1", "4980", again, scale="BU1", wanted_for="bar")


def between(
    book: Book, from_at: str, to_at: str, step: str = "smelt"
) -> tuple[str | None, ...]:
    """Return a step's opening, in, out, closing and unaccounted gold."""
    balance = book.reconcile(from_at, to_at).steps[step]["gold"].to_json()
    return tuple(
        balance[name] for name in ("opening", "in", "out", "closing", "unaccounted")
    )


def test_a_month_that_ends_between_numbering_and_drilling_moves_no_gold():
    """A worked example of ours: 5000 g at 800 permille, 20 g of it drilled off."""
    book = Book()
    book.make(
        "C1", "concentrate", step="smelt", from_step="table", at="2026-10-05T08:00:00Z"
    )
    book.weigh(
        "C1",
        "10000",
        book.act("2026-10-05T08:00:00Z"),
        scale="BU1",
        wanted_for="table_product",
    )
    book.assay(
        "C1", "400000", at="2026-10-05T09:00:00Z", wanted_for="table_concentrate"
    )
    book.pour("CHG", ["C1"], ["B1"], at="2026-10-06T08:00:00Z")
    book.number("B1", "5000", "800", at="2026-10-06T12:00:00Z")
    drilled(book)
    start, cut, end = OCTOBER[0], "2026-10-07T00:00:00Z", OCTOBER[1]
    assert between(book, start, cut) == (
        "0.000",
        "4000.000",
        "3984.000",
        "16.000",
        "0.000",
    )
    assert between(book, cut, end) == ("16.000", "0.000", "0.000", "16.000", "0.000")


def test_drillings_of_a_bar_of_opening_stock_come_in_with_the_bar():
    book = Book()
    book.make("B1", "bar", step="vault", at="2026-10-02T08:00:00Z", is_opening=True)
    book.weigh(
        "B1", "5000", book.act("2026-10-02T08:00:00Z"), scale="BU1", wanted_for="bar"
    )
    book.assay(
        "B1", "800", at="2026-10-02T09:00:00Z", unit="permille", wanted_for="bar"
    )
    drilled(book)
    assert between(book, *OCTOBER) == (
        "0.000",
        "16.000",
        "0.000",
        "16.000",
        "0.000",
    )
    assert between(book, *OCTOBER, step="vault") == (
        "0.000",
        "3984.000",
        "0.000",
        "3984.000",
        "0.000",
    )
