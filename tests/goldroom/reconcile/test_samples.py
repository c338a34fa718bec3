"""Samples in the balances: every gram is found again, at every cut-off.

All invented. The story's lot is sampled, its bar drilled, the drillings divided, a
portion used, cornets given back. A period is cut at the time of each act, a second
before and a second after it.
"""

from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import pairwise

import pytest

from goldroom.custody.act import utc_text
from goldroom.custody.records import STEPS, Stay
from goldroom.custody.state import State
from goldroom.reconcile.balance import Balance, balance_of
from goldroom.reconcile.ledger_records import LedgerRecords
from goldroom.reconcile.network import merged_steps, parcels_of
from goldroom.reconcile.portions import group_of, portions_beside, sample_of
from goldroom.reconcile.priors import Quantities
from goldroom.statements.assays import AssayReported
from goldroom.statements.sample_moves import SampleMoved, SampleReturned
from goldroom.statements.sample_uses import SampleConsumed
from goldroom.statements.samples import SampleSplit, SampleTaken
from goldroom.statements.smelt import ChargeMadeUp, ChargePoured
from tests.goldroom import sampled, story
from tests.goldroom.room import removed, say
from tests.goldroom.sampled import SPLIT_AT, USED_AT, grams
from tests.goldroom.story import CHEMISTS

START, END = "2026-09-01T00:00:00Z", "2027-01-01T00:00:00Z"
METALS = ("gold", "silver")


def known(state: State) -> LedgerRecords:
    return LedgerRecords.from_held(state.all_held())


def cuts(state: State) -> list[str]:
    """Return cut-offs at, before and after every act that moved something."""
    times = {each.at for each in state.all_held().values() if isinstance(each, Stay)}
    found = {START, END}
    for each in times:
        moment = datetime.fromisoformat(each)
        found |= {utc_text(moment + timedelta(seconds=n)) for n in (-1, 0, 1)}
    return sorted(found)


def balances(
    data: LedgerRecords, from_at: str, to_at: str
) -> dict[tuple[str, str], Balance]:
    quantities = Quantities(data)
    parcels = parcels_of(data, quantities, from_at=from_at, to_at=to_at)
    return {
        (step, metal): balance_of(parcels, frozenset({step}), metal)
        for step in STEPS
        for metal in METALS
    }


def missing(data: LedgerRecords, edges: list[str]) -> list[dict[tuple[str, str], str]]:
    """Return what is unaccounted for in each period between two cut-offs."""
    found = []
    for from_at, to_at in pairwise(edges):
        drawn = balances(data, from_at, to_at)
        assert all(each.is_drawn for each in drawn.values()), (from_at, drawn)
        found.append(
            {key: each.unaccounted.posted_g for key, each in drawn.items()}
        )  # fmt: skip
    return found


def assayed(state: State) -> State:
    """Report the lot, its concentrate, its tails and the bars."""
    rows = [
        ("LOT-1", "gpt", "24000", "3100"), ("CON-1", "gpt", "351234.7", "51234.3"),
        ("TAILS-1", "gpt", "1700", "200"), ("BAR-1", "permille", "842.6", "119.2"),
        ("BAR-2", "permille", "842.6", "119.2"),
        ("DIP-1", "permille", "842.1", "119.9"),
    ]  # fmt: skip
    report = {
        "laboratory": "lab",
        "method": "fire_assay",
        "standing": "final",
        "sampler": "spear",
        "results": [
            {"items": [name], "sample": f"E-{name}", "unit": unit, "gold": gold,
             "silver": silver}
            for name, unit, gold, silver in rows
            if state.get(story.Item, name) is not None
        ],
    }  # fmt: skip
    say(state, AssayReported, report, at="2026-10-08T08:00:00+02:00", people=CHEMISTS)
    return state


def slag_known() -> State:
    """Return the story's drillings, with the slag of the pour weighed before."""
    return assayed(sampled.drilled())


def test_dividing_and_handing_on_moves_no_metal_between_any_two_cut_offs():
    plain, told = slag_known(), assayed(sampled.told(sampled.drilled(), "moved"))
    edges = sorted({*cuts(plain), *cuts(told)})
    assert len(edges) > 25
    assert missing(known(told), edges) == missing(known(plain), edges)


