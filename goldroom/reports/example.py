"""A line as it would be written: a statement of each kind with values made up.

It is drawn from the kind's own fields, so it always has the shape that is accepted.
The values are made up and only of the right sort: ids in the style of the
demonstration, the first of the choices, a figure within its bounds. Its signers are
nobody, so that it cannot be recorded unchanged by mistake.
"""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from goldroom.roles import GROUPS
from goldroom.statements.fields import Spec, specs
from goldroom.statements.kind import Statement
from goldroom.statements.registry import kind_named

AT = "2026-11-02T09:30:00+02:00"
LATER = "2026-11-02T17:30:00+02:00"
DAY = "2026-11-02"
IDS_BY_NAME = {
    "batch": "LB-02", "box": "B1", "calcine": "CAL-02", "cell": "EC1",
    "charge": "CH-05", "detector": "MD1", "form": "F-0004", "furnace": "F1",
    "gauge": "FM-1", "hopper": "H1", "incident": "INC-02", "into": "L1",
    "laboratory": "laboratory", "load": "LD-1102-1",
    "load_cells": "LC1", "lot": "LOT-021", "mark": "M1", "melt": "MR-5103",
    "oven": "OV1", "period": "2026-10", "point": "lid", "prefix": "E-",
    "refinery": "refinery", "retort": "RT1", "safe": "V1", "sample": "E-0034D",
    "sampler": "dipper-1", "seal": "S-0137", "series": "S-", "shipment": "OF-SH-03",
    "slag": "SLG-05", "solutions": "SOL-03", "stamped": "OF-0423", "table": "T1",
    "tank": "TK1", "unit": "U1",
}  # fmt: skip
"""An id as the demonstration writes it, by the name of its field."""
IDS_BY_TABLE = {
    "concentrator": "U1",
    "emergency": "1b165344-c9ea-5026-8599-639e32c70f52",
    "instrument": "BB1",
    "item": "LOT-021",
    "person": "p-somebody",
    "place": "gold_room",
    "said": "1b165344-c9ea-5026-8599-639e32c70f52",
    "seal": "S-0137",
    "stock_count": "1b165344-c9ea-5026-8599-639e32c70f52",
    "vessel": "C1",
}
"""The same by what is named, where the field's name tells nothing."""
IDS_BY_LABEL = {
    "Casting id": "CH-05-1", "Heel id": "HEEL-03", "Item": "OM-02",
    "Leach vessel": "LV1", "Residue id": "RES-03", "Sample id": "E-0034D",
    "Sludge id": "SLU-02", "Solution id": "SOL-04",
}  # fmt: skip
"""The same by the field's label, where one name is used for several things."""
FIGURES_BY_NAME = {
    "dilution": "10", "ph": "11.2", "random_u": "0.02", "shared_u": "0.01",
    "target_ph": "11.5",
}  # fmt: skip
FIGURES_BY_UNIT = {
    "%": "12.5", "°C": "25", "fraction": "0.05", "g": "1234.5", "g/L": "17.332",
    "g/g": "0.0001", "g/t": "1040.5", "kg": "42.0", "kg/m3": "2000", "L": "950",
    "mL": "250", "mg": "500.12", "mg/L": "12.5", "t": "3.4", "‰": "862.5",
}  # fmt: skip
"""A figure such as one meets, by its unit."""
READING = {"reading": "1234.5", "unit": "g", "instrument": "BB1"}
OPAQUE = {"...": "made by the program"}
"""Keys and policies: printed by a command, or filled in as the line is recorded."""


def example_of(name: str, *, whole: bool = False) -> dict[str, Any]:
    """Return a line of this kind: the fields it must have, or with `whole` all.

    Raises UnknownKind.
    """
    cls = kind_named(name)
    return {
        "kind": name,
        "occurred_at": AT,
        "data": _values(cls, whole=whole),
        "signers": _signers(cls),
    }


def left_out_of(name: str) -> tuple[str, ...]:
    """Return the outermost fields that may be left out, in order."""
    found: Mapping[str, Spec] = specs(kind_named(name))
    return tuple(each for each, spec in found.items() if spec.optional)


def who_signs(cls: type[Statement]) -> str:
    """Return who signs a kind by the policy that a new ledger opens with."""
    if cls.klass != "two":
        return {
            "machine": "the plant's gateway alone",
            "single": "one person alone, and two others later",
            "server": "the log itself",
            "genesis": "the first persons, each with the key they bring",
        }[cls.klass]
    group = GROUPS[cls.group]
    slots = " and ".join(_one_of(slot) for slot in group.slots)
    differ = ", of another reporting line each" if group.lines_differ else ""
    return f"{slots}{differ}"


def _one_of(roles: tuple[str, ...]) -> str:
    if len(roles) == 1:
        return roles[0]
    return f"one of {', '.join(roles[:-1])} or {roles[-1]}"


def _signers(cls: type[Statement]) -> list[dict[str, str]]:
    if cls.klass == "machine":
        return [{"person": "g-somewhere", "role": "gateway"}]
    if cls.klass == "single":
        return [{"person": "p-somebody", "role": "officer"}]
    if cls.klass != "two":
        return []
    slots = GROUPS[cls.group].slots
    names = ("p-somebody", "p-another", "p-a-third")
    return [
        {"person": person, "role": slot[0]}
        for person, slot in zip(names, slots, strict=False)
    ]


def _values(cls: type, *, whole: bool) -> dict[str, Any]:
    return {
        name: _value(name, spec, whole=whole)
        for name, spec in specs(cls).items()
        if whole or not spec.optional
    }


def _value(name: str, spec: Spec, *, whole: bool) -> Any:
    if spec.rows is not None:
        inner = _values(spec.rows, whole=whole)
        return [inner] if spec.sort == "rows" else inner
    if spec.choices:
        return spec.choices[0]
    return {
        "text": f"({spec.label.lower()})",
        "code": _id(name, spec),
        "codes": [_id(name, spec)],
        "flag": True,
        "whole": _whole(spec),
        "number": _figure(name, spec),
        "moment": LATER if name in ("ended_at", "to_at") else AT,
        "day": DAY,
        "reading": READING,
        "opaque": OPAQUE,
    }[spec.sort]


def _id(name: str, spec: Spec) -> str:
    by_table = IDS_BY_TABLE.get(spec.table, "ID-1")
    return IDS_BY_LABEL.get(spec.label) or IDS_BY_NAME.get(name, by_table)


def _whole(spec: Spec) -> int:
    return int(max(spec.low or 0, 1))


def _figure(name: str, spec: Spec) -> str:
    """Return a figure in its unit, within its bounds."""
    text = FIGURES_BY_NAME.get(name) or FIGURES_BY_UNIT.get(spec.unit, "1.5")
    low, high = spec.low or Decimal(0), spec.high or Decimal(10**9)
    if low <= Decimal(text) <= high:
        return text
    return format(low if Decimal(text) < low else high, "f")
