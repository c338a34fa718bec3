"""The month's reconciliation on paper: gravity first, balances, what may change."""

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal

from reportlab.graphics.shapes import Drawing
from reportlab.platypus import Flowable, KeepTogether

from goldroom.metal.rounding import half_even
from goldroom.metal.units import GRAMS_PER_TROY_OUNCE, from_grams
from goldroom.papers.frame import Paper, code_of_mark, drawn, heading, table, words
from goldroom.papers.sheet_parts import NOT_KNOWN, each_signed, ink, shares
from goldroom.plots.flow import flow_plot
from goldroom.plots.gravity import gravity_plot
from goldroom.plots.plot import Plot
from goldroom.reconcile.period import PeriodReport, Waiting
from goldroom.reconcile.words import gravity_words
from goldroom.reports.entry import EntryTold, Mark
from goldroom.reports.flow import flow
from goldroom.reports.month_told import month_told
from goldroom.reports.month_words import rows

GOLD: Mapping[str, str] = {
    "poured": "Gold poured",
    "holdings_rise": "Rise in what is held before the vault",
    "went_out": "Gone out otherwise",
    "accounted": "Accounted for: the three together",
    "estimated": "The gravity circuit's estimate",
}
"""The gravity check's figures in the order in which they are read."""

MILLIGRAM_IN_KG = Decimal("0.000001")
THOUSANDTH = Decimal("0.001")
"""Troy ounces are told to this step, ties to even (common practice, no source)."""

HEADINGS = (
    "Step",
    "Metal, unit",
    "Opening",
    "In",
    "Out",
    "Closing",
    "Un-\naccounted",
    "u",
    "z",
    "",
)
FIGURES = range(2, 9)
TALLEST = 520
"""Points: a plot as tall as this, its heading and its sentence go on one page."""


def month_paper(
    report: PeriodReport, mark: Mark, closing: tuple[EntryTold, ...]
) -> bytes:
    """Return a month as PDF; `closing` are the entries that closed it, if any."""
    return drawn(
        Paper(
            title="Month reconciliation",
            about=days_words(report),
            mark=mark,
            code=code_of_mark(mark),
            figures=report.to_json(),
        ),
        [
            *_gravity(report),
            *_in_words(report),
            *_balances(report),
            *_waiting("Provisional figures", report.provisional),
            *_waiting("Figures still to come", report.pending),
            *_notes(report),
            *_signers(closing),
            _way_of_gold(report),
        ],
    )


def days_words(report: PeriodReport) -> str:
    """Return the production days of a report, and as known when, at the site."""
    period = report.period
    days = period.days()
    return (
        f"Production days {days[0]} to {days[-1]}, from {period.day_start} in"
        f" {period.zone}; as known {period.clock.wall_text(period.as_known_at)}"
    )


def _gravity(report: PeriodReport) -> list[Flowable]:
    told = report.gravity.to_json()
    return [
        heading("Gold poured against the gravity circuit's estimate"),
        *map(words, gravity_words(report)),
        table(
            ("Gold", "g", "kg", "Troy ounces", "Standard u, g"),
            [gold_row(label, name, told) for name, label in GOLD.items()],
            shares(4, 2, 2, 2, 2),
            right=range(1, 5),
        ),
        words(
            f"Accounted for over estimated: {_ratio(told)}. One troy ounce is"
            f" {GRAMS_PER_TROY_OUNCE} g exactly; troy ounces are rounded to the"
            " thousandth."
        ),
        _fitted(gravity_plot(report.gravity), 210),
    ]


def gold_row(label: str, name: str, told: Mapping[str, object]) -> tuple[str, ...]:
    """Return a row of one of the check's figures, with its uncertainty if told."""
    if told[name] is None:
        return (label, NOT_KNOWN, "", "", "")
    grams = Decimal(str(told[name]))
    return (
        label,
        format(grams, "f"),
        format(half_even(from_grams(grams, "kg"), MILLIGRAM_IN_KG), "f"),
        format(half_even(from_grams(grams, "ozt"), THOUSANDTH), "f"),
        str(told.get(f"{name}_u", "")),
    )


def _ratio(told: Mapping[str, object]) -> str:
    if told["ratio"] is None:
        return NOT_KNOWN
    return f"{told['ratio']}, standard uncertainty {told['u']}"


def _in_words(report: PeriodReport) -> list[Flowable]:
    """Return what the report says of itself, but for gravity and notes."""
    return [heading("The month in words"), *map(words, month_told(report).words)]


def _balances(report: PeriodReport) -> list[Flowable]:
    shown = [(step.replace("+", " and "), *rest) for step, *rest in rows(report)]
    blocks: list[Flowable] = [
        heading("Balances by step and metal"),
        table(
            HEADINGS,
            shown,
            shares(67, 60, 53, 53, 53, 53, 55, 40, 32, 13),
            right=FIGURES,
        ),
    ]
    if any(row[-1] for row in shown):
        blocks.append(
            words("p: provisional; the figure will change when assays are final.")
        )
    blocks.append(
        words(
            "Unaccounted is opening and in, less out and closing; z is that over its"
            " standard uncertainty u. With z between -2 and 2 a balance is within what"
            " scales and assays can resolve; a difference smaller than that cannot be"
            " seen in it. From 2 on look into it; from 3 on it is more than they"
            " explain. Figures stand to the digits that u justifies; the exact ones"
            " are attached to this paper as figures.json."
        )
    )
    return blocks


def _waiting(title: str, waiting: Sequence[Waiting]) -> Iterator[Flowable]:
    if not waiting:
        yield KeepTogether([heading(title), words("None.")])
        return
    yield heading(title)
    yield table(
        ("Item", "Sort", "Why"),
        [(each.item, each.sort, each.why) for each in waiting],
        shares(2, 1.5, 5),
    )


def _notes(report: PeriodReport) -> list[Flowable]:
    if not report.notes:
        return []
    return [heading("Notes"), *map(words, report.notes)]


def _signers(closing: Sequence[EntryTold]) -> list[Flowable]:
    if closing:
        return each_signed(closing)
    return [
        KeepTogether(
            [
                heading("Signatures in ink"),
                words("No entry that closes these days was given: sign here in ink."),
                ink("Accountant: name, date, signature"),
                ink("Metallurgist: name, date, signature"),
            ]
        )
    ]


def _way_of_gold(report: PeriodReport) -> Flowable:
    plot = flow_plot(flow(report))
    title = heading("Gold on its way through the room")
    return KeepTogether([title, words(plot.sentence), _fitted(plot, TALLEST)])


def _fitted(plot: Plot, tallest: float) -> Drawing:
    """Return a plot's drawing, made smaller if it is taller than so many points."""
    plot.drawing.renderScale = min(1, tallest / plot.drawing.height)
    return plot.drawing
