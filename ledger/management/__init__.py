"""Management of the ledgers in this database."""
