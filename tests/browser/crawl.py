"""Every sort of page that somebody can reach from their first page by links.

Addresses that one view answers, asked the same questions, are of one sort. A few of
each sort are followed, the first ones found.
"""

import time
from collections import Counter, deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from urllib.parse import urljoin, urlsplit

from django.urls import resolve

from tests.browser.desk import Desk

EACH_SORT = 2
LINKS = """() => [...document.querySelectorAll("a[href], form[method=get]")].map(
  (each) => each.href || each.action)"""


@dataclass(frozen=True)
class Answer:
    """What the server answered: whether it is a page, and how long it took."""

    address: str
    sort: str
    status: int
    is_page: bool
    took_ms: float


def walked(desk: Desk, telling: Iterable[str] = ()) -> Iterator[Answer]:
    """Yield what is reached; a page stands in the browser while it is yielded.

    Some addresses that tell much may be given: they are the first of their sort.
    """
    met = {"/", *telling}
    waiting = deque(["/", *telling])
    seen: Counter[str] = Counter()
    while waiting:
        path = waiting.popleft()
        sort = sort_of(path)
        if seen[sort] >= EACH_SORT and path not in telling:
            continue
        seen[sort] += 1
        answer = _asked(desk, path, sort)
        if answer.is_page:
            desk.go(path)
            for link in desk.page.evaluate(LINKS):
                there = _inside(desk, link)
                if there and there not in met:
                    met.add(there)
                    waiting.append(there)
        yield answer


def sort_of(path: str) -> str:
    """Return the sort of an address: its view, and the names of what is asked."""
    parts = urlsplit(path)
    asked = sorted(each.split("=")[0] for each in parts.query.split("&"))
    return f"{resolve(parts.path).view_name} {' '.join(asked)}".strip()


def _asked(desk: Desk, path: str, sort: str) -> Answer:
    began = time.perf_counter()
    answer = desk.page.context.request.get(urljoin(desk.demo.address, path))
    took_ms = 1000 * (time.perf_counter() - began)
    is_page = answer.headers.get("content-type", "").startswith("text/html")
    return Answer(path, sort, answer.status, is_page, took_ms)


def _inside(desk: Desk, link: str) -> str:
    """Return the path of a link with its question, or "" if it leads elsewhere."""
    parts = urlsplit(link)
    if not link.startswith(f"{desk.demo.address}/"):
        return ""
    return f"{parts.path}?{parts.query}" if parts.query else parts.path
