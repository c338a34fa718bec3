"""Schema of the ledger tables. There is one migration and it stays one."""
