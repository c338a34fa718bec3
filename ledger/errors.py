"""What the keeper refuses. Codes are stable; messages say what to do next."""

from ledger.core.errors import LedgerRefusal


class NoSuchLedger(LedgerRefusal):
    """There is no ledger of that origin, slug or number here."""

    code = "no_such_ledger"


class NoSuchEntry(LedgerRefusal):
    """The ledger has no such entry."""

    code = "no_such_entry"


class LedgerExists(LedgerRefusal):
    """A ledger of that origin is kept here already."""

    code = "ledger_exists"


class WrongOrigin(LedgerRefusal):
    """A statement made for another ledger."""

    code = "wrong_origin"


class EntryIdUsed(LedgerRefusal):
    """An entry id that already stands for another statement."""

    code = "entry_id_used"


class NonceRefused(LedgerRefusal):
    """A nonce that was not handed out here, is used up or has expired."""

    code = "nonce_refused"


class BasisRefused(LedgerRefusal):
    """A basis that is not this ledger's history, or too old."""

    code = "basis_refused"


class AttachmentMismatch(LedgerRefusal):
    """A statement cites a file whose bytes were never uploaded."""

    code = "attachment_mismatch"


class ProposalRefused(LedgerRefusal):
    """A proposal, or a signature for one, that cannot be taken."""

    code = "proposal_refused"


class NoSuchProposal(LedgerRefusal):
    """No proposal of that id waits for a signature."""

    code = "no_such_proposal"


class ProposalLapsed(LedgerRefusal):
    """A proposal that was refused or has expired; its lapse is an entry."""

    code = "proposal_lapsed"


class NotCommitted(LedgerRefusal):
    """Something that is only done with committed data, asked inside a change."""

    code = "not_committed"


class KeyFileRefused(LedgerRefusal):
    """A file that is not a sealed key, or not one that can be opened."""

    code = "key_file_refused"


class WrongPassphrase(KeyFileRefused):
    """The passphrase does not open the key file, or the file was changed."""

    code = "wrong_passphrase"


class MarkRefused(LedgerRefusal):
    """A checkpoint that contradicts what the log key has signed before."""

    code = "mark_refused"


class CorrectsUnknown(LedgerRefusal):
    """A correction of something that is not an entry here."""

    code = "corrects_unknown"


class LedgerDamaged(LedgerRefusal):
    """Head and entries disagree; nothing more is written until that is cleared."""

    code = "ledger_damaged"


class ProposalExpired(ProposalRefused):
    """A signature that came after the proposal's time was over."""

    code = "proposal_expired"
