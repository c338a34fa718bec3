"""A melt's settlement in plain words, mine and refinery side by side."""

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from goldroom.custody.dealings import Decision, Money
from goldroom.findings.runs import in_words
from goldroom.reconcile.production_days import SiteClock
from goldroom.reports.metal import grams_text, standing_text
from goldroom.reports.people import Names
from goldroom.reports.settlement import MeltSettlement, MetalLine, StandingLine

RULES = {
    "middle_of_three": "the middle of three",
    "mean_with_nearer": "the mean of the umpire's and the nearer",
}
UNITS = {"points": "points of per cent", "percent_of_mean": "% of the mean"}


def text_of(melts: Sequence[MeltSettlement], names: Names, clock: SiteClock) -> str:
    """Return melts for reading, one below the other; times are the site's."""
    if not melts:
        return "No refinery melt is on record."
    return "\n\n".join("\n".join(_melt(each, names, clock)) for each in melts)


def _melt(melt: MeltSettlement, names: Names, clock: SiteClock) -> Iterator[str]:
    yield (
        f"Melt {melt.melt} of {in_words(melt.bars)} (shipment {melt.shipment}) at"
        f" {names.place(melt.refinery)}, {clock.wall_text(melt.melted_at)}:"
        f" {melt.status}."
    )
    yield from _terms(melt, clock)
    yield (
        f"  Mass: mine {_grams(melt.bars_g)}; refinery {_grams(melt.as_received_g)} as"
        f" received, {_grams(melt.after_melt_g)} after melting."
    )
    yield _loss(melt)
    yield "  Assays, the newest last:"
    # A refiner's assay is said at the melt and again when assays are exchanged.
    yield from dict.fromkeys(_assay(each, names) for each in melt.assays)
    for line in melt.metals:
        yield from _metal(line, melt)
    yield from _money("Charges by the contract", melt.charges)
    yield from _money("Charges billed", melt.billed)
    if melt.statement:
        yield f"  Statement: {melt.statement}."


def _terms(melt: MeltSettlement, clock: SiteClock) -> Iterator[str]:
    contract = melt.contract
    if contract is None:
        yield "  No contract with the refinery was in force when it was melted."
        return
    yield f"  Contract {contract.reference}, version {contract.version}."
    if melt.challenge_until:
        yield (
            "  The refiner's assay could be challenged until"
            f" {clock.wall_text(melt.challenge_until)}."
        )
    if melt.exchange_until:
        yield f"  Assays to be exchanged by {clock.wall_text(melt.exchange_until)}."


def _loss(melt: MeltSettlement) -> str:
    if melt.melt_loss_g is None:
        return "  Melt loss: not known, the refinery did not say what it received."
    allowed = (
        ""
        if melt.contract is None
        else f"; the contract lets {melt.contract.melt_loss_percent} % pass"
    )
    return (
        f"  Melt loss: {_grams(melt.melt_loss_g)}, {melt.melt_loss_percent} % of the"
        f" mass as received{allowed}."
    )


def _assay(line: StandingLine, names: Names) -> str:
    return (
        f"    {standing_text(line.standing)}: gold {line.gold_permille} ‰, silver"
        f" {line.silver_permille} ‰ ({names.place(line.laboratory)},"
        f" {line.method.replace('_', ' ')})"
    )


def _metal(line: MetalLine, melt: MeltSettlement) -> Iterator[str]:
    z = "" if line.z is None else f", z {line.z}"
    yield (
        f"  {line.metal.capitalize()}: mine {line.mine}, refinery {line.refinery},"
        f" difference {line.difference}{z}."
    )
    if line.decision is not None:
        yield from _decision(line, line.decision, melt)
    if line.payable_g is not None and line.credited_g is not None:
        yield (
            f"    Payable {grams_text(line.payable_g)} g, credited"
            f" {grams_text(line.credited_g)} g."
        )


def _apart_words(decision: Decision) -> str:
    """Return how far two results are apart, and whose is the higher."""
    if decision.mine == decision.refiner:
        return "the same"
    higher = "mine" if decision.mine > decision.refiner else "refiner"
    apart = abs(decision.mine - decision.refiner)
    return f"apart {apart} ‰, the {higher}'s the higher"


def _decision(
    line: MetalLine, decision: Decision, melt: MeltSettlement
) -> Iterator[str]:
    contract = melt.contract
    assert contract is not None, "an exchange is decided by a contract"
    limit = {"gold": contract.gold_splitting, "silver": contract.silver_splitting}
    unit = UNITS[limit[line.metal].unit]
    yield (
        f"    Exchanged: mine {decision.mine} ‰, refiner {decision.refiner} ‰,"
        f" {_apart_words(decision)}; splitting limit {limit[line.metal].limit} {unit}"
        f" ({decision.splitting_limit} ‰)."
    )
    if decision.umpire is not None:
        payer = {"mine": "the mine pays", "refiner": "the refiner pays"}
        yield (
            f"    Umpire {decision.umpire} ‰, rule: {RULES[contract.umpire_rule]};"
            f" {payer.get(decision.umpire_paid_by, 'both pay')}."
        )
    if decision.settled is None:
        yield "    Beyond the limit: an umpire is called."
    else:
        yield f"    Settled figure {decision.settled} ‰."


def _money(title: str, charges: Iterable[Money]) -> Iterator[str]:
    told = [f"{each.what} {each.amount} {each.currency}" for each in charges]
    if told:
        yield f"  {title}: {', '.join(told)}."


def _grams(grams: Decimal | None) -> str:
    return "not said" if grams is None else f"{grams_text(grams)} g"
