"""What every record of the fold is: one row of a read table, with its key."""

from dataclasses import dataclass
from typing import ClassVar


@dataclass(frozen=True, kw_only=True)
class Record:
    """One row of a read table. `status`, `place` and `at` are for looking it up.

    `key_of` spells the key from the record's own fields, such as
    `{item}/{version:03d}`; table and key are unique in a ledger.
    """

    table: ClassVar[str]
    key_of: ClassVar[str]

    @property
    def key(self) -> str:
        """Return the key, unique in the table of one ledger."""
        return self.key_of.format_map(vars(self))
