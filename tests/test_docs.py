"""Documents are tested too: what they say is what the code does."""

import re
from pathlib import Path

import pytest

from tests import reference

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_reference_in_developers_is_what_the_code_says():
    assert reference.replaced(DEVELOPERS) == DEVELOPERS, (
        "run: python -m tests.reference"
    )


def test_readme_opens_with_the_job_and_gives_exactly_two_commands():
    opening = README.split("\n\n")[1]
    for user in ("gold room officer", "security\nmanager", "accountant"):
        assert user in opening
    section = README.split("## Two commands")[1].split("\n## ")[0]
    commands = [line[4:] for line in section.splitlines() if line.startswith("    ")]
    assert commands == [
        'python3 -m venv .venv && .venv/bin/pip install -e ".[test]"'
        " && .venv/bin/python manage.py demo",
        ".venv/bin/pytest",
    ]


@pytest.mark.parametrize("document", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_commands_named_in_documents_exist(document):
    named = set(re.findall(r"manage\.py (\w+)", document))
    of_django = {"check", "makemigrations", "migrate", "runserver"}
    assert named - of_django <= set(reference.commands())


def test_readme_says_every_exit_code_and_what_cannot_be_proved():
    for words in ("exit code 0", "Exit code 0", "3: verified", "2: evidence"):
        assert words in README
    section = README.split("## What the record cannot prove")[1].split("\n## ")[0]
    assert len(re.findall(r"^\d\. ", section, flags=re.MULTILINE)) == 6


@pytest.mark.parametrize(
    "path",
    [
        path
        for folder in ("ledger", "goldroom", "tests", "fixtures", ".ci")
        for path in sorted((ROOT / folder).rglob("*"))
        if path.suffix in {".py", ".md", ".txt", ""} and path.is_file()
    ]
    + [ROOT / "README.md", ROOT / "DEVELOPERS.md"],
    ids=lambda path: str(path.relative_to(ROOT)),
)
def test_no_file_leaves_work_undone_or_names_a_machine(path):
    text = path.read_text(encoding="utf-8", errors="replace")
    if path == Path(__file__).resolve():
        return
    found = re.findall(
        r"TODO|FIXME|XXX|raise NotImplemented|pragma: no cover"
        r"|mark\.(?:skip|xfail)",
        text,
    )
    places = {Path.home(), ROOT} - {Path("/")}
    found += [str(place) for place in places if f"{place}/" in text]
    assert not found, found