def test_what_was_used_is_out_and_what_came_back_is_in_and_nothing_is_missed():
    plain, told = slag_known(), assayed(sampled.told(sampled.drilled()))
    edges = sorted({*cuts(plain), *cuts(told)})
    assert missing(known(told), edges) == missing(known(plain), edges)
    whole = balances(known(told), START, END)["smelt", "gold"]
    before = balances(known(plain), START, END)["smelt", "gold"]
    # 1.000 g at 842.6 permille went to the assay, 0.799 g came back.
    used = whole.went_out.posted_g - before.went_out.posted_g
    assert (used, whole.came_in.posted_g - before.came_in.posted_g) == (
        Decimal("0.843"),
        Decimal("0.799"),
    )


def test_the_portions_hold_the_drillings_metal_to_the_milligram():
    told = assayed(sampled.told(sampled.drilled()))
    quantities = Quantities(known(told))
    whole = quantities.of("DRL-1")
    # 8.2 g at 842.6 and 119.2 permille.
    assert (whole.gold.posted_g, whole.silver.posted_g) == (
        Decimal("6.909"),
        Decimal("0.977"),
    )
    for metal in METALS:
        parts = [quantities.of(name).amount(metal) for name in ("P-1", "P-2", "P-3")]
        assert sum(each.posted_g for each in parts) == whole.amount(metal).posted_g
        halves = [quantities.of(name).amount(metal) for name in ("P-1.used", "P-1L")]
        assert sum(each.posted_g for each in halves) == parts[0].posted_g
        assert all(each.u_g > 0 for each in parts)
    for name in ("P-1", "P-2", "P-3"):
        assert quantities.of(name).how == "lineage"
        assert "its share of DRL-1" in quantities.of(name).said


def short_split(last: str) -> State:
    """Return the drillings of 8.2 g divided into 2.7 + 2.8 g and a lighter rest."""
    state = sampled.drilled()
    values = sampled.split()
    values["portions"][2]["mass"] = grams(last)
    say(state, SampleSplit, values, at=SPLIT_AT)
    return assayed(state)


@pytest.mark.parametrize(
    ("last", "gold", "silver"),
    [
        ("2.7", "0.000", "0.000"),
        # 0.1 g and 1.2 g of 8.2 g: 6.909 g and 0.977 g by the share that is there.
        ("2.6", "0.084", "0.012"),
        ("1.5", "1.011", "0.143"),
        ("2.8", "-0.084", "-0.012"),
    ],
)
def test_grams_missing_from_a_split_are_missed_when_and_where_it_was(
    last, gold, silver
):
    """A worked example of ours: the smelt held the drillings."""
    plain, told = slag_known(), short_split(last)
    edges = sorted({*cuts(plain), *cuts(told)})
    split_at = "2026-10-06T13:00:00Z"
    expected = {("smelt", "gold"): Decimal(gold), ("smelt", "silver"): Decimal(silver)}
    pairs = zip(
        pairwise(edges), missing(known(told), edges), missing(known(plain), edges),
        strict=True,
    )  # fmt: skip
    for (from_at, to_at), with_it, without in pairs:
        for key, grams_missing in with_it.items():
            here = from_at <= split_at < to_at
            beyond = expected.get(key, Decimal(0)) if here else Decimal(0)
            assert grams_missing - without[key] == beyond, (from_at, key)


def test_grams_neither_used_nor_left_are_missed_when_the_laboratory_says_so():
    plain = slag_known()
    told = sampled.told(sampled.drilled(), "moved")
    values = sampled.used()
    values["used"][0]["left"]["mass_g"] = "1.200"
    say(told, SampleConsumed, values, at=USED_AT, people=CHEMISTS)
    told = assayed(told)
    edges = [START, "2026-10-07T06:59:59Z", "2026-10-07T07:00:01Z", END]
    beyond = [
        with_it["smelt", "gold"] - without["smelt", "gold"]
        for with_it, without in zip(
            missing(known(told), edges), missing(known(plain), edges), strict=True
        )
    ]
    # 0.5 g of the 2.7 g that hold 2.275 g of gold.
    assert beyond == [Decimal(0), Decimal("0.421"), Decimal(0)]


def test_a_drilled_bars_month_ends_exactly_wherever_it_is_cut():
    """The bar and all that was ever made of its drillings are the bar as poured.

    What is held is what it is without the split; only the use takes 1 g out.
    """
    told = assayed(sampled.told(sampled.drilled(), "used"))
    plain = slag_known()
    for edge in cuts(told):
        with_it = balances(known(told), START, edge)
        without = balances(known(plain), START, edge)
        for key in with_it:
            closing = with_it[key].closing.posted_g + with_it[key].went_out.posted_g
            expected = without[key].closing.posted_g + without[key].went_out.posted_g
            assert closing == expected, (edge, key)


