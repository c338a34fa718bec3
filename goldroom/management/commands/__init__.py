"""Commands: what the gold room can be asked from a terminal."""
