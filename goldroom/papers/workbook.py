"""The month's reconciliation as a workbook, its sums to be followed cell by cell.

Four sheets: "Month" holds poured gold against the gravity circuit's estimate, "Steps"
every balance, "Items" what each item held on its way, "About" where it all is from.
What the record tells stands as a number, to the milligram; what follows from numbers
on the sheet is a formula. All text is text: none of it can become a formula or a link.
The same report and mark give the same bytes.
"""

import io
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from decimal import Decimal

from xlsxwriter import Workbook
from xlsxwriter.utility import xl_rowcol_to_cell as cell
from xlsxwriter.worksheet import Worksheet

from goldroom.metal.units import GRAMS_PER_TROY_OUNCE
from goldroom.papers.cells import STYLES, Sheet
from goldroom.papers.month import GOLD, days_words
from goldroom.papers.sheet_parts import NOT_KNOWN
from goldroom.reconcile.amounts import Amount
from goldroom.reconcile.balance import Balance
from goldroom.reconcile.network import Parcel
from goldroom.reconcile.period import PeriodReport
from goldroom.reconcile.words import gravity_words, sentences, whole_name
from goldroom.reports.entry import Mark

MONTH = ("Gold", "g", "kg", "Troy ounces", "Standard uncertainty")
STEPS = (
    "Step",
    "Metal",
    "Opening, g",
    "In, g",
    "Out, g",
    "Closing, g",
    "Unaccounted, g",
    "Standard uncertainty u, g",
    "z",
    "Judged",
    "Provisional",
    "No figure for",
)
OPENING, IN, OUT, CLOSING, UNACCOUNTED = range(2, 7)
ITEMS = (
    "Item",
    "Sort",
    "Counted as",
    "From step",
    "To step",
    "Where to",
    "At, UTC",
    "Gold, g",
    "Silver, g",
    "Dry mass, g",
    "Figure from",
    "Standing of the assay",
    "May change",
    "Why",
)
JUDGED: Mapping[str, str] = {
    "within": "within what scales and assays can resolve",
    "warning": "more than scales and assays usually explain",
    "alarm": "more than scales and assays explain",
    "not_drawn": "not drawn",
}
READ = (
    "Masses of metal are in grams to the milligram, as posted; dry mass likewise.",
    f"One troy ounce is {GRAMS_PER_TROY_OUNCE} g exactly.",
    "Month: accounted for is poured, risen and gone out together; the ratio is that"
    " over the gravity circuit's estimate.",
    "Steps: unaccounted is opening and in, less out and closing; z is that over its"
    " standard uncertainty u. With z between -2 and 2 a balance is within what scales"
    " and assays can resolve; a smaller difference cannot be seen in it.",
    "What passes between two steps is out of one and into the other: in and out over"
    " all steps are less than the sums of the steps'.",
    "Items: each item on its way, as it was counted. Opening and closing are held;"
    " passed went from step to step, or in from or out to the world outside.",
    "An empty cell is a figure that nothing in the record tells.",
)


def month_workbook(report: PeriodReport, mark: Mark) -> bytes:
    """Return the month as a workbook; see the module's words."""
    into = io.BytesIO()
    book = Workbook(
        into,
        {
            "in_memory": True,
            "strings_to_formulas": False,
            "strings_to_urls": False,
            "strings_to_numbers": False,
        },
    )
    book.set_properties(
        {
            "title": "Month reconciliation",
            "created": datetime.fromisoformat(mark.known_at).replace(tzinfo=None),
        }
    )
    styles = {name: book.add_format(dict(how)) for name, how in STYLES.items()}
    sheets = {
        name: Sheet(book.add_worksheet(name), styles)
        for name in ("Month", "Steps", "Items", "About")
    }
    _month(sheets["Month"], report)
    _steps(sheets["Steps"], report)
    _items(sheets["Items"], report.parcels)
    _about(sheets["About"], report, mark)
    for sheet in sheets.values():
        _lay_out(sheet.page, mark)
    book.close()
    return into.getvalue()


def _lay_out(page: Worksheet, mark: Mark) -> None:
    """Let the sheet print on A4, as wide as the paper, and say what it is from."""
    page.set_landscape()
    page.set_paper(9)
    page.fit_to_pages(1, 0)
    page.set_footer(f"&L&8Size {mark.size}, root {mark.root}&R&8page &P of &N")


