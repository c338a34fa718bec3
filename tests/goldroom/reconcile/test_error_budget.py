"""The budget in force when a figure was measured, and what was known then."""

from decimal import Decimal

import pytest

from goldroom.custody.error_budget import ErrorBudget
from goldroom.custody.records import EarlierLimit, GravityModel, Limit, StreamMeter
from goldroom.metal.starting_uncertainties import STARTING
from goldroom.reconcile.budget import Budget
from goldroom.reconcile.period import DEFAULT
from tests.goldroom.reconcile.book import Book, instrument

KNOWN = "2026-10-04T12:00:00Z"
SEPTEMBER = ("2026-09-01T04:00:00Z", "2026-10-01T04:00:00Z")


def row(quantity: str, random: str, shared: str = "0", **more: str) -> ErrorBudget:
    """Return a budget row that was set on the fourth of October at noon."""
    plain = {
        "basis": "relative",
        "shared_basis": "relative",
        "in_force_from": KNOWN,
        "evidence": "duplicates",
        "at": KNOWN,
        "entry": "budget",
        "known_at": KNOWN,
    }
    return ErrorBudget(
        quantity=quantity, version=1, random_u=Decimal(random),
        shared_u=Decimal(shared), **{**plain, **more},
    )  # fmt: skip


def two_loads(*rows: ErrorBudget) -> Book:
    """Return a book with a load assayed before the fourth's noon and one after."""
    book = Book()
    book.load("L1", at="2026-10-03T08:00:00Z", gold="3000")
    book.load("L2", at="2026-10-05T08:00:00Z", gold="3000")
    book.put(*rows)
    return book


def u_in(book: Book, as_known_at: str = "2027-01-01T00:00:00Z") -> float:
    """Return the uncertainty of the gold that came into the hopper."""
    report = book.reconcile(as_known_at=as_known_at, budget=DEFAULT)
    return report.steps["hopper"]["gold"].came_in.u_g


def sampling_variance(book: Book, sample: str) -> float:
    """Return the variance that one sample's own error gives to what came in."""
    report = book.reconcile(budget=DEFAULT)
    effects = report.steps["hopper"]["gold"].came_in.measured.effects
    found = [u for key, u in effects.items() if key.startswith("fse") and sample in key]
    return sum(each**2 for each in found)


def test_a_tightened_row_makes_the_uncertainty_smaller():
    """A cleanup sample starts from 4 %; duplicates may show 1 %."""
    assert STARTING["cleanup_sample"].random.u == 0.04
    tightened = u_in(two_loads(row("cleanup_sample", "0.01", "0.01")))
    assert 0 < tightened < u_in(two_loads())


def test_a_row_is_for_what_was_measured_from_its_time_on_alone():
    before, after = two_loads(), two_loads(row("cleanup_sample", "0.01", "0.01"))
    for sample, ratio in (("L1", 1.0), ("L2", 1 / 16)):
        assert sampling_variance(after, sample) == pytest.approx(
            ratio * sampling_variance(before, sample)
        )
        assert sampling_variance(before, sample) > 0


def test_a_period_that_was_over_before_a_row_is_as_it_was():
    book = Book()
    book.load("L0", at="2026-09-10T08:00:00Z", gold="3000")
    before = book.reconcile(*SEPTEMBER, budget=DEFAULT).to_json()
    book.put(row("cleanup_sample", "0.01", "0.01"))
    assert book.reconcile(*SEPTEMBER, budget=DEFAULT).to_json() == before


def test_a_report_as_known_before_a_row_is_unchanged():
    rows = row("cleanup_sample", "0.01", "0.01", in_force_from="2026-10-01T04:00:00Z",
               known_at="2026-11-02T08:00:00Z")  # fmt: skip
    then = "2026-11-01T08:00:00Z"
    assert u_in(two_loads(rows), then) == u_in(two_loads(), then)
    assert u_in(two_loads(rows)) < u_in(two_loads())


def test_a_closing_is_the_next_opening_with_the_same_effects_across_a_row():
    book = two_loads(
        row("cleanup_sample", "0.001", in_force_from="2026-11-01T04:00:00Z")
    )
    november = book.reconcile("2026-11-01T04:00:00Z", "2026-12-01T04:00:00Z")
    october = book.reconcile()
    closing = october.steps["hopper"]["gold"].closing.measured
    opening = november.steps["hopper"]["gold"].opening.measured
    assert closing.effects == opening.effects
    assert closing.u > 0


