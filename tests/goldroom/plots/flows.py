"""Flows of gold made up by hand: few grams, every way that metal can take."""

from decimal import Decimal

from goldroom.reconcile.network import CLOSING, OPENING, PASSED
from goldroom.reports.flow import Edge, Flow, Unaccounted


def edge(role: str, sort: str, ends: tuple[str, str], grams: str) -> Edge:
    """Return an edge with an uncertainty of a gram."""
    return Edge(
        role=role,
        sort=sort,
        from_step=ends[0],
        to_step=ends[1],
        grams=Decimal(grams),
        u_g=1.0,
    )


def flow_of(edges: tuple[Edge, ...], balances: tuple[str, ...]) -> Flow:
    """Return the flow; what is unaccounted follows from the edges alone."""
    return Flow(
        edges=edges,
        unaccounted=tuple(
            Unaccounted(step=name, grams=left_over(edges, name), u_g=2.0)
            for name in balances
        ),
        unmeasured=(),
    )


def left_over(edges: tuple[Edge, ...], balance: str) -> Decimal:
    """Return opening + in - out - closing of one step or several joined by a plus."""
    steps = set(balance.split("+"))
    return sum(
        (
            ((each.to_step in steps) - (each.from_step in steps)) * each.grams
            for each in edges
        ),
        Decimal("0.000"),
    )


WITH_LEACH = (
    edge(OPENING, "load", ("", "hopper"), "40.000"),
    edge(PASSED, "load", ("", "hopper"), "960.500"),
    edge(PASSED, "lot", ("hopper", "table"), "1010.250"),
    edge(PASSED, "tails", ("table", ""), "90.125"),
    edge(PASSED, "concentrate", ("table", "smelt"), "500.001"),
    edge(PASSED, "lot", ("table", "leach"), "400.000"),
    edge(PASSED, "solution", ("leach", "electrowinning"), "380.000"),
    edge(PASSED, "solution", ("electrowinning", "leach"), "60.000"),
    edge(PASSED, "residue", ("leach", ""), "75.000"),
    edge(PASSED, "sludge", ("electrowinning", "smelt"), "300.000"),
    edge(PASSED, "bar", ("smelt", "vault"), "790.000"),
    edge(PASSED, "bar", ("vault", "smelt"), "100.000"),
    edge(PASSED, "slag", ("smelt", ""), "12.000"),
    edge(CLOSING, "concentrate", ("smelt", ""), "98.000"),
    edge(PASSED, "melt", ("vault", ""), "400.000"),
    edge(CLOSING, "bar", ("vault", ""), "290.000"),
)
SORTS = ("tails", "middlings", "magnetics", "sample", "slag", "skull", "sweepings")
ALL_STEPS = ("hopper", "table", "leach", "electrowinning", "smelt", "vault")
BY_DIFFERENCE = (
    edge(PASSED, "concentrate", ("", "leach"), "50.000"),
    edge(PASSED, "solution", ("leach", "electrowinning"), "54.000"),
    edge(CLOSING, "leach_batch", ("leach", ""), "-4.500"),
    edge(CLOSING, "solution", ("electrowinning", ""), "54.000"),
)
FLOWS = {
    "all steps": flow_of(WITH_LEACH, ALL_STEPS),
    "hopper and table as one": flow_of(
        WITH_LEACH, ("hopper+table", "leach", "electrowinning", "smelt", "vault")
    ),
    "all but the vault as one": flow_of(
        WITH_LEACH, ("hopper+table+leach+electrowinning+smelt", "vault")
    ),
    "table and smelt as one round the leach": flow_of(
        WITH_LEACH, ("hopper", "table+smelt", "leach", "electrowinning", "vault")
    ),
    "less than nothing held": flow_of(
        BY_DIFFERENCE, ("hopper", "table", "leach", "electrowinning", "smelt", "vault")
    ),
    "many sorts": flow_of(
        (
            edge(PASSED, "load", ("", "hopper"), "500.000"),
            edge(PASSED, "lot", ("hopper", "table"), "500.000"),
            *(
                edge(PASSED, sort, ("table", ""), f"{9 - n}0.000")
                for n, sort in enumerate(SORTS)
            ),
        ),
        ("hopper", "table", "smelt", "vault"),
    ),
    "one load": flow_of(
        (
            edge(PASSED, "load", ("", "hopper"), "27.310"),
            edge(CLOSING, "load", ("hopper", ""), "27.310"),
        ),
        ("hopper", "table", "smelt", "vault"),
    ),
    "empty": flow_of((), ("hopper", "table", "smelt", "vault")),
}
