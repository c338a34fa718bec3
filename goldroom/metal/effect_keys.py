"""Keys of error effects: who shares an error with whom, in one place.

Two figures that name the same key share that error. A key ends with what
renews it (a calibration, a certified-reference period, the determination's own
id), so figures before and after the renewal are independent.

    scale:<id>:slope:<calibration>        every weighing on that scale
    reading:<weighing id>                 that weighing only (all its metals)
    oven:<id>:bias                        all moistures of the oven
    moist:<determination id>              that determination only
    sampler:<id>:bias:<rebuild>           every sample from that cutter, both metals
    fse:<sample id>                       gold and silver of that sample
    lab:<lab>:<method>:<metal>:<period>   all assays of that method in the period
    rep:<assay id>:<metal>                that determination only
    tank:<id>:table:<calibration>         all volumes of the tank
    hold:<holding id>                     an estimate: closing and next opening
    ref:<refinery>:...                    refinery balance, laboratory and melts
    gravity:<parameter>[:<id>]            parameters of the gravity estimate

A colon inside an id (a laboratory's name, a time) is written %3A, so that two
different errors never share a key.
"""

from __future__ import annotations


def scale_slope(instrument: str, calibration: str) -> str:
    """Return the key of a scale's slope error between two calibrations."""
    return _key("scale", instrument, "slope", calibration)


def reading(weighing: str) -> str:
    """Return the key of one weighing's own reading error."""
    return _key("reading", weighing)


def oven_bias(oven: str) -> str:
    """Return the key of an oven's (or its method's) shared moisture error."""
    return _key("oven", oven, "bias")


def moisture_repeat(determination: str) -> str:
    """Return the key of one moisture determination's own error."""
    return _key("moist", determination)


def sampler_bias(sampler: str, rebuild: str = "0") -> str:
    """Return the key of a sampler's bias, until it is rebuilt or bias-tested."""
    return _key("sampler", sampler, "bias", rebuild)


def fse(sample: str) -> str:
    """Return the key of a sample's fundamental sampling error, both metals."""
    return _key("fse", sample)


def segregation(bar: str) -> str:
    """Return the key of how one bar's drillings differ from the bar."""
    return _key("segregation", bar)


def lab_bias(lab: str, method: str, metal: str, period: str) -> str:
    """Return the key of a method's bias in a laboratory for one reference period."""
    return _key("lab", lab, method, metal, period)


def assay_repeat(assay: str, metal: str) -> str:
    """Return the key of one determination's own error for one metal."""
    return _key("rep", assay, metal)


def tank_table(tank: str, calibration: str) -> str:
    """Return the key of a tank's volume table between two calibrations."""
    return _key("tank", tank, "table", calibration)


def tank_dip(measurement: str) -> str:
    """Return the key of one level reading's own error."""
    return _key("dip", measurement)


def holding(holding_id: str) -> str:
    """Return the key of an estimated holding: closing and next opening share it."""
    return _key("hold", holding_id)


def refinery_slope(refinery: str, calibration: str) -> str:
    """Return the key of the refinery balance's slope error."""
    return _key("ref", refinery, "slope", calibration)


def refinery_lab(refinery: str, method: str, metal: str, period: str) -> str:
    """Return the key of the refinery laboratory's bias."""
    return _key("ref", refinery, "lab", method, metal, period)


def refinery_melt(melt: str) -> str:
    """Return the key of what one refinery melt lost."""
    return _key("ref", "melt", melt)


def gravity_parameter(parameter: str, of: str = "") -> str:
    """Return the key of a gravity parameter, such as ("treated", unit id)."""
    return _key("gravity", parameter, of) if of else _key("gravity", parameter)


def head_assay(day: str) -> str:
    """Return the key of one day's head assay."""
    return _key("head", day)


def kind_of(key: str) -> str:
    """Return the first part of a key: what sort of error it is."""
    return key.partition(":")[0]


def _key(*parts: str) -> str:
    """Return the parts joined by colons, colons within them escaped."""
    assert all(parts), parts
    return ":".join(part.replace("%", "%25").replace(":", "%3A") for part in parts)
