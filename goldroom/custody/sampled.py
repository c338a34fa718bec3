"""The record of a sample: what is known of it beside its metal."""

from dataclasses import dataclass

from goldroom.custody.record import Record


@dataclass(frozen=True, kw_only=True)
class Sample(Record):
    """How a sample was taken, for whom, and whether it is still to be accounted for.

    `status` is `open` until it comes back from a laboratory (`back`); an umpire's or
    reserve portion is `kept` on purpose, what a laboratory gave back is `given_back`.
    `portion` is mine, refiner, umpire, reserve, reject or "". A dip or pin sample and
    drillings have this record from the first thing said of them as samples.
    """

    table = "sample"
    key_of = "{sample}"
    sample: str
    status: str
    taken_by: str
    portion: str
    at: str
