"""The usual range of a figure: of like acts, like rows and like units alone."""

import pytest

from goldroom.reports import usual
from goldroom.reports.usual import usual_ranges


@pytest.fixture
def fluxes_before(monkeypatch):
    """Let ten earlier charges hold borax from 2 to 3 kg and nitre from 0.1 to 0.2."""

    class Lines:
        objects = None

        def filter(self, **wanted):
            return self

        def order_by(self, name):
            return self

        def values_list(self, name, flat):
            return list(range(10))

    Lines.objects = Lines()

    class Said:
        def __init__(self, n):
            self.data = charge(f"{2 + n / 10:.1f}", f"{0.1 + n / 100:.2f}", f"{40 + n}")

    monkeypatch.setattr(usual, "JournalLine", Lines)
    monkeypatch.setattr(usual.read, "leaves", lambda ledger_id, seqs: list(seqs))
    monkeypatch.setattr(usual, "parse_leaf", Said)


def charge(borax_kg, nitre_kg, dry_kg):
    """Return a charge's values."""
    reading = {"reading": dry_kg, "unit": "kg", "instrument": "PS1"}
    return {
        "charge": "CH-9",
        "crucible_uses": 3,
        "sources": [{"item": "CON-1", "dry_gross": reading}],
        "fluxes": [
            {"flux": "Nitre", "mass_kg": nitre_kg},
            {"flux": "Borax", "mass_kg": borax_kg},
        ],
    }


def test_a_flux_is_held_against_the_same_flux(fluxes_before):
    said = charge("2.5", "2.5", "45")
    said["fluxes"].reverse()
    found = usual_ranges(1, "charge.made_up", said)
    borax, nitre = found["fluxes[0].mass_kg"], found["fluxes[1].mass_kg"]
    assert (str(borax.low), str(borax.high), borax.is_outside) == ("2.0", "2.9", False)
    assert (str(nitre.low), str(nitre.high), nitre.is_outside) == ("0.10", "0.19", True)


def test_a_reading_in_another_unit_has_no_range(fluxes_before):
    said = charge("2.5", "0.1", "45")
    assert usual_ranges(1, "charge.made_up", said)["sources[0].dry_gross"].unit == "kg"
    said["sources"][0]["dry_gross"]["unit"] = "g"
    assert "sources[0].dry_gross" not in usual_ranges(1, "charge.made_up", said)


def test_below_eight_figures_nothing_is_usual(told_once):
    said = {"gross": {"reading": "2000", "unit": "kg", "instrument": "LC1"}}
    assert usual_ranges(told_once.ledger_id, "hopper.weighed", said) == {}
