"""Management of the gold room."""
