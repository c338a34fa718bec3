"""A period's report in plain words, for the accountant.

Figures are shown to the digits that their uncertainty justifies: two significant
digits of u, the value to the same place. A difference is judged by z: below 2 within
what scales and assays resolve, from 2 worth a look, from 3 more than they explain.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal

from goldroom.reconcile.amounts import Amount, shown_u, shown_value
from goldroom.reconcile.balance import Balance
from goldroom.reconcile.gravity_check import GravityCheck
from goldroom.reconcile.period import PeriodReport, Waiting

CAUSES: Mapping[str, str] = {
    "reading": "single weighings",
    "scale": "calibration of scales",
    "moist": "moisture",
    "oven": "moisture",
    "fse": "sampling",
    "sampler": "sampling",
    "segregation": "unevenness of bars",
    "lab": "laboratory",
    "rep": "laboratory",
    "hold": "estimates and figures still to come",
    "ref": "the refinery",
}
"""What causes uncertainty, by the first part of an effect's key."""

JUDGED: Mapping[str, str] = {
    "within": "This is within what our scales and assays can resolve.",
    "warning": "This is more than scales and assays usually explain: look into it.",
    "alarm": "This is more than our scales and assays explain.",
}
G_PER_KG = Decimal(1000)
FEWEST = 0.10
"""Share of the variance below which a cause is not worth a word."""


def sentences(report: PeriodReport) -> list[str]:
    """Return the report in sentences: whole, gravity, steps, what may change."""
    clock = report.period.clock
    said = [
        f"From {clock.wall_text(report.period.from_at)} to"
        f" {clock.wall_text(report.period.to_at)}, as known"
        f" {clock.wall_text(report.period.as_known_at)}.",
        *_period_words(report),
    ]
    said += [
        _balance_words(f"{whole_name(report, metal)}, {metal}", balance)
        for metal, balance in report.overall.items()
        if balance.is_drawn and not balance.is_idle
    ]
    said += gravity_words(report)
    said += _step_words(report)
    said += _waiting_words("Provisional", report.provisional)
    unknown = _unmeasured(report)
    estimated = [each for each in report.pending if each.item not in unknown]
    said += _waiting_words("Still to come, with a figure in its place", estimated)
    nothing = [each for each in report.pending if each.item in unknown]
    said += _waiting_words("Still to come, with nothing in its place", nothing)
    if report.streams:
        said.append(
            f"{len(report.streams)} metered stretches of continuous concentrators are"
            " shown beside and not added: the same gold is counted where it is"
            " weighed."
        )
    return [*said, *report.notes]


def whole_name(report: PeriodReport, metal: str) -> str:
    """Return what the balance over the steps is of: all of them, or all but some."""
    undrawn = [
        name
        for name, balances in report.steps.items()
        if metal in balances and not balances[metal].is_drawn
    ]
    if not undrawn or len(undrawn) == len(report.steps):
        return "All steps"
    return f"All steps but {' and '.join(map(_joined, undrawn))}"


def _joined(step: str) -> str:
    """Return steps drawn as one as they are said: "electrowinning and smelt"."""
    return step.replace("+", " and ")


def _period_words(report: PeriodReport) -> list[str]:
    """Return what there is to say of a period not over, or without any record."""
    period = report.period
    said = []
    if period.as_known_at < period.from_at:
        said.append(
            "That is before the period began: what is held is only carried forward."
        )
    elif period.as_known_at < period.to_at:
        said.append("That is before the period ended: what came later is not in it.")
    count = report.gravity.flushes
    if not (count.counted or count.listed) and all(
        balance.is_idle for balance in report.overall.values()
    ):
        said.append("The record holds nothing of this period, as known then.")
    return said


def _unmeasured(report: PeriodReport) -> set[str]:
    """Return the items of whose metal nothing is known, not even an estimate."""
    return {
        item
        for balances in report.steps.values()
        for balance in balances.values()
        for item in balance.unmeasured
    }


def _step_words(report: PeriodReport) -> list[str]:
    """Return a sentence for each step worth a look, and one for all the others."""
    said, within = [], []
    for name, balances in report.steps.items():
        quiet = []
        for metal, balance in balances.items():
            what = metal.replace("_", " ")
            if not balance.is_drawn or balance.is_idle:
                continue
            if balance.level == "within":
                quiet.append(what)
            else:
                title = f"{_joined(name).capitalize()}, {what}"
                is_dry = metal == "dry_mass"
                said.append(_balance_words(title, balance, is_dry=is_dry))
        if quiet:
            within.append(f"{_joined(name)} ({', '.join(quiet)})")
    if within:
        said.append(
            "Each alone within what our scales and assays can resolve:"
            f" {'; '.join(within)}."
        )
    return said


def _balance_words(name: str, balance: Balance, *, is_dry: bool = False) -> str:
    """Return one balance in words: metal in grams, dry mass in kilograms."""
    opening, came_in = balance.opening, balance.came_in
    went_out, closing = balance.went_out, balance.closing
    unaccounted = balance.unaccounted
    assert opening is not None
    assert came_in is not None
    assert went_out is not None
    assert closing is not None
    assert unaccounted is not None
    to_account, accounted = opening + came_in, went_out + closing
    missing = unaccounted.posted_g >= 0
    unit, scale = ("kg", G_PER_KG) if is_dry else ("g", Decimal(1))
    what = "not accounted for" if missing else "more than was to be accounted for"
    u = unaccounted.u_g / float(scale)
    spread = f", ± {shown_u(u)} {unit}" if u else ""
    held, found, size = (
        f"{shown_value(each / scale, u)} {unit}"
        for each in (
            to_account.posted_g,
            accounted.posted_g,
            unaccounted.posted_g.copy_abs(),
        )
    )
    return " ".join(
        part
        for part in (
            f"{name}: held and received {held}, accounted for {found}.",
            f"{size} {what}{spread}.",
            JUDGED[balance.level],
            _causes(balance),
        )
        if part
    )


