"""axe-core run in a page, by the debugger: the content policy stays in force.

Source: axe-core (the package axe-core-python carries it), whose rules cite the
success criteria of WCAG 2.1, levels A and AA.
"""

from functools import cache
from importlib.resources import files

from playwright.sync_api import Page

GRAVE = ("serious", "critical")


def complaints(page: Page) -> list[str]:
    """Return what axe-core finds serious or critical in a page as it stands."""
    page.evaluate(_source())
    found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    return [
        f"{page.url}: {each['id']} ({each['impact']}): {node['html'][:160]}"
        for each in found["violations"]
        if each["impact"] in GRAVE
        for node in each["nodes"]
    ]


@cache
def _source() -> str:
    path = files("axe_core_python") / "axe.min.js"
    return path.read_text(encoding="utf-8")
