"""Worksheets of the invented laboratory: they come to the result they were made of."""

from decimal import Decimal

import pytest

from goldroom.demo.chance import Chance
from goldroom.demo.worksheets import (
    PORTION_MG,
    SCREEN_UM,
    fire_assay,
    screen,
    screen_assay,
)
from goldroom.metal.cupellation import silver_wanted_mg
from goldroom.statements.fields import parse
from goldroom.statements.fire_assay import FireAssayReported
from goldroom.statements.screen_assay import ScreenAssayReported

SEEDS = range(20)


@pytest.mark.parametrize("seed", SEEDS)
def test_fire_assay_comes_to_its_result_within_its_portions(seed):
    portions, proofs = fire_assay(Chance(seed), "K-1", gold="862.40", silver="119.10")
    sheet = parse(
        FireAssayReported,
        {
            "laboratory": "laboratory",
            "standing": "final",
            "sampler": "dip-1",
            "samples": [
                {
                    "sample": "DIP-1",
                    "items": ["BAR-1"],
                    "unit": "permille",
                    "portions": portions,
                }
            ],
            "proofs": proofs,
        },
    )
    worked = sheet._worked(sheet.samples[0])
    assert abs(worked.gold - Decimal("862.40")) < Decimal("0.20")
    assert abs(worked.silver - Decimal("119.10")) < Decimal("0.90")


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.source("ISO 11426:2014, 7.2 and 8: portions, inquartation, duplicates")
def test_fire_assay_is_worked_as_the_standard_has_it(seed):
    """Portions of 125 to 250 mg; silver 2.3 to 3 times the gold; gold within 0.5."""
    portions, _ = fire_assay(Chance(seed), "K-1", gold="862.40", silver="119.10")
    assert len(portions) == 2
    golds = []
    for row in portions:
        mass_mg = Decimal(row["portion_mg"])
        gold_mg = mass_mg * Decimal("0.8624")
        least_mg, most_mg = silver_wanted_mg(gold_mg)
        silver_mg = Decimal(row["silver_added_mg"]) + mass_mg * Decimal("0.1191")
        assert least_mg <= silver_mg <= most_mg
        assert abs(float(mass_mg) - PORTION_MG) < 1
        golds.append(Decimal(row["cornet_mg"]) / mass_mg * 1000)
    assert abs(golds[0] - golds[1]) < Decimal("0.5")


@pytest.mark.parametrize("seed", SEEDS)
def test_screen_assay_comes_to_its_result_and_its_gold_is_coarse(seed):
    screened = screen(Chance(seed), "LOT-1", 280.0)
    row = screen_assay(Chance(seed), "LOT-1", screened, gold="1041.6", silver="141.5")
    sheet = parse(
        ScreenAssayReported,
        {
            "laboratory": "laboratory",
            "standing": "final",
            "sampler": "spear-1",
            "screen_um": SCREEN_UM,
            "samples": [{"sample": "SPR-1", "items": ["LOT-1"], **row}],
        },
    )
    (sample,) = sheet.samples
    assert abs(sample.grade("gold") / Decimal("1041.6") - 1) < Decimal("0.001")
    assert abs(sample.grade("silver") / Decimal("141.5") - 1) < Decimal("0.004")
    assert sample.coarse_gold > 5 * max(each.gold for each in sample.fines)
    assert screened.used_g < screened.sample_g