def _causes(balance: Balance) -> str:
    """Return the largest contributors to the uncertainty in words; "" without any."""
    shares: dict[str, float] = {}
    for sort, share in balance.shares().items():
        cause = CAUSES.get(sort, sort)
        shares[cause] = shares.get(cause, 0.0) + share
    largest = sorted(shares.items(), key=lambda each: (-each[1], each[0]))[:3]
    named = [
        f"{cause} {100 * share:.0f} %" for cause, share in largest if share >= FEWEST
    ]
    return f"What makes it uncertain: {', '.join(named)}." if named else ""


def gravity_words(report: PeriodReport) -> list[str]:
    """Return the gravity check and the count of flushes in words."""
    check = report.gravity
    count = check.flushes
    said = [
        f"Flushes: {count.counted} counted by the plant, {count.listed} listed on"
        " signed sheets."
    ]
    if count.not_listed:
        said.append(f"Counted but on no sheet: {', '.join(count.not_listed[:10])}.")
    estimated, accounted, ratio = check.estimate.total_g, check.accounted, check.ratio
    if estimated is None or accounted is None or ratio is None:
        return [*said, _why_unchecked(check), *_inseparable_words(check)]
    said.append(
        f"Gravity: the circuit's estimate for these flushes is"
        f" {shown_value(Decimal(repr(estimated.value)), estimated.u)} g ±"
        f" {shown_u(estimated.u)} g; poured {_poured(check)} g; with what is held"
        f" more or less than at the start, and what went out,"
        f" {shown_value(accounted.posted_g, accounted.u_g)} g:"
        f" {100 * ratio.value:.1f} % ± {100 * ratio.u:.1f} % of the estimate. It is"
        " coarse, and the only check that sees metal taken before the hopper."
    )
    came_round = check.round_the_hopper
    if came_round is not None and came_round.posted_g:
        said.append(
            f"{_own_digits(came_round)} of gravity gold came round the hopper, cleaned"
            " out of the circuit; it is in these figures like any other."
        )
    return [*said, *_inseparable_words(check)]


def _inseparable_words(check: GravityCheck) -> list[str]:
    """Return what cannot be told apart, why, and how far the ratio may be from it."""
    unsure, said = check.inseparable, []
    if unsure.items:
        held = (
            "Nobody can tell how much gold is in it."
            if unsure.gold is None
            else f"It comes to {_own_digits(unsure.gold)}, left out above."
        )
        why = ". ".join(map(_capital, unsure.why))
        said.append(
            "Gravity and other metal cannot be told apart in"
            f" {', '.join(unsure.items)}. {why}. {held}"
        )
    ratio, whole = check.ratio, check.ratio_with_inseparable
    if unsure.items and ratio is not None and whole is not None:
        said.append(
            f"Were all of it gravity gold, {100 * whole.value:.1f} % ±"
            f" {100 * whole.u:.1f} % of the estimate would be accounted for; with none"
            f" of it, {100 * ratio.value:.1f} %, as above. What is so lies between the"
            " two, give or take that uncertainty."
        )
    if unsure.provisional:
        said.append(
            "Shares of mixed metal rest on figures still to come:"
            f" {', '.join(unsure.provisional)}."
        )
    return said


def _own_digits(amount: Amount) -> str:
    """Return grams to the digits that their own uncertainty justifies, and it."""
    spread = f" ± {shown_u(amount.u_g)} g" if amount.u_g else ""
    return f"{shown_value(amount.posted_g, amount.u_g)} g{spread}"


def _capital(words: str) -> str:
    """Return words with a capital at their beginning."""
    return words[:1].upper() + words[1:]


def _why_unchecked(check: GravityCheck) -> str:
    """Return why poured gold is not held against the circuit's estimate."""
    if not check.flushes.counted:
        why = "the plant's counters give no flush of this period (import_cycles)"
    elif check.estimate.total_g is None:
        why = "there is no estimate: it needs a gravity model and the mill's days"
    elif check.accounted is None:
        why = "nothing tells yet how much was poured, is held or went out"
    else:
        why = "the estimate for these flushes is nothing"
    return f"Poured gold cannot be held against the gravity estimate: {why}."


def _poured(check: GravityCheck) -> str:
    """Return the gravity gold poured, to the digits its uncertainty justifies."""
    assert check.poured is not None
    return shown_value(check.poured.posted_g, check.poured.u_g)


def _waiting_words(title: str, waiting: Sequence[Waiting]) -> list[str]:
    """Return how many items wait and which, in one sentence; none for none."""
    if not waiting:
        return []
    first = ", ".join(each.item for each in waiting[:10])
    more = len(waiting) - 10
    rest = f" and {more} more" if more > 0 else ""
    count = "1 item" if len(waiting) == 1 else f"{len(waiting)} items"
    return [f"{title}: {count}: {first}{rest}."]
