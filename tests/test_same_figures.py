"""One month, every face: report, command, workbook, paper, page and API say the same.

What was poured, and what the gravity circuit was expected to give with its standard
uncertainty, in grams to the milligram. People and figures are invented.
"""

import html
import io
import json
import re
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.core.management import call_command
from django.test import Client
from openpyxl import load_workbook
from pypdf import PdfReader

from goldroom.faces.models import Account
from goldroom.papers.month import month_paper
from goldroom.papers.workbook import month_workbook
from goldroom.reconcile.period import PeriodReport
from goldroom.reports.entry import mark
from goldroom.reports.month import reconciliation
from ledger.models import Ledger
from tests.conftest import copied_database
from tests.front_door import MILL, told

FIRST, LAST = "2026-03-01", "2026-03-31"
DAYS = {"from": FIRST, "to": LAST}
POURED = r"Gold poured ([\d.]+)"
ESTIMATED = r"The gravity circuit's estimate ([\d.]+) [\d.]+ [\d.]+ ([\d.]+)"


@dataclass(frozen=True)
class Month:
    """The poured and the estimated gold of a month, in grams."""

    poured_g: Decimal
    estimated_g: Decimal
    estimated_u_g: Decimal

    @classmethod
    def of_json(cls, told: dict[str, Any]) -> "Month":
        """Return what a report's plain values say."""
        gravity = told["gravity"]
        return cls(
            Decimal(gravity["poured"]),
            Decimal(gravity["estimated"]),
            Decimal(gravity["estimated_u"]),
        )

    @classmethod
    def of_words(cls, words: str) -> "Month":
        """Return what running text says, its line ends as spaces."""
        (poured,) = re.findall(POURED, words)
        ((estimated, u),) = re.findall(ESTIMATED, words)
        return cls(Decimal(poured), Decimal(estimated), Decimal(u))


@pytest.fixture(scope="module")
def room(
    template_db: str, tmp_path_factory: pytest.TempPathFactory, django_db_blocker: Any
) -> Iterator[Any]:
    """Tell the story with its flushes' day of the mill, which an estimate needs."""
    folder = tmp_path_factory.mktemp("same-figures")
    with django_db_blocker.unblock(), copied_database(template_db, folder):
        opened = told()
        day = {"day": "2026-03-02", "feed_t": "1750", "gold_gpt": "3.9"}
        opened.say(
            "mill_day.reported",
            {**day, "silver_gpt": "0.6"},
            MILL,
            at="2026-03-07T10:00:00+02:00",
        )
        yield opened


def report_of(room: Any) -> PeriodReport:
    """Return the month's report."""
    first, last = date.fromisoformat(FIRST), date.fromisoformat(LAST)
    return reconciliation(room.ledger_id, first_day=first, last_day=last)


def the_report(room: Any) -> Month:
    check = report_of(room).gravity
    assert check.poured is not None
    assert check.estimate.total_g is not None
    milligram = Decimal("0.001")
    return Month(
        check.poured.posted_g,
        Decimal(check.estimate.total_g.value).quantize(milligram),
        Decimal(check.estimate.total_g.u).quantize(milligram),
    )


def the_command(room: Any) -> Month:
    out = io.StringIO()
    call_command("reconcile", f"--from={FIRST}", f"--to={LAST}", "--json", stdout=out)
    return Month.of_json(json.loads(out.getvalue()))


def the_workbook(room: Any) -> Month:
    content = month_workbook(report_of(room), mark(room.ledger_id))
    page = load_workbook(io.BytesIO(content))["Month"]
    rows = {row[0].value: row for row in page.iter_rows()}
    estimate = rows["The gravity circuit's estimate"]
    return Month(
        Decimal(repr(rows["Gold poured"][1].value)),
        Decimal(repr(estimate[1].value)),
        Decimal(repr(estimate[4].value)),
    )


def _paper(room: Any) -> bytes:
    return month_paper(report_of(room), mark(room.ledger_id), ())


def the_papers_text(room: Any) -> Month:
    done = subprocess.run(
        ["pdftotext", "-layout", "-", "-"],
        input=_paper(room),
        capture_output=True,
        check=True,
    )
    return Month.of_words(" ".join(done.stdout.decode().split()))


def the_papers_attached_figures(room: Any) -> Month:
    attached = PdfReader(io.BytesIO(_paper(room))).attachments
    return Month.of_json(json.loads(attached["figures.json"][0]))


def _client(room: Any) -> Client:
    """Return a browser in which the accountant is signed in."""
    ledger = Ledger.objects.get(pk=room.ledger_id)
    account, _ = Account.objects.get_or_create(
        name=f"{ledger.slug}:p-anan",
        defaults={"ledger_id": ledger.pk, "person": "p-anan"},
    )
    client = Client()
    client.force_login(account, backend="goldroom.faces.backend.KeyBackend")
    return client


def the_page(room: Any) -> Month:
    answer = _client(room).get("/month/", DAYS)
    assert answer.status_code == 200
    bare = html.unescape(re.sub(r"<[^>]*>", " ", answer.content.decode()))
    return Month.of_words(" ".join(bare.split()))


def the_api(room: Any) -> Month:
    answer = _client(room).get("/api/v1/reconciliation", DAYS)
    assert answer.status_code == 200
    return Month.of_json(answer.json())


FACES: list[Any] = [
    the_command,
    the_workbook,
    pytest.param(the_papers_text, marks=pytest.mark.reads_back),
    the_papers_attached_figures,
    the_page,
    the_api,
]


@pytest.mark.parametrize("face", FACES, ids=lambda face: face.__name__)
def test_every_face_says_the_reports_figures(room: Any, face: Any) -> None:
    expected = the_report(room)
    assert expected.poured_g > 0
    assert expected.estimated_u_g > 0
    assert face(room) == expected
