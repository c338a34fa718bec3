"""No page asks the database more than thirty times."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

QUERIES_MOST = 30
PAGES = {
    "p-amara": ["/", "/say/", "/steps/", "/steps/smelt/", "/say/cleanup.recorded/"],
    "p-soto": [
        "/", "/journal/", "/journal/?person=p-amara", "/journal/20/", "/items/BAR-1/",
        "/holdings/", "/holdings/?at=20", "/findings/", "/check/", "/exports/",
        "/site/", "/people/", "/equipment/", "/limits/", "/seals/", "/numbers/",
        "/rooms/", "/shipments/", "/find/?q=BAR-1",
    ],
    "p-anan": [
        "/month/?from=2026-03-01&to=2026-03-31", "/month/closed/", "/melts/", "/leach/",
        "/papers/month.pdf?from=2026-03-01&to=2026-03-31",
        "/papers/month.xlsx?from=2026-03-01&to=2026-03-31",
    ],
}  # fmt: skip


@pytest.mark.parametrize(
    ("person", "path"), [(who, each) for who, paths in PAGES.items() for each in paths]
)
def test_a_page_asks_thirty_times_at_most(told_once, signed_in_as, person, path):
    client = signed_in_as(person)
    with CaptureQueriesContext(connection) as captured:
        answer = client.get(path, follow=True)
    assert answer.status_code == 200
    redirects = 1 + len(answer.redirect_chain)
    assert len(captured) <= QUERIES_MOST * redirects
