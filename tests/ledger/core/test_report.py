from ledger.core.report import FINDINGS_KEPT_MAX, TOLD_OF_A_KIND, Finding, told
from ledger.core.verifier import Verifier
from tests.ledger.core.verdicts import BOOK, FILES, anchor_of, verify


def test_every_report_says_what_it_cannot_prove():
    for report in (
        verify(BOOK.leaves),
        verify(BOOK.leaves, anchors=[anchor_of(BOOK)]),
        verify([b"rubbish"]),
    ):
        text = report.text()
        for line in report.unproved():
            assert line in text
        assert report.tail in text
        assert "never entered" in text
        assert report.to_json()["exit_code"] == report.exit_code


def test_the_list_of_findings_is_capped_and_the_rest_counted():
    count = FINDINGS_KEPT_MAX + 10
    report = verify([b"{}"] * count, files=())
    assert len(report.findings) == FINDINGS_KEPT_MAX
    assert report.findings_left_off == 10
    assert "and 10 more findings" in report.text()


def test_findings_of_others_join_the_report():
    verifier = Verifier()
    for leaf in BOOK.leaves:
        verifier.feed(leaf)
    verifier.add(Finding("schema", "trigger_missing", "A trigger is gone."))
    verifier.could_not_check("The mirror was not there.")
    report = verifier.finish(attachments=FILES)
    assert report.exit_code == 2
    assert "[schema/trigger_missing]" in report.text()
    assert "The mirror" in report.text()


def test_many_findings_of_one_code_are_told_by_their_beginning_and_number():
    findings = [Finding("link", "basis_root", "Another history.", n) for n in range(9)]
    findings.append(Finding("content", "leaf_hash", "Other bytes.", 3))
    lines = told(findings)
    assert sum("basis_root" in line for line in lines) == TOLD_OF_A_KIND + 1
    assert "... and 4 more of [link/basis_root]." in lines
    assert any("leaf_hash" in line for line in lines)
