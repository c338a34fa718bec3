"""Where every item is, who holds it and what was measured: a pure fold of entries."""
