"""Files that entries cite."""

import hashlib

import pytest

from ledger import attachments
from ledger.errors import AttachmentMismatch, NoSuchEntry
from ledger.models import Attachment, WorkAttachment

SCAN = b"an ink-signed sheet, scanned"


def put(site, content=SCAN):
    return attachments.put(
        site.id, content, name="sheet 0412.pdf", media="application/pdf"
    )


def test_a_file_is_cited_by_digest_size_name_and_media_type(site):
    assert put(site) == {
        "media": "application/pdf",
        "name": "sheet 0412.pdf",
        "sha256": hashlib.sha256(SCAN).hexdigest(),
        "size": len(SCAN),
    }


def test_a_cited_file_moves_into_the_record_with_the_entry(site):
    cited = put(site)
    site.append(site.signed(attachments=[cited]))
    assert attachments.content(site.id, cited["sha256"]) == SCAN
    assert not WorkAttachment.objects.exists()


def test_a_file_uploaded_twice_and_cited_twice_is_kept_once(site):
    cited = put(site)
    put(site)
    site.append(site.signed(attachments=[cited]))
    site.append(site.signed(attachments=[cited]))
    put(site)
    site.append(site.signed(attachments=[cited]))
    assert Attachment.objects.count() == 1
    assert not WorkAttachment.objects.exists()


@pytest.mark.parametrize("change", [{"sha256": "0" * 64}, {"size": 7}])
def test_a_file_that_was_not_uploaded_as_cited_is_refused(site, change):
    cited = {**put(site), **change}
    with pytest.raises(AttachmentMismatch, match="sheet 0412"):
        site.append(site.signed(attachments=[cited]))
    assert not Attachment.objects.exists()


def test_a_wrong_size_is_refused_also_for_a_file_on_record(site):
    cited = put(site)
    site.append(site.signed(attachments=[cited]))
    with pytest.raises(AttachmentMismatch):
        site.append(site.signed(attachments=[{**cited, "size": 7}]))


def test_a_file_nobody_cites_is_not_on_record(site):
    cited = put(site)
    site.append()
    with pytest.raises(NoSuchEntry):
        attachments.content(site.id, cited["sha256"])
