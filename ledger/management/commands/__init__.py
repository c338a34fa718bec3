"""Commands: verify, export, sign."""