def test_of_two_rows_the_one_in_force_last_counts():
    early = row("moisture", "0.9", "0.1", basis="points", shared_basis="points")
    late = row("moisture", "0.3", "0.2", basis="points", shared_basis="points",
               in_force_from="2026-10-20T04:00:00Z")  # fmt: skip
    budget = Budget(STARTING).changed_by([late, early])
    found = [
        budget.at(at).moisture_points().own
        for at in ("2026-10-04T11:59:59Z", KNOWN, "2026-10-20T04:00:00Z")
    ]
    assert found == [STARTING["moisture"].random.u, 0.9, 0.3]


def test_a_weighing_is_worth_what_the_budget_said_when_it_was_read():
    cells = instrument("LC9", "hopper_cells")
    change = row("hopper_cells", "0.8", "0.004", basis="kg")
    budget = Budget(STARTING).changed_by([change])
    assert budget.at("2026-10-01T00:00:00Z").weighing(cells).own == 3000.0  # 0.5 % of
    assert budget.at(KNOWN).weighing(cells).own == 800.0  # the span of 600 kg


def test_the_gravity_estimate_takes_the_budget_of_each_day():
    def estimate(*rows: ErrorBudget) -> float:
        book = Book()
        book.model()
        for number, day in enumerate(("2026-10-03", "2026-10-05"), start=1):
            book.mill_day(day)
            book.flush(number, at=f"{day}T10:00:00Z")
        book.put(*rows)
        found = book.reconcile(budget=DEFAULT).gravity.estimate.total_g
        assert found is not None
        heads = [u for key, u in found.effects.items() if "head" in key]
        assert len(heads) == 2
        return heads[1] / heads[0]

    assert estimate() == pytest.approx(1.0)
    assert estimate(row("gravity_head_assay", "0.03")) == pytest.approx(0.25)


# --- what a report as known at a time leaves out -----------------------------


def test_a_gravity_model_entered_late_is_not_in_a_report_drawn_before():
    book = Book()
    book.model()
    model = next(
        each for each in book.state.all_held().values()
        if isinstance(each, GravityModel)
    )  # fmt: skip
    book.put(
        GravityModel(**{**vars(model), "known_at": "2026-11-02T08:00:00Z"}),
    )
    book.mill_day("2026-10-03")
    book.flush(1, at="2026-10-03T10:00:00Z")
    then = book.reconcile(as_known_at="2026-11-01T08:00:00Z").gravity.estimate
    now = book.reconcile().gravity.estimate
    assert then.total_g is None
    assert now.total_g is not None
    assert any("no gravity model was in force" in each for each in then.said)


def test_a_stream_metered_late_is_not_in_a_report_drawn_before():
    book = Book()
    book.put(
        StreamMeter(
            unit="CC1", stage="rougher", from_at="2026-10-05T04:00:00Z",
            at="2026-10-06T04:00:00Z", dry_t=Decimal(1), gold_gpt=Decimal(250),
            silver_gpt=Decimal(30), goes_to="U1", entry="m1",
            known_at="2026-11-02T08:00:00Z",
        )
    )  # fmt: skip
    assert book.reconcile(as_known_at="2026-11-01T08:00:00Z").streams == ()
    assert len(book.reconcile().streams) == 1


def test_a_limit_is_known_at_the_value_it_had_then():
    first = EarlierLimit(value=Decimal(14), reason="", set_by="e1",
                         known_at="2026-10-01T00:00:00Z")  # fmt: skip
    second = EarlierLimit(value=Decimal(10), reason="", set_by="e2",
                          known_at="2026-10-10T00:00:00Z")  # fmt: skip
    book = Book()
    book.put(
        Limit(
            name="stock_age_d", value=Decimal(7), unit="d", reason="", set_by="e3",
            known_at="2026-10-20T00:00:00Z", earlier=(first, second),
        )
    )  # fmt: skip
    values = []
    for at in ("2026-09-30", "2026-10-01", "2026-10-12", "2026-10-20"):
        found = book.data().as_known(f"{at}T00:00:00Z").limits.get("stock_age_d")
        values.append(None if found is None else int(found.value))
    assert values == [None, 14, 10, 7]