@pytest.mark.parametrize("order", [("split", "assayed"), ("assayed", "split")])
def test_what_a_laboratory_finds_in_one_portion_moves_no_metal(order):
    """A portion's own result never makes it richer than its sample."""
    state = sampled.drilled()
    for each in order:
        if each == "split":
            say(state, SampleSplit, sampled.split(), at=SPLIT_AT)
        else:
            assayed(state)
    report = {
        "laboratory": "refinery",
        "method": "fire_assay",
        "standing": "party",
        "sampler": "drill",
        "results": [
            {"items": ["P-2"], "sample": "P-2", "unit": "permille", "gold": "990",
             "silver": "5"},
        ],
    }  # fmt: skip
    say(state, AssayReported, report, at="2026-10-08T09:00:00+02:00", people=CHEMISTS)
    edges = cuts(state)
    plain = missing(known(slag_known()), edges)
    assert missing(known(state), edges) == plain


def lot_story(*, is_sampled: bool) -> State:
    """Return the lot, sampled and run over the table, with everything assayed."""
    state = story.lot_room()
    seal = "S-0003"
    if is_sampled:
        say(state, SampleTaken, sampled.taken(), at=sampled.TAKEN_AT)
        seal = "S-0019"
    opened = [{"vessel": "D1", "seals_removed": [removed("lid", seal)]}]
    story.tell(state, "table", opened=opened)
    return assayed(state)


def test_a_lots_samples_are_held_beside_it_until_it_is_used_and_after():
    plain, told = lot_story(is_sampled=False), lot_story(is_sampled=True)
    quantities = Quantities(known(told))
    # 512.4 g and 498.6 g at 24000 g/t.
    held = [quantities.of(name).gold.posted_g for name in ("SP-1", "SP-2")]
    assert held == [Decimal("12.298"), Decimal("11.966")]
    run_at = "2026-10-05T06:00:00Z"
    edges = sorted({*cuts(plain), *cuts(told)})
    pairs = zip(
        pairwise(edges), missing(known(told), edges), missing(known(plain), edges),
        strict=True,
    )  # fmt: skip
    for (from_at, to_at), with_it, without in pairs:
        beyond = without["table", "gold"] - with_it["table", "gold"]
        here = from_at <= run_at < to_at
        assert beyond == (sum(held) if here else Decimal(0)), from_at


def test_a_lots_sample_charged_to_the_smelt_passes_at_the_lots_grade():
    told = lot_story(is_sampled=True)
    opened = [{"vessel": "SP-2", "seals_removed": [removed("envelope", "S-0020")]}]
    charge = story.values("charge") | {
        "opened": opened, "sources": [{"item": "SP-1"}, {"item": "SP-2"}],
    }  # fmt: skip
    say(told, ChargeMadeUp, charge, at="2026-10-06T07:00:00+02:00")
    pour = {
        "charge": "CHG-1", "place": "gold_room",
        "castings": [{"item": "BAR-1", "mould": "M1"}],
    }  # fmt: skip
    say(told, ChargePoured, pour, at="2026-10-06T09:00:00+02:00")
    data = known(told)
    quantities = Quantities(data)
    parcels = parcels_of(data, quantities, from_at=START, to_at=END)
    passed = {
        each.item: each.contents.gold.posted_g
        for each in parcels
        if each.way.role == "passed" and each.way.from_step == "table"
        and each.way.to_step == "smelt"
    }  # fmt: skip
    assert passed["SP-1"] + passed["SP-2"] == Decimal("24.264")
    names, reasons = merged_steps(parcels, quantities, STEPS)
    assert tuple(names) == STEPS
    assert reasons == ()


def test_as_known_before_the_split_the_drillings_are_whole():
    told = assayed(sampled.told(sampled.drilled()))
    data = known(told)
    then = data.as_known("2026-10-06T12:30:00Z")
    assert "P-1" not in then.items
    assert then.items["DRL-1"].held_until == ""
    between = data.as_known("2026-10-07T06:00:00Z")
    assert "P-1" in between.items
    assert "P-1.used" not in between.items
    assert between.items["P-1"].held_until == ""
    after = missing(data.as_known(END), cuts(told))
    assert after == missing(known(slag_known()), cuts(told))


