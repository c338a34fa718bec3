"""Figures put right, and the last act taken back."""

from goldroom.statements.record import RecordCorrected
from tests.goldroom.simulated.walk import Walk


def correct(walk: Walk) -> bool:
    """Put a wrong figure right."""
    if not walk.wrong:
        return False
    walk.correct(RecordCorrected, walk.random.choice(walk.wrong))
    return True


def void(walk: Walk) -> bool:
    """Take the last act back, if it may be."""
    if walk.last is None or not walk.last.can_void or len(walk.said) < 2:
        return False
    walk.void(RecordCorrected)
    return True
