"""Cautions: every kind whose work can hurt has them, and none of them authorises.

What the cautions say is published guidance, named beside each, or common practice.
"""

import re

import pytest

from goldroom.statements.cautions import (
    CAUTIONS,
    OF_KIND,
    RESCUE_FIRST,
    RULES_OVER_US,
    cautions_of,
)
from goldroom.statements.registry import kinds

AT_THE_BENCH = ("room", "assay", "shipping", "count")
"""Policy groups of work with the hands."""

AT_A_DESK = {
    "assay.exchanged", "dispatch.advised", "dispatch.melted", "mill_day.reported",
    "paper_form.voided", "paper_form.written_up", "paper_forms.issued",
    "seal.fitted", "seal.inspected", "seal.removed", "stock.rolled", "umpire.reported",
    "refiner_assay.challenged",
}  # fmt: skip
"""Kinds of those groups that touch nothing heavy, hot or poisonous."""


@pytest.mark.parametrize(
    "name", sorted(name for name, each in kinds().items() if each.group in AT_THE_BENCH)
)
def test_a_kind_of_work_with_the_hands_has_its_cautions(name):
    assert (name in AT_A_DESK) is (cautions_of(name) == ())


@pytest.mark.parametrize("name", sorted(OF_KIND))
def test_cautions_belong_to_kinds_that_can_be_said(name):
    assert name in kinds()
    assert all(each in CAUTIONS for each in OF_KIND[name])
    assert len(set(OF_KIND[name])) == len(OF_KIND[name])


@pytest.mark.parametrize("name", sorted(CAUTIONS))
def test_a_caution_names_hazard_and_source_and_authorises_nothing(name):
    caution = CAUTIONS[name]
    assert caution.hazard
    assert caution.source
    assert caution.caution.endswith(".")
    assert not re.search(r"\bis safe\b|\byou may\b|\bapproved\b", caution.caution)


@pytest.mark.parametrize(
    ("name", "hazards"),
    [
        ("leach.charged", {"cyanide"}),
        ("leach.discharged", {"cyanide", "acid_near_cyanide"}),
        ("cells.opened", {"cyanide", "cells"}),
        ("material.retorted", {"mercury"}),
        ("charge.poured", {"molten_metal", "fume"}),
        ("bar.numbered", {"lifting"}),
        ("vault.taken", {"robbery"}),
        ("fire_assay.reported", {"fume"}),
    ],
)
def test_the_grave_hazards_of_each_task_are_named(name, hazards):
    assert hazards <= set(OF_KIND[name])


def test_everything_defers_and_rescue_comes_first():
    assert "site's procedures, local codes and licensed practice" in RULES_OVER_US
    assert "rescue never waits for a signature" in RESCUE_FIRST


@pytest.mark.source(
    "International Cyanide Management Code, audit guidance (pH above 10), from memory"
)
def test_cyanide_is_kept_alkaline_above_ph_10():
    assert "above pH 10" in CAUTIONS["cyanide"].caution