def _month(sheet: Sheet, report: PeriodReport) -> None:
    told = report.gravity.to_json()
    sheet.page.set_column(0, 0, 46)
    sheet.page.set_column(1, 4, 18)
    sheet.text(0, 0, "Gold poured against the gravity circuit's estimate", "title")
    sheet.text(1, 0, days_words(report))
    sheet.headings(3, MONTH, range(1, 5))
    at = {name: 4 + n for n, name in enumerate(GOLD)}
    for name, label in GOLD.items():
        parts = [at[part] for part in ("poured", "holdings_rise", "went_out")]
        _gold(sheet, at[name], label, told[name], parts if name == "accounted" else ())
        sheet.number(at[name], 4, told.get(f"{name}_u"))
    row = at["estimated"] + 1
    over = at["accounted"], at["estimated"]
    _ratio(sheet, row, "Accounted for over estimated", (told["ratio"], told["u"]), over)
    row = _inseparable(sheet, row + 2, told, at)
    _gold(sheet, row, "Of it, come round the hopper", told["round_the_hopper"])
    count = report.gravity.flushes
    sheet.text(row + 2, 0, "Flushes counted by the plant")
    sheet.number(row + 2, 1, count.counted, "count")
    sheet.text(row + 3, 0, "Flushes listed on signed sheets")
    sheet.number(row + 3, 1, count.listed, "count")
    for n, sentence in enumerate(gravity_words(report), row + 5):
        sheet.page.merge_range(n, 0, n, 4, "")
        sheet.long(n, 0, sentence, 115)


def _inseparable(
    sheet: Sheet, row: int, told: Mapping[str, object], at: Mapping[str, int]
) -> int:
    """Write what the ratio were with gold that cannot be told apart; the next row."""
    unsure = told["inseparable"]
    assert isinstance(unsure, Mapping)
    label = "Gold that may have come by gravity or not, left out above"
    _gold(sheet, row, label, unsure["gold"])
    sheet.number(row, 4, unsure["u"])
    label, figure = "Accounted for with all of it", unsure["accounted_with_all"]
    _gold(sheet, row + 1, label, figure, [at["accounted"], row])
    figures = unsure["ratio_with_all"], unsure["ratio_with_all_u"]
    over = row + 1, at["estimated"]
    _ratio(sheet, row + 2, "With all of it over estimated", figures, over)
    return row + 4


def _gold(
    sheet: Sheet, row: int, label: str, grams: object, parts: Sequence[int] = ()
) -> None:
    """Write a mass of gold, its rows' sum if it is one, in three units."""
    sheet.text(row, 0, label)
    if grams is None:
        sheet.text(row, 1, NOT_KNOWN)
        return
    if parts:
        sheet.formula(row, 1, _sum(parts, 1), grams)
    else:
        sheet.number(row, 1, grams)
    exact_g = Decimal(str(grams))
    kilograms, troy_ounces = exact_g / 1000, exact_g / GRAMS_PER_TROY_OUNCE
    mass = cell(row, 1)
    sheet.formula(row, 2, f"{mass}/1000", kilograms, "kilograms")
    sheet.formula(row, 3, f"{mass}/{GRAMS_PER_TROY_OUNCE}", troy_ounces)


def _ratio(
    sheet: Sheet,
    row: int,
    label: str,
    figures: tuple[object, object],
    over: tuple[int, int],
) -> None:
    """Write a ratio of two rows' masses, and its uncertainty beside it."""
    ratio, u = figures
    sheet.text(row, 0, label)
    if ratio is None:
        sheet.text(row, 1, NOT_KNOWN)
        return
    above, below = (cell(each, 1) for each in over)
    sheet.formula(row, 1, f"{above}/{below}", ratio, "ratio")
    sheet.number(row, 4, u, "ratio")


def _sum(rows: Iterable[int], column: int) -> str:
    return "+".join(cell(row, column) for row in rows)


