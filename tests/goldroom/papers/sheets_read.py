"""Papers read back by other programs: text, code, attached figures."""

import io
import json
import subprocess

from pypdf import PdfReader

from goldroom.reports.entry import entries_told, mark


def draw(paper, report, ledger_id):
    """Return the paper of a report, drawn twice and the same both times."""
    told = tuple(entries_told(ledger_id, report.seqs).values())
    first, again = (paper(report, mark(ledger_id), told) for _ in range(2))
    assert first == again
    return first, told


def read_by_pypdf(pdf):
    """Return the text with its line ends as spaces."""
    return " ".join(
        " ".join(
            page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages
        ).split()
    )


def read_by_pdftotext(pdf):
    """Return the text as another program reads it."""
    done = subprocess.run(
        ["pdftotext", "-layout", "-", "-"], input=pdf, capture_output=True, check=True
    )
    return " ".join(done.stdout.decode().split())


def code_in(pdf, folder):
    """Return what the first page's code says, by zbarimg."""
    (folder / "a.pdf").write_bytes(pdf)
    subprocess.run(
        ["pdftoppm", "-r", "150", "-png", "-singlefile", "-l", "1", "a.pdf", "a"],
        cwd=folder,
        check=True,
    )
    done = subprocess.run(
        ["zbarimg", "-q", "--raw", "-Sbinary", "a.png"],
        cwd=folder,
        capture_output=True,
        check=True,
    )
    return done.stdout.decode().rstrip("\n")


def figures_in(pdf):
    """Return the attached figures."""
    (content,) = PdfReader(io.BytesIO(pdf)).attachments["figures.json"]
    return json.loads(content)


def check_paper(paper, report, ledger_id, folder, *, wanted):
    """Check what every sheet must hold; return its text."""
    pdf, told = draw(paper, report, ledger_id)
    assert figures_in(pdf) == report.to_json()
    texts = (read_by_pypdf(pdf), read_by_pdftotext(pdf))
    for text in texts:
        for each in told:
            assert each.leaf_hash in text
            for signer in each.signers:
                assert signer.name.split()[0] in text
        for part in (*wanted, "rescue never waits for a signature", "page 1 of"):
            assert part in text, part
    code = code_in(pdf, folder)
    assert code in {f"GOLDROOM:ENTRY {e.seq} {e.leaf_hash[:32].upper()}" for e in told}
    return texts[0]
