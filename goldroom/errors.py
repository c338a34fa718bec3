"""Refusals: what the gold room cannot accept, and what to do about it.

A refusal is an exception. Its `code` never changes (pages, API, tests and
documents use it), its `message` says what was found, what was expected and
what to do next, and its `field` names the figure or box it speaks of (empty
when it speaks of the whole statement).

What people *saw* is recorded and may raise a finding; only what cannot be a
figure, or must not be done, is refused.
"""

from __future__ import annotations

from typing import ClassVar


class Refusal(Exception):
    """This cannot be accepted; the message says why and what to do."""

    code: ClassVar[str] = "refused"

    def __init__(self, message: str, *, field: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.field = field


# ---------------------------------------------------------------- figures


class FigureRefused(Refusal):
    """A figure cannot be read, or cannot be true."""

    code = "figure_refused"


class NotAFigure(FigureRefused):
    """The text is not a plain decimal figure."""

    code = "not_a_figure"


class NegativeFigure(FigureRefused):
    """A quantity that cannot be below zero is."""

    code = "negative_figure"


class OutOfRange(FigureRefused):
    """A figure lies outside the range in which the formula holds."""

    code = "out_of_range"


# ------------------------------------------------------------------ units


class UnitRefused(Refusal):
    """A unit cannot be used as it was written."""

    code = "unit_refused"


class BareOunce(UnitRefused):
    """An ounce was written without saying which ounce."""

    code = "bare_ounce"


class AmbiguousUnit(UnitRefused):
    """A unit was written by a name that two units share."""

    code = "ambiguous_unit"


class UnknownUnit(UnitRefused):
    """A unit was written that the gold room does not know."""

    code = "unknown_unit"


# --------------------------------------------------------------- weighing


class WeighingRefused(Refusal):
    """A weighing contradicts itself or its instrument."""

    code = "weighing_refused"


class MoreDigitsThanInstrument(WeighingRefused):
    """More digits were typed than the instrument can show."""

    code = "more_digits_than_instrument"


class NotOnScaleDivision(WeighingRefused):
    """The figure lies between two divisions of the instrument."""

    code = "not_on_scale_division"


class TareOverGross(WeighingRefused):
    """The empty container outweighs the full one."""

    code = "tare_over_gross"


class UnknownAccuracyClass(WeighingRefused):
    """An accuracy class was named that the standard does not have."""

    code = "unknown_accuracy_class"


class UnknownNominalMass(WeighingRefused):
    """A check weight's nominal mass is not in the standard's table."""

    code = "unknown_nominal_mass"


class ClassDoesNotFit(WeighingRefused):
    """An instrument's divisions do not fit the class claimed for it."""

    code = "class_does_not_fit"


# --------------------------------------------------- moisture, pulp, assay


class MoistureOver100(FigureRefused):
    """A moisture is above one hundred per cent of the wet mass."""

    code = "moisture_over_100"


class DryHeavierThanWet(FigureRefused):
    """A dried sample outweighs itself wet."""

    code = "dry_heavier_than_wet"


class NotAPulp(FigureRefused):
    """A density lies outside what water and these solids can make."""

    code = "not_a_pulp"


class FinenessOver1000(FigureRefused):
    """A fineness is above one thousand parts per thousand."""

    code = "fineness_over_1000"


class PortionOfNothing(FigureRefused):
    """A test portion, or a screen's fraction, has no mass."""

    code = "portion_of_nothing"


class CornetHeavierThanPortion(FigureRefused):
    """A cornet outweighs the test portion that it came from."""

    code = "cornet_heavier_than_portion"


class BeadDoesNotFit(FigureRefused):
    """A bead is lighter than its cornet, or heavier than all that went into it."""

    code = "bead_does_not_fit"


class ProofMissing(FigureRefused):
    """A fire assay's worksheet has too few proofs to be corrected by."""

    code = "proof_missing"


class DilutionMissing(FigureRefused):
    """A solution's reading does not say by how much it was diluted."""

    code = "dilution_missing"


class NotInAlphabet(FigureRefused):
    """A number holds a character that its check system does not know."""

    code = "not_in_alphabet"


class NotTwoProducts(FigureRefused):
    """Feed is not richer than tails and poorer than concentrate."""

    code = "not_two_products"


class NotACorrelation(FigureRefused):
    """A table of correlations contradicts itself."""

    code = "not_a_correlation"


# ---------------------------------------------------------------- custody


class CustodyRefused(Refusal):
    """What is said does not fit what the record knows."""

    code = "custody_refused"


class UnknownThing(CustodyRefused):
    """A statement names something that is not registered here."""

    code = "unknown_thing"


class UnknownVessel(UnknownThing):
    """No vessel of that id is registered."""

    code = "unknown_vessel"


class UnknownInstrument(UnknownThing):
    """No instrument of that id is registered."""

    code = "unknown_instrument"


class UnknownPlace(UnknownThing):
    """No place of that id is registered."""

    code = "unknown_place"


class UnknownConcentrator(UnknownThing):
    """No concentrator of that id is registered."""

    code = "unknown_concentrator"


class UnknownItem(UnknownThing):
    """No item of that id was ever made."""

    code = "unknown_item"


class UnknownSample(UnknownThing):
    """No sample of that id was ever taken."""

    code = "unknown_sample"


class UnknownPerson(UnknownThing):
    """No person of that id is enrolled."""

    code = "unknown_person"


class UnknownSealPoint(UnknownThing):
    """The vessel has no seal point of that name."""

    code = "unknown_seal_point"


class UnknownShipment(UnknownThing):
    """No shipment of that id was advised."""

    code = "unknown_shipment"


class UnknownContract(UnknownThing):
    """No contract with that refinery was in force then."""

    code = "unknown_contract"


class UnknownEntry(UnknownThing):
    """No entry of that id is in this ledger, or not with that leaf hash."""

    code = "unknown_entry"


class UnknownIncident(UnknownThing):
    """No incident of that id was reported."""

    code = "unknown_incident"


class UnknownFinding(UnknownThing):
    """Nothing of that name was noticed here, and no rule finds such a thing."""

    code = "unknown_finding"


class UnknownPeriod(UnknownThing):
    """No period of that id was closed."""

    code = "unknown_period"


UNKNOWN: dict[str, type[UnknownThing]] = {
    "vessel": UnknownVessel,
    "instrument": UnknownInstrument,
    "place": UnknownPlace,
    "concentrator": UnknownConcentrator,
    "item": UnknownItem,
    "person": UnknownPerson,
    "shipment": UnknownShipment,
    "contract": UnknownContract,
    "said": UnknownEntry,
    "emergency": UnknownEntry,
    "leach_batch": UnknownItem,
    "stock_count": UnknownEntry,
    "closed_period": UnknownPeriod,
    "incident": UnknownIncident,
}
"""The refusal for a name not found, by the table it was looked for in."""


class AlreadyRegistered(CustodyRefused):
    """Something of that id is registered already."""

    code = "already_registered"


class ItemIdUsed(CustodyRefused):
    """An item id was used before; ids are unique forever."""

    code = "item_id_used"


class ItemConsumed(CustodyRefused):
    """An item was used already."""

    code = "item_consumed"


class ItemNotHeld(CustodyRefused):
    """An item is not in the room's care."""

    code = "item_not_held"


class WrongSort(CustodyRefused):
    """A thing of another sort is needed here."""

    code = "wrong_sort"


class SampleReplaced(CustodyRefused):
    """A sample was replaced by another; results of it no longer count."""

    code = "sample_replaced"


class BeforeItsSource(CustodyRefused):
    """A sample would be older than what it was taken from, as it stands now."""

    code = "before_its_source"


class UmpirePortionKept(CustodyRefused):
    """An umpire's portion would be opened by somebody else."""

    code = "umpire_portion_kept"


class SealMissing(CustodyRefused):
    """An umpire's or reserve portion would be kept without a seal."""

    code = "seal_missing"


class CheckCharacterWrong(CustodyRefused):
    """A number does not end in the check character that its series gives it."""

    code = "check_character_wrong"


class InstrumentBlocked(CustodyRefused):
    """The instrument failed its check or is blocked; nobody should weigh on it."""

    code = "instrument_blocked"


class WrongUnit(CustodyRefused):
    """A reading is not in the unit its instrument shows."""

    code = "wrong_unit"


class OverCapacity(CustodyRefused):
    """A reading is over the instrument's capacity and was not confirmed."""

    code = "over_capacity"


class SealNeverIssued(CustodyRefused):
    """A seal that was never issued cannot be fitted."""

    code = "seal_never_issued"


class SealAlreadyUsed(CustodyRefused):
    """A seal is used once; this one was fitted or removed before."""

    code = "seal_already_used"


class SealPointTaken(CustodyRefused):
    """The point still bears a seal."""

    code = "seal_point_taken"


class FlushAlreadyCounted(CustodyRefused):
    """The plant's counter reported this flush before."""

    code = "flush_already_counted"


class FlushOnEarlierSheet(CustodyRefused):
    """A flush was listed on an earlier cleanup sheet."""

    code = "flush_on_earlier_sheet"


class ExceptionUnanswered(CustodyRefused):
    """A flush out of the ordinary has no answer on the sheet."""

    code = "exception_unanswered"


class VesselSealed(CustodyRefused):
    """A vessel is reached into, but every seal on it is still said to be whole."""

    code = "vessel_sealed"


class CellNotOpened(CustodyRefused):
    """Sludge is said to have come out of a cell that nobody opened."""

    code = "cell_not_opened"


class NotDried(CustodyRefused):
    """Something weighed wet would go under molten metal without having been dried."""

    code = "not_dried"


class TareMissing(CustodyRefused):
    """Something was weighed in a vessel whose empty mass nobody knows."""

    code = "tare_missing"


class BarHeavierThanCharge(CustodyRefused):
    """The bars of a charge outweigh what was charged."""

    code = "bar_heavier_than_charge"


class EstimateMissing(CustodyRefused):
    """Metal would leave without a mass and an estimate of what is in it."""

    code = "estimate_missing"


class AssayMissing(CustodyRefused):
    """Metal would leave the site without an assay."""

    code = "assay_missing"


class CarrierNotAdvised(CustodyRefused):
    """Metal would be handed to somebody who was not advised beforehand."""

    code = "carrier_not_advised"


class UmpireBeforeExchange(CustodyRefused):
    """An umpire's result is reported before the two parties' were exchanged."""

    code = "umpire_before_exchange"


class ChallengeDatePassed(CustodyRefused):
    """A refiner's assay is challenged after the contract's last day for it."""

    code = "challenge_date_passed"


class OccurredInFuture(CustodyRefused):
    """The statement speaks of a time that has not come."""

    code = "occurred_in_future"


class SubjectChanged(CustodyRefused):
    """What the statement speaks of changed before the second signature."""

    code = "subject_changed"


class NotInThisState(CustodyRefused):
    """The thing exists but is not in a state in which this can be done."""

    code = "not_in_this_state"


class CannotVoid(CustodyRefused):
    """Something has built on the entry, or its kind cannot be taken back."""

    code = "cannot_void"


class OnlyFiguresChange(CustodyRefused):
    """A correction of figures changes something else."""

    code = "only_figures_change"


class NoFiguresToCorrect(CustodyRefused):
    """The entry's kind holds no figures that a correction could put right."""

    code = "no_figures_to_correct"


class SameSigners(CustodyRefused):
    """At least one signer of this must not have signed the original."""

    code = "same_signers"


class EscortMissing(CustodyRefused):
    """A visitor would be let in without somebody enrolled to stay beside them."""

    code = "escort_missing"


class CrewNotSigned(CustodyRefused):
    """A shift is handed over without the signatures of the crews that it needs."""

    code = "crew_not_signed"


class FormNeverIssued(CustodyRefused):
    """A paper form was never handed out."""

    code = "form_never_issued"


class FormAlreadyUsed(CustodyRefused):
    """A paper form was written up or made void before."""

    code = "form_already_used"


class FormIssuedLater(CustodyRefused):
    """A paper form tells of something from before it was handed out."""

    code = "form_issued_later"


class PaperNotAttached(CustodyRefused):
    """The picture of a paper is missing among the attachments."""

    code = "paper_not_attached"


class NobodyCouldSign(CustodyRefused):
    """Nobody could sign for persons, keys or policy after this."""

    code = "nobody_could_sign"


class AlreadyMeasured(CustodyRefused):
    """An estimate is given for what was measured and assayed."""

    code = "already_measured"


class PeriodNotNext(CustodyRefused):
    """A period would be closed that does not follow the one closed last."""

    code = "period_not_next"


class FiguresDoNotAdd(CustodyRefused):
    """Reported figures do not add up to what is reported as their sum."""

    code = "figures_do_not_add"


class TableDamaged(Refusal):
    """A row of a read table cannot be read; the entries themselves may be sound."""

    code = "table_damaged"
