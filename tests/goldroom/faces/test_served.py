"""How a site is served is told as it is: variables, addresses, the demo's users."""

import re
from pathlib import Path

import pytest
from django.urls import resolve

from goldroom import settings as ours
from goldroom.demo import mine
from goldroom.faces import checks

ROOT = Path(__file__).resolve().parents[3]
README = (ROOT / "README.md").read_text(encoding="utf-8")
SETTINGS = Path(ours.__file__).read_text(encoding="utf-8")
VARIABLE = r"GOLDROOM_[A-Z]+(?:_[A-Z]+)*"


def test_readme_and_settings_tell_of_every_variable_that_is_read():
    _, docstring, code = SETTINGS.split('"""', 2)
    read = set(re.findall(rf'"({VARIABLE})"', code))
    assert len(read) > 8
    assert set(re.findall(rf"^    ({VARIABLE})  ", docstring, re.MULTILINE)) == read
    assert set(re.findall(rf"^\| `({VARIABLE})` \|", README, re.MULTILINE)) == read


def test_idle_minutes_and_secret_are_told_as_they_are_checked():
    low, high = checks.IDLE_MINUTES_MIN, checks.IDLE_MINUTES_MAX
    assert f"{low} to {high} (15)" in README
    assert f"{checks.SECRET_MIN} characters or more" in README


@pytest.mark.parametrize("place", ["/health/live", "/health/ready"])
def test_addresses_of_health_are_told(place):
    assert f"`{place}`" in README
    assert resolve(place).view_name.startswith("health_")


def test_the_demos_users_are_told_by_their_names_and_duties():
    people = {member.person: member for member in mine.PEOPLE}
    told = dict(re.findall(r"^\| (\w+ \w+) \| ([\w ]+) \| .+\|$", README, re.MULTILINE))
    for person, duty in (
        (mine.OFFICERS[0], "gold room officer"),
        (mine.SECURITY[0], "security manager"),
        (mine.ACCOUNTANT, "accountant"),
    ):
        assert told[people[person].name] == duty
    assert people[mine.WITNESSES[0]].name in README


def test_pages_come_before_commands_and_opening_a_ledger():
    places = [
        README.index(heading)
        for heading in (
            "## Two commands",
            "## The pages",
            "## The first hour of the gold room officer",
            "## Running it for a site",
        )
    ]
    assert places == sorted(places)
    section = README.split("## The pages")[1].split("\n## ")[0]
    typed = [line[4:] for line in section.splitlines() if line.startswith("    ")]
    assert typed == [". var/demo/environment", ".venv/bin/python manage.py runserver"]


def test_a_check_is_told_under_its_own_id():
    source = Path(checks.__file__).read_text(encoding="utf-8")
    _, docstring, code = source.split('"""', 2)
    made = re.findall(r'id="(goldroom\.[EW]\d{3})"', code)
    assert sorted(made) == sorted(set(made)), "one id, one meaning"
    assert set(re.findall(r"goldroom\.[EW]\d{3}", docstring)) == set(made)
