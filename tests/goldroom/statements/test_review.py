"""Findings reviewed by somebody else too, and exports written down."""

import ast
import base64
from pathlib import Path
from typing import Any

import pytest

from goldroom.custody.notices import RULED
from goldroom.custody.records import Emergency
from goldroom.custody.review import Review
from goldroom.custody.state import State
from goldroom.statements.review import ExportMade, FindingReviewed
from goldroom.statements.seals import SealInspected
from tests.goldroom.room import codes, refused, room, say

GUARDS = (("p-sefu", "security"), ("p-brandt", "manager"))
SEEN_BY = (("p-amara", "officer"), ("p-sefu", "security"))
LATER = "2026-10-06T09:00:00+02:00"
OF_ENTRY: dict[str, Any] = {
    "entry": "entry-seen",
    "number": 1,
    "outcome": "explained",
    "words": "the lid's seal was changed on the night shift; form F-0012 tells of it",
}
OF_RULE: dict[str, Any] = {
    "code": "same_pair_often",
    "item": "p-sefu p-brandt",
    "outcome": "action_taken",
    "words": "the roster was changed",
}
ROOT = base64.b64encode(bytes(range(32))).decode()
EXPORT: dict[str, Any] = {
    "taken_by": "Iro Santh, auditor (invented)",
    "purpose": "the year's audit",
    "size": 4120,
    "root": ROOT,
    "medium": "disk 7 in the safe",
}


def odd_seal() -> State:
    """Return a room in which another seal was read than the one fitted."""
    state = room()
    seen = [{"point": "lid", "seal": "S-0007", "tamper_signs": "none"}]
    say(
        state,
        SealInspected,
        {"vessel": "H1", "seals_seen": seen},
        people=SEEN_BY,
        entry="entry-seen",
    )
    assert codes(state) == ["seal_not_the_one_fitted"]
    return state


def test_a_review_is_the_latest_word_on_the_finding_an_entry_shows():
    state = odd_seal()
    first = {**OF_ENTRY, "outcome": "still_open", "words": "asked the night shift"}
    say(state, FindingReviewed, first, people=GUARDS, at=LATER, entry="e-1")
    say(state, FindingReviewed, OF_ENTRY, people=GUARDS, at=LATER, entry="e-2")
    latest = state.get(Review, "entry-seen/01")
    assert latest is not None
    assert (latest.outcome, latest.people, latest.entry, latest.at) == (
        "explained",
        ("p-sefu", "p-brandt"),
        "e-2",
        "2026-10-06T07:00:00Z",
    )
    assert codes(state) == ["seal_not_the_one_fitted"], "what was noticed stays so"


def test_a_review_of_what_a_rule_found_goes_by_code_and_item():
    state = room()
    say(
        state,
        FindingReviewed,
        {**OF_RULE, "item": "p-amara p-leith"},
        people=GUARDS,
    )
    assert state.get(Review, "same_pair_often/p-amara p-leith") is not None


@pytest.mark.parametrize(
    ("values", "code"),
    [
        pytest.param(OF_ENTRY, None, id="as it was"),
        pytest.param({**OF_ENTRY, "number": 2}, "unknown_finding", id="no second one"),
        pytest.param(
            {**OF_ENTRY, "entry": "entry-none"}, "unknown_finding", id="no such entry"
        ),
        pytest.param({**OF_ENTRY, "outcome": "closed"}, "bad_field", id="no outcome"),
        pytest.param({**OF_ENTRY, **OF_RULE}, "bad_field", id="two at once"),
        pytest.param({**OF_ENTRY, "item": "H1"}, "bad_field", id="half of another"),
        pytest.param(
            {k: v for k, v in OF_ENTRY.items() if k != "number"},
            "bad_field",
            id="without its number",
        ),
        pytest.param(
            {k: v for k, v in OF_RULE.items() if k not in ("code", "item")},
            "bad_field",
            id="no finding named",
        ),
        pytest.param(
            {**OF_RULE, "code": "same_pear_often"}, "unknown_finding", id="no such rule"
        ),
        pytest.param(
            {**OF_RULE, "code": "seal_tampered"},
            "unknown_finding",
            id="what a single entry shows, by code",
        ),
    ],
)
def test_review_names_a_finding(values: dict[str, Any], code: str | None):
    people = (("p-sefu", "security"), ("p-ines", "metallurgist"))
    assert refused(odd_seal(), FindingReviewed, values, people=people, at=LATER) == code


