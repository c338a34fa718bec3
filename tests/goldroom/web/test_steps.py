"""The steps of the work: cautions first, what stands open, what can follow."""

import re
from urllib.parse import parse_qsl, urlsplit

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from goldroom.reports.steps import STEPS_OF_WORK
from goldroom.statements.cautions import RESCUE_FIRST, RULES_OVER_US, cautions_of
from goldroom.statements.fields import specs
from goldroom.statements.registry import kind_named, kinds
from tests.front_door import SHIPPING

KEYS = [step.key for step in STEPS_OF_WORK]
OF_THE_FLOW = (
    "cleanup.", "bowl.", "hopper.", "table.", "leach.", "cells.", "material.",
    "charge.", "remelt.", "slag.", "sweepings.", "bar.", "sample.", "assay.reported",
    "fire_assay.", "screen_assay.", "solution_assay.", "vault.", "dispatch.",
)  # fmt: skip
"""Beginnings of the kinds that are work on metal, from cleanup to the refinery."""


def shown(client, step):
    answer = client.get(f"/steps/{step}/")
    assert answer.status_code == 200
    return answer.content.decode()


def links(page):
    """Return the forms that a page leads to: (kind, what is carried over)."""
    found = re.findall(r'href="(/say/[^"]+)"', page)
    parts = [urlsplit(each.replace("&amp;", "&")) for each in found]
    return [(each.path.split("/")[2], dict(parse_qsl(each.query))) for each in parts]


def test_every_act_of_the_flow_stands_at_one_step():
    listed = [kind for step in STEPS_OF_WORK for kind in step.kinds]
    assert len(listed) == len(set(listed))
    assert set(listed) <= set(kinds())
    assert {kind for kind in kinds() if kind.startswith(OF_THE_FLOW)} <= set(listed)


@pytest.mark.parametrize("step", KEYS)
def test_cautions_stand_before_anything_that_can_be_done(told_once, signed_in_as, step):
    page = shown(signed_in_as("p-amara"), step)
    work = page.index('id="open"')
    kinds_here = next(each for each in STEPS_OF_WORK if each.key == step).kinds
    wanted = {each for kind in kinds_here for each in cautions_of(kind)}
    assert wanted, "every step of the flow has its usual cautions"
    for words in (RULES_OVER_US, RESCUE_FIRST, *(each.caution for each in wanted)):
        assert page.index(words.replace("'", "&#x27;")) < work


def test_the_overview_leads_to_every_step_in_the_order_of_the_work(
    told_once, signed_in_as
):
    page = signed_in_as("p-amara").get("/steps/").content.decode()
    assert re.findall(r'href="/steps/([a-z]+)/"', page) == KEYS
    assert signed_in_as("p-amara").get("/steps/nothing/").status_code == 404


@pytest.mark.parametrize(
    ("step", "words", "follows"),
    [
        (
            "hopper",
            "LOAD-9 (1 load) weighed and not yet emptied",
            ("hopper.emptied", {"hopper": "H1"}),
        ),
        ("smelt", "SLAG-1 (slag", ("slag.released", {"item": "SLAG-1"})),
    ],
)
def test_what_stands_open_leads_to_what_can_follow(
    told_once, signed_in_as, step, words, follows
):
    page = shown(signed_in_as("p-amara"), step)
    assert words in page
    assert follows in links(page)


@pytest.mark.parametrize("step", KEYS)
def test_no_mass_and_no_number_is_ever_carried_over(told_once, signed_in_as, step):
    for kind, carried in links(shown(signed_in_as("p-amara"), step)):
        known = specs(kind_named(kind))
        for path in carried:
            spec = known[path.partition("[")[0].partition(".")[0]]
            assert spec.sort not in ("reading", "number", "whole")
            assert "seal" not in path
            assert "stamped" not in path


def test_others_see_what_is_recorded_here_and_no_form(told_once, signed_in_as):
    page = shown(signed_in_as("p-anan"), "hopper")
    assert links(page) == []
    assert "Recorded here by others:" in page


ADVISED = {
    "shipment": "SH-1",
    "refinery": "refinery",
    "carrier": "Invented Carriers",
    "carrier_person": "C. Invented",
    "items": ["BAR-1"],
    "window_from": "2026-03-08T08:00:00+02:00",
    "window_until": "2026-03-08T12:00:00+02:00",
}


def test_a_shipment_that_has_not_left_is_read_by_role(told_once, signed_in_as):
    told_once.say("dispatch.advised", ADVISED, SHIPPING)
    assert "SH-1" in shown(signed_in_as("p-soto"), "dispatch")
    assert "SH-1" not in shown(signed_in_as("p-leith"), "dispatch")


@pytest.mark.parametrize("address", ["/steps/", *(f"/steps/{key}/" for key in KEYS)])
def test_a_page_takes_few_queries(told_once, signed_in_as, address):
    client = signed_in_as("p-amara")
    client.get(address)
    with CaptureQueriesContext(connection) as queries:
        client.get(address)
    assert len(queries) < 30
