"""The way out of a ledger."""

import pytest

from ledger import read
from ledger.core.base64text import from_base64
from ledger.core.merkle import tree_root
from ledger.errors import NoSuchEntry, NoSuchLedger


def test_a_ledger_is_found_by_slug_and_by_origin(site, given):
    assert site.ledger.slug == "kestrel-ridge"
    assert read.get_ledger("kestrel-ridge") == read.get_ledger(given.origin)
    assert read.ledgers() == [site.ledger]


def test_an_unknown_ledger_is_refused_naming_those_there_are(site):
    with pytest.raises(NoSuchLedger, match="kestrel-ridge"):
        read.get_ledger("kestrel")
    with pytest.raises(NoSuchLedger):
        read.head(99)


def test_entries_come_in_order_and_by_range(site):
    for _ in range(4):
        site.append()
    assert [entry.seq for entry in read.entries(site.id)] == [0, 1, 2, 3, 4]
    assert [entry.seq for entry in read.entries(site.id, 2, 4)] == [2, 3]
    assert [entry.seq for entry in read.entries(site.id, 3, 99)] == [3, 4]


def test_an_entry_is_found_by_place_and_by_id(site):
    appended = site.append()
    assert read.entry(site.id, 1) == appended.entry
    assert read.entry_by_id(site.id, appended.entry.entry_id) == appended.entry


def test_an_entry_that_is_not_there_is_refused(site):
    with pytest.raises(NoSuchEntry):
        read.entry(site.id, 1)
    with pytest.raises(NoSuchEntry):
        read.entry_by_id(site.id, "none")


def test_the_basis_is_the_root_of_all_entries(site):
    site.append()
    hashes = [entry.leaf_hash for entry in read.entries(site.id)]
    basis = read.basis(site.id)
    assert basis["size"] == 2
    assert from_base64(basis["root"]) == tree_root(hashes)


def test_the_keyring_is_that_of_the_next_entry(site):
    site.append(site.enrolment("tam"))
    ring = read.keyring(site.id)
    assert ring.size == 2
    assert ring.person("tam").roles == ("witness",)
    site.append()
    assert read.keyring(site.id).size == 3
