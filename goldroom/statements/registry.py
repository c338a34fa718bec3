"""Every kind of statement by name: the list of what can be said."""

import importlib
import inspect
from types import ModuleType

from goldroom.errors import Refusal
from goldroom.guess import meant
from goldroom.statements.kind import Statement

FAMILIES = (
    "standing",
    "instruments",
    "places",
    "limits",
    "opening",
    "plant",
    "cleanup",
    "hopper",
    "emptying",
    "number_series",
    "seals",
    "table",
    "leach",
    "leach_running",
    "leach_solutions",
    "leach_residue",
    "cells",
    "cell_cleanup",
    "drying",
    "smelt",
    "slag",
    "sweepings",
    "other_metal",
    "bars",
    "density",
    "remelt",
    "samples",
    "sample_moves",
    "sample_uses",
    "assays",
    "fire_assay",
    "screen_assay",
    "solution_assay",
    "vault",
    "counts",
    "stock",
    "dispatch",
    "melts",
    "contracts",
    "exchange",
    "umpire",
    "settling",
    "period",
    "error_budget",
    "record",
    "room",
    "handover",
    "incidents",
    "paper",
    "review",
)
"""Modules of kinds, in the order the work goes."""


class UnknownKind(Refusal):
    """No statement of that kind can be said here."""

    code = "unknown_kind"


def _kinds_of(module: ModuleType) -> dict[str, type[Statement]]:
    return {
        cls.kind_name: cls
        for _, cls in inspect.getmembers(module, inspect.isclass)
        if issubclass(cls, Statement)
        and cls.__module__ == module.__name__
        and hasattr(cls, "kind_name")
    }


def _all_kinds() -> dict[str, type[Statement]]:
    found: dict[str, type[Statement]] = {}
    for family in FAMILIES:
        module = importlib.import_module(f"goldroom.statements.{family}")
        found.update(_kinds_of(module))
    return found


_KINDS: dict[str, type[Statement]] = {}


def kinds() -> dict[str, type[Statement]]:
    """Return every kind by its name."""
    if not _KINDS:
        _KINDS.update(_all_kinds())
    return _KINDS


def kind_named(name: str, v: int = 1) -> type[Statement]:
    """Return the kind of that name and version. Raises UnknownKind."""
    found = kinds().get(name)
    if found is None or found.v != v:
        raise UnknownKind(
            f"kind: {name!r} version {v} cannot be said here. {_offered(name)}",
            field="kind",
        )
    return found


def _offered(name: str) -> str:
    """Return what may have been meant: the nearest kind, its family, or all kinds."""
    guess = meant(name, kinds())
    if guess:
        return guess.rstrip()
    family = name.partition(".")[0] + "."
    near = [each for each in sorted(kinds()) if each.startswith(family)]
    return f"Kinds: {', '.join(near or sorted(kinds()))}."
