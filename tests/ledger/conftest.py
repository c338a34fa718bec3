"""An invented mine with a ledger: people, keys, a policy, and ways to record."""

import uuid
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import pytest
from django.db import DatabaseError, connection, connections, transaction

from ledger import attachments, fence, nonces, proposals, read
from ledger.append import append, append_many, open_ledger
from ledger.core.base64text import to_base64
from ledger.core.entry import Signed, build_statement, sign
from ledger.core.merkle import EMPTY_ROOT
from ledger.core.signing import SigningKey, enrolled_key, new_nonce
from ledger.models import Entry
from ledger.proposal import Lapse

ORIGIN = "goldroom.example/kestrel-ridge/" + "7f3a91c2" * 4
NOON = datetime(2026, 9, 24, 12, 0, 0, 123456, tzinfo=UTC)

PEOPLE = {
    "ana": ("officer", "plant"),
    "wim": ("witness", "security"),
    "sol": ("security", "security"),
    "max": ("metallurgist", "laboratory"),
}
ROLES = {name: role for name, (role, line) in PEOPLE.items()}
ROLES["mill-gateway"] = "gateway"
POLICY = {
    "groups": [
        {
            "name": "room",
            "slots": [["officer"], ["witness", "security"]],
            "lines_differ": True,
        },
        {"name": "keys", "slots": [["security"], ["officer"]], "lines_differ": True},
    ],
    "kinds": [
        {"kind": "bar.weighed", "group": "room"},
        {"kind": "person.enrolled", "group": "keys"},
        {"kind": "key.revoked", "group": "keys"},
        {"kind": "policy.set", "group": "keys"},
    ],
    "basis_lag_entries": 50,
}
CLASSES = {
    "machine": ["cycle.recorded"],
    "single": ["metal.secured"],
    "server": ["record.lapsed"],
    "genesis": ["ledger.opened"],
}


def accept(context):
    """A check that finds nothing wrong."""


def keep_nothing(context, entry):
    """A projection without tables."""


def key_of(person):
    return SigningKey.from_seed(person.encode().ljust(32, b"."))


def enrolment(person, role, line, *, origin=ORIGIN, sort="person"):
    return {
        "person": person,
        "name": person.title(),
        "line": line,
        "roles": [role],
        "sort": sort,
        "key": enrolled_key(key_of(person), origin=origin, person=person),
    }


def genesis(origin=ORIGIN, policy=POLICY):
    """Return the signed statement that opens a ledger."""
    gateway = enrolment("mill-gateway", "gateway", "plant", origin=origin)
    persons = [enrolment(name, *PEOPLE[name], origin=origin) for name in PEOPLE]
    persons.append({**gateway, "sort": "gateway"})
    statement = build_statement(
        kind="ledger.opened",
        sign_class="genesis",
        entry_id=str(uuid.uuid5(uuid.NAMESPACE_URL, origin)),
        origin=origin,
        occurred_at="2026-09-24T06:00:00+02:00",
        basis={"root": to_base64(EMPTY_ROOT), "size": 0},
        signers=[
            {
                "key": item["key"]["id"],
                "meaning": "opened the ledger",
                "person": item["person"],
                "role": item["roles"][0],
            }
            for item in persons
        ],
        data={
            "site": "Kestrel Ridge (invented)",
            "demo": True,
            "production_day_start": "06:00",
            "time_zone": "Africa/Johannesburg",
            "log_key": to_base64(key_of("log").spki),
            "persons": persons,
            "policy": policy,
            "classes": CLASSES,
        },
    )
    signatures = [
        sign(statement, key_of(item["person"]), nonce=new_nonce()) for item in persons
    ]
    return Signed(statement, tuple(signatures))


