"""Names as people write them: when two spellings are the same person."""


def plain_name(name: str) -> str:
    """Return a name for comparing: case and spacing do not make another person."""
    return " ".join(name.split()).casefold()
