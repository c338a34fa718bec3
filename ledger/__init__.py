"""A record nobody can quietly change. It knows nothing of gold.

`ledger.core` holds the format and everything needed to check it, without a
database and without this project's server; the modules beside it keep the
record in a database.
"""
