"""Which tables the fence looks after.

The keeper's own, and the derived ones: those of the applications that the setting
LEDGER_PROJECTIONS names. A table belongs to an application by its name, so a table
that somebody adds under such a name is noticed too.
"""

from collections.abc import Iterable

from django.apps import apps
from django.conf import settings
from django.db.models import Model

OWN_APP = "ledger"
WORK = "work_"


def derived_models() -> list[type[Model]]:
    """Return the models of derived tables."""
    return [
        model
        for label in sorted(_derived_apps())
        for model in apps.get_app_config(label).get_models()
    ]


def models() -> list[type[Model]]:
    """Return the models of all tables that the fence looks after."""
    return [*apps.get_app_config(OWN_APP).get_models(), *derived_models()]


def prefixes() -> tuple[str, ...]:
    """Return how the names of such tables begin."""
    return (WORK, *(f"{label}_" for label in sorted({OWN_APP, *_derived_apps()})))


def is_fenced(names: Iterable[str]) -> bool:
    """Tell whether one of these names is that of a table the fence looks after."""
    return any(name.lower().startswith(prefixes()) for name in names)


def _derived_apps() -> set[str]:
    containing = map(apps.get_containing_app_config, settings.LEDGER_PROJECTIONS)
    return {found.label for found in containing if found is not None} - {OWN_APP}