def test_a_sample_with_no_result_is_valued_by_its_portions_and_they_by_it():
    state = story.upto("reweighed")
    values = sampled.split(sample="DIP-1", portions=[
        {"item": "Q-1", "portion": "mine", "mass": grams("6.4")},
        {"item": "Q-2", "portion": "refiner", "mass": grams("6.0")},
    ])  # fmt: skip
    say(state, SampleSplit, values, at=SPLIT_AT)
    report = {
        "laboratory": "lab", "method": "fire_assay", "standing": "final",
        "sampler": "dip",
        "results": [{"items": ["Q-1"], "sample": "Q-1", "unit": "permille",
                     "gold": "800", "silver": "100"}],
    }  # fmt: skip
    say(state, AssayReported, report, at="2026-10-08T09:00:00+02:00", people=CHEMISTS)
    quantities = Quantities(known(state))
    assert quantities.of("DIP-1").gold.posted_g == Decimal("9.920")
    assert [quantities.of(name).gold.posted_g for name in ("Q-1", "Q-2")] == [
        Decimal("5.120"),
        Decimal("4.800"),
    ]


def test_rejects_given_back_are_worth_what_was_used():
    state = sampled.told(sampled.drilled(), "used")
    values = sampled.back()
    row = values["returned"][0]
    values["returned"] = [
        {name: row[name] for name in ("item", "of", "mass")} | {"what": "rejects"}
    ]
    say(state, SampleReturned, values, at=sampled.BACK_AT)
    quantities = Quantities(known(assayed(state)))
    # 0.8 of the 1.000 g that took 0.843 g of gold.
    assert quantities.of("COR-1").gold.posted_g == Decimal("0.674")
    assert quantities.of("COR-1").how == "lineage"


def test_samples_of_poor_things_do_not_stand_in_for_samples_of_the_melt():
    told = assayed(sampled.told(sampled.lot_sampled_and_drilled()))
    items = known(told).items
    assert sample_of(items["SP-1"], items) == "lot"
    assert sample_of(items["P-1L"], items) == "bar"
    assert sample_of(items["DIP-1"], items) == "charge"
    groups = {name: group_of(items[name], items) for name in ("SP-1", "P-1L", "DIP-1")}
    assert groups == {"SP-1": "sample of lot", "P-1L": "sample", "DIP-1": "sample"}
    assert group_of(items["COR-1"], items) == "given back COR-1"
    assert portions_beside(items["P-1L"], items) == ("P-1.used", "P-1L")
    assert portions_beside(items["COR-1"], items) == ()
    assert portions_beside(items["DRL-1"], items) == ()


def test_a_portion_of_a_sample_nobody_knows_is_not_known():
    state = story.upto("pour")
    values = sampled.split(sample="DIP-1", portions=[
        {"item": "Q-1", "portion": "mine", "mass": grams("6.4")},
        {"item": "Q-2", "portion": "refiner", "mass": grams("6.0")},
    ])  # fmt: skip
    say(state, SampleSplit, values, at=SPLIT_AT)
    quantities = Quantities(known(state))
    assert quantities.of("Q-1").how == "unknown"
    assert quantities.of("Q-1").gold is None


def test_where_a_sample_was_never_weighed_its_portions_share_it_by_mass():
    told = assayed(sampled.told(sampled.drilled(), "split"))
    data = known(told)
    masses = {name: each for name, each in data.masses.items() if name != "DRL-1"}
    bare = Quantities(replace(data, masses=masses))
    # As the one measured sample of the melt: 12.4 g at 842.1 permille.
    assert bare.of("DRL-1").gold.posted_g == Decimal("10.442")
    found = [bare.of(name) for name in ("P-1", "P-2", "P-3")]
    # 2.7, 2.8 and 2.7 g of 8.2 g, each what it adds to those before.
    assert [each.gold.posted_g for each in found] == [
        Decimal("3.438"),
        Decimal("3.566"),
        Decimal("3.438"),
    ]
    assert {each.how for each in found} == {"prior"}


def test_moving_a_sample_to_the_refinery_keeps_it_in_the_balance():
    told = sampled.told(sampled.drilled(), "split")
    values = sampled.moved(
        samples=[{"item": "P-2"}], to="refinery", received_by_outsider="Iro Santh"
    )
    del values["received_by"]
    say(told, SampleMoved, values, at=sampled.MOVED_AT)
    edges = cuts(told)
    assert missing(known(assayed(told)), edges) == missing(known(slag_known()), edges)
