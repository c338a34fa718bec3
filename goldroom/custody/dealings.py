"""What mine and refinery agreed on, and how each refinery melt was settled.

A contract is kept in versions, each in force from a time on; the one in force when
the bars were melted governs the melt to its end. `Outturn` is the melt as a matter
between the two parties, `Exchanged` what their assays decided, `Settled` what was
paid. Finenesses are parts per thousand. None of these records is a figure of the
balances: those read the versions of the melt's mass and assays.
"""

from dataclasses import dataclass
from decimal import Decimal

from goldroom.custody.record import Record

AGREED = "agreed"
UMPIRE_CALLED = "umpire_called"
UMPIRED = "umpired"

EXCHANGE = "exchange"
REFINERS_ASSAY = "refiners_assay"
BASES = (EXCHANGE, REFINERS_ASSAY)
"""How a contract finds the figure: assays exchanged, or the refiner's stands."""


@dataclass(frozen=True, kw_only=True)
class SplittingLimit:
    """How far two results may be apart; `unit` is points or percent_of_mean."""

    limit: Decimal
    unit: str


@dataclass(frozen=True, kw_only=True)
class Charge:
    """A charge of the contract: an amount of a currency for each of something."""

    what: str
    amount: Decimal
    currency: str
    per: str


@dataclass(frozen=True, kw_only=True)
class Contract(Record):
    """Terms with a refinery, in force from `from_at` until a later version is.

    `challenge_d` is None where assays are exchanged. `advance_percent` and
    `advance_d` are None where nothing is paid in advance.
    """

    table = "contract"
    key_of = "{refinery}/{version:03d}"
    refinery: str
    version: int
    reference: str
    basis: str
    challenge_d: int | None
    exchange_d: int
    gold_splitting: SplittingLimit
    silver_splitting: SplittingLimit
    umpire_rule: str
    umpire_paid_by: str
    payable_gold_percent: Decimal
    payable_silver_percent: Decimal
    melt_loss_percent: Decimal
    charges: tuple[Charge, ...]
    advance_percent: Decimal | None
    advance_d: int | None
    from_at: str
    entry: str
    known_at: str


@dataclass(frozen=True, kw_only=True)
class Outturn(Record):
    """A refinery melt between mine and refinery.

    `items` are the bars in it, `as_received_g` what the refinery found them to weigh
    (None if it did not say). `challenged_by`, `exchanged_by`, `umpired_by` (the newest
    report) and `settled_by` are entries, "" until there is one: so each is built on
    those before it, and none is taken back under another.
    """

    table = "outturn"
    key_of = "{melt}"
    melt: str
    shipment: str
    refinery: str
    items: tuple[str, ...]
    as_received_g: Decimal | None
    at: str
    entry: str
    known_at: str
    challenged_at: str = ""
    challenged_by: str = ""
    exchanged_by: str = ""
    umpired_by: str = ""
    settled_by: str = ""


@dataclass(frozen=True, kw_only=True)
class Decision:
    """What an exchange decided about one metal, in parts per thousand.

    `status` is agreed, umpire_called or umpired; `settled` is None until there is a
    figure. `umpire_paid_by` is mine, refiner or both.
    """

    mine: Decimal
    refiner: Decimal
    splitting_limit: Decimal
    status: str
    settled: Decimal | None
    umpire: Decimal | None = None
    umpire_paid_by: str = ""
    umpired_by: str = ""


@dataclass(frozen=True, kw_only=True)
class Exchanged(Record):
    """Two laboratories' results for a melt, opened at the same time, and the outcome.

    `contract` is the key of the version that governs it.
    """

    table = "exchange"
    key_of = "{melt}"
    melt: str
    contract: str
    mine_laboratory: str
    refinery: str
    refiner_sample: str
    sampler: str
    gold: Decision
    silver: Decision
    at: str
    entry: str
    known_at: str

    def decision(self, metal: str) -> Decision:
        """Return what was decided about gold or silver."""
        return {"gold": self.gold, "silver": self.silver}[metal]

    @property
    def is_decided(self) -> bool:
        """Return whether there is a figure for both metals."""
        return self.gold.settled is not None and self.silver.settled is not None


@dataclass(frozen=True, kw_only=True)
class Money:
    """An amount of a currency, for something."""

    what: str
    amount: Decimal
    currency: str


@dataclass(frozen=True, kw_only=True)
class Settled(Record):
    """A melt's settlement: as the refinery states it, and as the contract makes it.

    `gold_permille` and `silver_permille` are the statement's; `payable_*_g` follow
    from the decided figures, `credited_*_g` are the statement's in grams. The melt
    loss is None where the refinery did not say what it received.
    """

    table = "settlement"
    key_of = "{melt}"
    melt: str
    contract: str
    statement: str
    mass_g: Decimal
    gold_permille: Decimal
    silver_permille: Decimal
    decided_gold_permille: Decimal
    decided_silver_permille: Decimal
    payable_gold_g: Decimal
    payable_silver_g: Decimal
    credited_gold_g: Decimal
    credited_silver_g: Decimal
    melt_loss_g: Decimal | None
    melt_loss_percent: Decimal | None
    charges: tuple[Money, ...]
    billed: tuple[Money, ...]
    at: str
    entry: str
    known_at: str