def _steps(sheet: Sheet, report: PeriodReport) -> None:
    sheet.page.set_column(0, 0, 38)
    sheet.page.set_column(1, 1, 10)
    sheet.page.set_column(2, 7, 15)
    sheet.page.set_column(8, 8, 8)
    sheet.page.set_column(9, 9, 38)
    sheet.page.set_column(10, 11, 12)
    sheet.headings(0, STEPS, range(2, 9))
    sheet.page.freeze_panes(1, 2)
    drawn: dict[str, list[int]] = {metal: [] for metal in report.overall}
    row = 1
    for step, balances in report.steps.items():
        for metal, balance in balances.items():
            name = step.replace("+", " and ")
            _balance(sheet, row, (name, metal.replace("_", " ")), balance)
            if balance.is_drawn and metal in drawn:
                drawn[metal].append(row)
            row += 1
    for metal, balance in report.overall.items():
        row += 1
        whole = whole_name(report, metal)
        _balance(sheet, row, (whole, metal), balance, drawn[metal])
        if balance.unaccounted is not None:
            sheet.text(row + 1, 0, "The steps' unaccounted together")
            sheet.text(row + 1, 1, metal)
            total_g = balance.unaccounted.posted_g
            formula = _sum(drawn[metal], UNACCOUNTED)
            sheet.formula(row + 1, UNACCOUNTED, formula, total_g)
        row += 2


def _balance(
    sheet: Sheet,
    row: int,
    names: tuple[str, str],
    balance: Balance,
    steps: Sequence[int] = (),
) -> None:
    """Write one balance; held at both ends, the whole is the sum of its steps."""
    told = balance.to_json()
    sheet.texts(row, names)
    sheet.text(row, 9, JUDGED[balance.level])
    sheet.text(row, 10, "yes" if balance.is_provisional else "no")
    sheet.text(row, 11, ", ".join(balance.unmeasured))
    if not balance.is_drawn:
        return
    columns = {"opening": OPENING, "in": IN, "out": OUT, "closing": CLOSING}
    for name, column in columns.items():
        if steps and column in (OPENING, CLOSING):
            sheet.formula(row, column, _sum(steps, column), told[name])
        else:
            sheet.number(row, column, told[name])
    opening, came_in, went_out, closing = (cell(row, n) for n in columns.values())
    formula = f"{opening}+{came_in}-{went_out}-{closing}"
    sheet.formula(row, UNACCOUNTED, formula, told["unaccounted"])
    sheet.number(row, 7, told["u"])
    sheet.number(row, 8, told["z"], "ratio")


def _items(sheet: Sheet, parcels: Sequence[Parcel]) -> None:
    sheet.page.set_column(0, 5, 13)
    sheet.page.set_column(6, 6, 21)
    sheet.page.set_column(7, 9, 15)
    sheet.page.set_column(10, 12, 11)
    sheet.page.set_column(13, 13, 40)
    sheet.page.repeat_rows(0)
    sheet.headings(0, ITEMS, range(7, 10))
    sheet.page.freeze_panes(1, 1)
    for row, parcel in enumerate(parcels, 1):
        way, held = parcel.way, parcel.contents
        before = (
            *(parcel.item, parcel.sort, way.role),
            *(way.from_step, way.to_step, way.where_to, way.at),
        )
        sheet.texts(row, before)
        for column, amount in enumerate((held.gold, held.silver, held.dry_mass), 7):
            sheet.number(row, column, _posted(amount))
        for column, words in enumerate(
            (held.how, held.standing, _may_change(parcel), held.said), 10
        ):
            sheet.text(row, column, words)
    sheet.page.autofilter(0, 0, max(1, len(parcels)), len(ITEMS) - 1)


def _posted(amount: Amount | None) -> Decimal | None:
    return None if amount is None else amount.posted_g


def _may_change(parcel: Parcel) -> str:
    if parcel.contents.is_pending:
        return "still to come"
    return "provisional" if parcel.contents.is_provisional else ""


def _about(sheet: Sheet, report: PeriodReport, mark: Mark) -> None:
    sheet.page.set_column(0, 0, 30)
    sheet.page.set_column(1, 1, 110)
    sheet.text(0, 0, "Month reconciliation", "title")
    period = report.period
    rows = [
        ("Site", mark.site),
        ("Invented", "yes: people, mine and figures" if mark.is_demo else "no"),
        ("Production days", days_words(report)),
        ("From, UTC", period.from_at),
        ("To, UTC, not included", period.to_at),
        ("Figures as known at, UTC", period.as_known_at),
        ("Chain mark: ledger", mark.origin),
        ("Chain mark: size", str(mark.size)),
        ("Chain mark: root", mark.root),
        ("Record as known at, UTC", mark.known_at),
        *(("How to read" if not n else "", each) for n, each in enumerate(READ)),
        *(
            ("In words" if not n else "", each)
            for n, each in enumerate(sentences(report))
        ),
    ]
    for row, (label, words) in enumerate(rows, 2):
        sheet.text(row, 0, label)
        sheet.long(row, 1, words, 115)