class Site:
    """One ledger in the test's database, and a clock that the test moves."""

    def __init__(self, origin=ORIGIN, policy=POLICY):
        self.now = NOON
        self.calls = {"check": accept, "project": keep_nothing}
        opened = open_ledger(genesis(origin, policy), now=self.now, **self.calls)
        self.genesis = opened.entry
        self.ledger = read.get_ledger(origin)
        self.id = self.ledger.id

    def tick(self, **step):
        self.now += timedelta(**(step or {"seconds": 30}))

    def statement(self, *persons, mass_g="812.40", **given):
        """Return a statement that `persons` (ana and wim) will sign."""
        fields = {
            "kind": "bar.weighed",
            "entry_id": str(uuid.uuid4()),
            "origin": self.ledger.origin,
            "occurred_at": "2026-09-24T13:59:00+02:00",
            "basis": read.basis(self.id),
            "data": {"bar": "KR-0412", "gross_mass_g": mass_g},
            "signers": [
                {
                    "key": key_of(person).key_id,
                    "meaning": "weighed and recorded",
                    "person": person,
                    "role": ROLES.get(person, "witness"),
                }
                for person in persons or ("ana", "wim")
            ],
        }
        return build_statement(**{**fields, **given})

    def signature(self, statement, person, nonce=None):
        nonce = nonce or nonces.issue(self.id, self.now)
        return sign(statement, key_of(person), nonce=nonce)

    def signed(self, statement=None, **given):
        statement = statement or self.statement(**given)
        persons = [signer["person"] for signer in statement["signers"]]
        return Signed(
            statement, tuple(self.signature(statement, name) for name in persons)
        )

    def append(self, signed=None, **calls):
        return append(
            self.id, signed or self.signed(), now=self.now, **{**self.calls, **calls}
        )

    def append_many(self, statements, **calls):
        return append_many(self.id, statements, now=self.now, **{**self.calls, **calls})

    def enrolment(self, person, role="witness", line="security"):
        """Return a new person's enrolment, signed by sol and ana."""
        data = enrolment(person, role, line, origin=self.ledger.origin)
        data["identity_check"] = "known to both, passport seen"
        statement = self.statement("sol", "ana", kind="person.enrolled", data=data)
        return self.signed(statement)


@pytest.fixture
def site(fresh_db):
    return Site()


@pytest.fixture
def new_site(fresh_db):
    """Make ledgers of other origins in the test's database."""
    return Site


@pytest.fixture
def given():
    """The invented mine's parts, for tests that put them together otherwise."""
    return SimpleNamespace(
        origin=ORIGIN,
        policy=POLICY,
        people=PEOPLE,
        now=NOON,
        key_of=key_of,
        genesis=genesis,
        accept=accept,
        keep_nothing=keep_nothing,
    )


ON_SQLITE = connections["default"].vendor == "sqlite"
TABLES = ("ledger_ledger", "ledger_entry", "ledger_attachment", "ledger_head")


@pytest.fixture
def dozen(site, settings):
    """A ledger of twelve entries of every sort, with two files."""
    settings.LEDGER_PROJECTIONS = []
    for content in (b"sheet", b"a photo"):
        cited = attachments.put(site.id, content, name="a.bin", media="image/png")
        site.append(site.signed(attachments=[cited]))
    site.append(site.enrolment("tam"))
    statement = site.statement()
    first = site.signature(statement, "ana")
    proposals.propose(site.id, statement, first, now=site.now)
    proposals.refuse(
        site.id, statement["entry_id"], Lapse(), now=site.now, **site.calls
    )
    for _ in range(7):
        site.tick()
        site.append()
    assert Entry.objects.count() == 12
    return site


def take_fence_down():
    """Drop every row trigger of the record, and the checks between tables."""
    with connection.cursor() as cursor:
        if ON_SQLITE:
            cursor.execute("PRAGMA foreign_keys = OFF")
        else:
            cursor.execute("SET session_replication_role = replica")
        for table in TABLES:
            for event in ("insert", "update", "delete"):
                on = "" if ON_SQLITE else f" ON {table}"
                cursor.execute(f"DROP TRIGGER {table}_{event}{on}")


def put_fence_up():
    """Put the triggers up again, as one who wants to hide what was done."""
    connection.close()
    fence.install(connection)


@pytest.fixture
def tamper():
    """Change rows as an owner of the database can: fence down, change, fence up."""

    def change_rows(*changes):
        """Return False if the schema alone refuses the changes."""
        take_fence_down()
        applied = True
        try:
            with transaction.atomic(), connection.cursor() as cursor:
                for sql, parameters in changes:
                    cursor.execute(sql, parameters)
                    assert cursor.rowcount > 0
        except DatabaseError:
            applied = False
        put_fence_up()
        return applied

    return change_rows


@pytest.fixture
def fence_down():
    """Take the fence down and put it up again."""
    return SimpleNamespace(take_down=take_fence_down, put_up=put_fence_up)