@pytest.mark.source("common practice, no source")
@pytest.mark.parametrize(
    ("values", "people", "code"),
    [
        pytest.param(OF_ENTRY, SEEN_BY, "same_signers", id="those who signed it"),
        pytest.param(
            OF_ENTRY, SEEN_BY[::-1], "same_signers", id="those, the other way round"
        ),
        pytest.param(OF_ENTRY, GUARDS, None, id="one of them and another"),
        pytest.param(OF_RULE, GUARDS, "same_signers", id="the pair it is about"),
        pytest.param(
            OF_RULE,
            (("p-sefu", "security"), ("p-amara", "officer")),
            None,
            id="one of the pair and another",
        ),
    ],
)
def test_nobody_reviews_alone_what_they_did(values: Any, people: Any, code: str | None):
    state = odd_seal()
    assert refused(state, FindingReviewed, values, people=people, at=LATER) == code


@pytest.mark.parametrize(("declared_by", "code"), [("p-sefu", None), ("p-leith", None)])
def test_an_emergency_is_reviewed_with_somebody_who_did_not_declare_it(
    declared_by: str, code: str | None
):
    state = room()
    state.put(
        Emergency(
            entry="e-fire",
            status="open",
            person=declared_by,
            at="2026-10-01T04:00:00Z",
            ratified_by="",
        )
    )
    values = {**OF_RULE, "code": "emergency_unratified", "item": "e-fire"}
    assert refused(state, FindingReviewed, values, people=GUARDS) == code
    alone = ((declared_by, "security"),)
    assert refused(state, FindingReviewed, values, people=alone) == "same_signers"


def test_reviews_read_aloud():
    state = odd_seal()
    said = say(state, FindingReviewed, OF_ENTRY, people=GUARDS, at=LATER)
    assert said.sentence() == (
        "Finding 1 of entry entry-seen was reviewed, explained: the lid's seal was"
        " changed on the night shift; form F-0012 tells of it."
    )
    values = {**OF_RULE, "item": "p-amara p-leith"}
    assert say(state, FindingReviewed, values, people=GUARDS).sentence() == (
        "The finding same_pair_often about p-amara p-leith was reviewed, action taken:"
        " the roster was changed."
    )


def test_every_rule_over_several_entries_can_be_reviewed():
    from goldroom import findings

    folder = Path(next(iter(findings.__path__)))
    said = {
        keyword.value.value
        for path in folder.glob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
        for keyword in node.keywords
        if keyword.arg == "code" and isinstance(keyword.value, ast.Constant)
    }
    assert said == RULED, "list each rule's code in goldroom.custody.notices.RULED"


# --- exports ---------------------------------------------------------------


def test_an_export_is_written_down_with_its_size_and_root():
    said = say(room(), ExportMade, EXPORT, people=GUARDS)
    assert said.sentence() == (
        "Iro Santh, auditor (invented) took a full export of 4120 entries, root"
        f" {ROOT}: the year's audit. It is kept on disk 7 in the safe."
    )


@pytest.mark.source("RFC 4648, 3.5 Canonical Encoding, and 4 Base 64 Encoding")
@pytest.mark.parametrize(
    ("root", "code"),
    [
        pytest.param(ROOT, None, id="32 bytes"),
        pytest.param(ROOT.rstrip("="), "bad_field", id="without padding"),
        pytest.param(ROOT[:-2] + "9=", "bad_field", id="pad bits that are not zero"),
        pytest.param(ROOT[:-4], "bad_field", id="30 bytes"),
        pytest.param(ROOT.replace("A", "-"), "bad_field", id="another alphabet"),
        pytest.param("the third line", "bad_field", id="words"),
    ],
)
def test_the_root_is_that_of_a_chain_mark(root: str, code: str | None):
    assert refused(room(), ExportMade, {**EXPORT, "root": root}, people=GUARDS) == code


@pytest.mark.parametrize("size", [0, -1, "12", None])
def test_the_size_is_that_of_a_chain_mark(size: Any):
    values = {**EXPORT, "size": size}
    assert refused(room(), ExportMade, values, people=GUARDS) == "bad_field"
