"""Balances of gold and silver with honest uncertainty, from what the ledger holds."""
