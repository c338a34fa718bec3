"""Where one can go: the ways in the frame of every page, in the order of the work."""

from dataclasses import dataclass

from django.utils.translation import gettext_noop as _


@dataclass(frozen=True, kw_only=True)
class Way:
    """A way in the frame: its words, the view it leads to, the subject it needs."""

    name: str
    view: str
    subject: str = ""


PLACES: tuple[Way, ...] = (
    Way(name=_("Today"), view="today"),
    Way(name=_("Work"), view="steps"),
    Way(name=_("Journal"), view="journal"),
    Way(name=_("Holdings"), view="holdings"),
    Way(name=_("Month end"), view="month", subject="month"),
    Way(name=_("Findings"), view="findings", subject="findings"),
    Way(name=_("Check"), view="check"),
    Way(name=_("Site"), view="site"),
)
