"""Recording through the forms, and signing by two on one screen."""

import re

import pytest
from django.test import Client

from goldroom import commands
from goldroom.faces.models import Draft
from ledger import attachments, proposals, read
from tests.goldroom.web.conftest import PASSPHRASE


def form_of(client, kind="room.entered", **asked):
    """Return the address of a new form."""
    answer = client.get(f"/say/{kind}/", asked)
    assert answer.status_code == 302
    return answer["Location"]


def filled(**more):
    """Return the boxes of a form that can be signed."""
    return {
        "@occurred_at": "2026-03-02T08:00",
        "@signer_0": "p-amara:officer",
        "@signer_1": "p-leith:witness",
        "d.place": "gold-room",
        "d.persons": "p-amara p-leith",
        "d.purpose": "to run the table",
        "do": "check",
        **more,
    }


def signed(client, place, person, passphrase=PASSPHRASE):
    """Send one signature, for what the page shows now."""
    read_now = re.search(r'name="as_read" value="(\w+)"', client.get(place).text)
    sent = {"person": person, "passphrase": passphrase}
    if read_now is not None:
        sent["as_read"] = read_now[1]
    return client.post(place, sent)


def test_a_form_changed_after_it_was_read_is_not_signed(room_with_keys, signed_in_as):
    client = signed_in_as("p-amara")
    address = form_of(client)
    place = client.post(address, filled())["Location"]
    was_read = re.search(r'name="as_read" value="(\w+)"', client.get(place).text)[1]
    client.post(address, filled(**{"d.purpose": "to pour a bar"}))
    sent = {"person": "p-amara", "passphrase": PASSPHRASE, "as_read": was_read}
    answer = client.post(place, sent)
    assert answer.status_code == 422
    assert "was changed since this page was shown" in answer.text
    assert "to pour a bar" in answer.text
    assert not proposals.waiting(room_with_keys.ledger_id)


def test_a_form_changed_after_it_was_signed_says_so(room_with_keys, signed_in_as):
    client = signed_in_as("p-amara")
    address = form_of(client)
    place = client.post(address, filled())["Location"]
    signed(client, place, "p-amara")
    answer = client.post(address, filled(**{"d.purpose": "to pour a bar"}))
    assert answer.status_code == 422
    assert "This form was signed already" in answer.text
    assert "to pour a bar" in answer.text, "what was typed is not lost"
    assert "to run the table" in client.get(place).text


def test_two_sign_on_one_screen_and_it_is_an_entry(room_with_keys, signed_in_as):
    size = read.head(room_with_keys.ledger_id).size
    client = signed_in_as("p-amara")
    answer = client.post(form_of(client), filled())
    place = answer["Location"]
    shown = client.get(place).content.decode()
    assert "to run the table" in shown
    assert "not yet recorded" in shown
    assert signed(client, place, "p-amara")["Location"] == place
    shown = client.get(place).content.decode()
    assert "Waiting for a signature" in shown
    assert "Leith Invented" in shown
    assert read.head(room_with_keys.ledger_id).size == size
    assert signed(client, place, "p-leith")["Location"] == f"/journal/{size}/?signed=1"
    entry = read.entry(room_with_keys.ledger_id, size)
    assert [each["person"] for each in entry.statement["signers"]] == [
        "p-amara",
        "p-leith",
    ]
    assert client.session.get("_auth_user_id"), "the first person stays signed in"
    assert not Draft.objects.exists()


def test_sent_twice_it_is_recorded_once(room_with_keys, signed_in_as):
    client = signed_in_as("p-amara")
    address = form_of(client)
    place = client.post(address, filled())["Location"]
    assert client.post(address, filled())["Location"] == place
    for _ in range(2):
        signed(client, place, "p-amara")
    assert len(proposals.waiting(room_with_keys.ledger_id)) == 1
    first = signed(client, place, "p-leith")["Location"]
    again = signed(client, place, "p-leith")["Location"]
    assert first.partition("?")[0] == again.partition("?")[0]
    assert client.get(place)["Location"] == first.partition("?")[0]


def test_all_that_is_wrong_is_shown_at_its_box_and_nothing_is_lost(
    room_with_keys, signed_in_as
):
    client = signed_in_as("p-amara")
    address = form_of(client, "hopper.weighed")
    sent = {
        "@occurred_at": "2026-03-02T08:00",
        "@signer_0": "p-amara:officer",
        "d.load": "LD 1",
        "d.gross.reading": "20x7",
        "d.gross.instrument": "LC1",
        "d.settled_kg_m3": "2,5",
        "do": "check",
    }
    answer = client.post(address, sent)
    assert answer.status_code == 422
    shown = answer.content.decode()
    summary = shown[shown.index('class="problems"') : shown.index("</section>")]
    places = re.findall(r'href="#([^"]+)"', summary)
    assert places
    assert all(f'id="{each}"' in shown for each in places)
    assert {"box-load", "box-hopper", "box-mark", "box-signer-1"} <= {
        each.replace("--", "-") for each in places
    }
    for typed in ("LD 1", "20x7", "2,5"):
        assert typed in shown
    assert "data-focus" in shown
    again = client.get(address).content.decode()
    assert "20x7" in again, "it comes back after the browser's Back"


def test_a_refusal_of_the_rules_is_shown_in_the_form(room_with_keys, signed_in_as):
    client = signed_in_as("p-amara")
    answer = client.post(form_of(client), filled(**{"d.place": "attic"}))
    assert answer.status_code == 422
    assert "attic" in answer.content.decode()
    answer = client.post(
        form_of(client), filled(**{"@occurred_at": "2999-01-01T00:00"})
    )
    assert answer.status_code == 422
    assert 'href="#box--occurred-at"' in answer.content.decode()


def test_a_wrong_passphrase_signs_nothing_and_five_lock(room_with_keys, signed_in_as):
    client = signed_in_as("p-amara")
    place = client.post(form_of(client), filled())["Location"]
    for _ in range(5):
        answer = signed(client, place, "p-amara", "guess")
        assert answer.status_code == 422
    answer = signed(client, place, "p-amara")
    assert "15 minutes" in answer.content.decode()
    assert proposals.waiting(room_with_keys.ledger_id) == []


def test_nobody_signs_twice_or_for_another(room_with_keys, signed_in_as):
    client = signed_in_as("p-amara")
    answer = client.post(form_of(client), filled(**{"@signer_1": "p-amara:officer"}))
    assert answer.status_code == 422
    place = client.post(form_of(client), filled())["Location"]
    assert signed(client, place, "p-soto").status_code == 422
    signed(client, place, "p-amara")
    assert signed(client, place, "p-soto").status_code == 422


def test_the_second_may_sign_from_a_sign_in_of_their_own(room_with_keys, signed_in_as):
    client = signed_in_as("p-amara")
    place = client.post(form_of(client), filled())["Location"]
    signed(client, place, "p-amara")
    other = signed_in_as("p-leith")
    assert place in other.get("/").content.decode()
    assert "/journal/" in signed(other, place, "p-leith")["Location"]


def test_the_second_may_refuse_with_a_reason(room_with_keys, signed_in_as):
    client = signed_in_as("p-amara")
    place = client.post(form_of(client), filled())["Location"]
    signed(client, place, "p-amara")
    other = signed_in_as("p-leith")
    assert other.post(f"{place}back/", {"detail": ""}).status_code == 422
    answer = other.post(f"{place}back/", {"detail": "I was not there"})
    seq = int(answer["Location"].strip("/").rpartition("/")[2])
    entry = read.entry(room_with_keys.ledger_id, seq)
    assert (entry.kind, entry.data["reason"]) == ("record.lapsed", "refused")
    assert client.get(place).status_code == 400
    assert "lapsed" in client.get(place).content.decode()


def test_a_file_is_cited_and_signed(room_with_keys, signed_in_as, tmp_path):
    client = signed_in_as("p-amara")
    address = form_of(client)
    path = tmp_path / "door.txt"
    path.write_text("as the door log has it")
    with path.open("rb") as file:
        place = client.post(address, filled(files=file))["Location"]
    signed(client, place, "p-amara")
    signed(client, place, "p-leith")
    last = read.head(room_with_keys.ledger_id).size - 1
    cited = read.entry(room_with_keys.ledger_id, last).statement["attachments"]
    kept = attachments.content(room_with_keys.ledger_id, cited[0]["sha256"])
    assert kept == b"as the door log has it"


def test_a_figure_changed_after_its_check_keeps_the_first(room_with_keys, signed_in_as):
    client = signed_in_as("p-soto")
    address = form_of(client, "place.registered")
    sent = {
        "@occurred_at": "2026-03-02T08:00",
        "@signer_0": "p-soto:security",
        "@signer_1": "p-okoro:manager",
        "d.place": "store-2",
        "d.name": "41",
        "d.sort": "store",
        "do": "check",
    }
    place = client.post(address, sent)["Location"]
    client.get(place)
    assert client.post(address, {**sent, "d.name": "42"})["Location"] == place
    signed(client, place, "p-soto")
    signed(client, place, "p-okoro")
    last = read.head(room_with_keys.ledger_id).size - 1
    entry = read.entry(room_with_keys.ledger_id, last)
    assert entry.data["name"] == "42"
    (cited,) = entry.statement["attachments"]
    kept = attachments.content(room_with_keys.ledger_id, cited["sha256"]).decode()
    assert '"first": "41"' in kept


def test_a_form_that_nobody_typed_into_is_not_listed(room_with_keys, signed_in_as):
    client = signed_in_as("p-amara")
    address = form_of(client)
    assert address not in client.get("/").content.decode()
    client.post(address, filled(do="keep"))
    assert address in client.get("/").content.decode()
    client.post(address, {"do": "forget"})
    assert address not in client.get("/").content.decode()


def test_rows_are_added_and_left_out_without_losing_a_box(room_with_keys, signed_in_as):
    client = signed_in_as("p-amara")
    address = form_of(client)
    sent = filled(**{"d.visitors[0].name": "Ida (invented)", "do": "add:visitors"})
    shown = client.post(address, sent).content.decode()
    assert 'name="d.visitors[1].name"' in shown
    assert "Ida (invented)" in shown
    both = {**sent, "d.visitors[1].name": "Ebo (invented)", "do": "drop:visitors[0]"}
    shown = client.post(address, both).content.decode()
    assert "Ebo (invented)" in shown
    assert "Ida (invented)" not in shown


def test_what_was_typed_comes_back_after_the_session_was_over(
    room_with_keys, signed_in_as
):
    address = form_of(signed_in_as("p-amara"))
    stranger = Client()
    answer = stranger.post(address, filled())
    assert answer.status_code == 401
    sealed = re.search(r'name="typed" value="([^"]+)"', answer.content.decode())
    assert sealed is not None

    sent = {
        "who": f"{ledger_slug(room_with_keys)}:p-amara",
        "passphrase": PASSPHRASE,
        "next": address,
        "typed": sealed[1],
    }

    assert stranger.post("/sign-in/", sent)["Location"] == address
    assert "to run the table" in stranger.get(address).content.decode()


def ledger_slug(room):
    """Return the slug of a room's ledger."""
    (ledger,) = [each for each in read.ledgers() if each.pk == room.ledger_id]
    return ledger.slug


def test_a_mass_or_a_seals_number_is_never_carried_over(told_once, signed_in_as):
    client = signed_in_as("p-amara")
    for kind in ("hopper.weighed", "bar.numbered", "hopper.emptied"):
        shown = client.get(form_of(client, kind)).content.decode()
        for name, value in re.findall(r'name="d\.([^"]+)" value="([^"]+)"', shown):
            assert not name.endswith((".reading", "seal", "stamped")), (name, value)


def test_the_usual_range_is_not_on_the_form(told_once, signed_in_as):
    client = signed_in_as("p-amara")
    assert (
        "usually" not in client.get(form_of(client, "hopper.weighed")).content.decode()
    )


def test_a_script_in_a_name_is_text(room_with_keys, signed_in_as):
    client = signed_in_as("p-amara")
    evil = "<script>alert(1)</script>"
    place = client.post(form_of(client), filled(**{"d.purpose": evil}))["Location"]
    shown = client.get(place).content.decode()
    assert evil not in shown
    assert "&lt;script&gt;" in shown


def test_every_kind_has_a_form_that_can_be_shown(told_once, signed_in_as):
    from goldroom.statements.registry import kinds

    client = signed_in_as("p-soto")
    for kind in sorted(kinds()):
        if kind == "record.corrected":
            continue
        address = form_of(client, kind)
        assert client.get(address).status_code == 200, kind
        assert client.post(address, {"do": "check"}).status_code == 422, kind


def test_a_correction_begins_with_what_was_said(room_with_keys, signed_in_as):
    client = signed_in_as("p-amara")
    place = client.post(form_of(client), filled())["Location"]
    signed(client, place, "p-amara")
    signed(client, place, "p-leith")
    size = read.head(room_with_keys.ledger_id).size
    wrong = read.entry(room_with_keys.ledger_id, size - 1).entry_id
    address = form_of(client, "record.corrected", corrects=wrong, mode="void")
    assert "to run the table" in client.get(address).content.decode()
    sent = {
        "@occurred_at": "2026-03-02T09:00",
        "@signer_0": "p-amara:officer",
        "@signer_1": "p-okoro:manager",
        "d.mode": "void",
        "d.reason": "the wrong room",
        "do": "check",
    }
    place = client.post(address, sent)["Location"]
    signed(client, place, "p-amara")
    signed(client, place, "p-okoro")
    entry = read.entry(room_with_keys.ledger_id, size)
    assert entry.statement["corrects"]["entry"] == wrong


@pytest.mark.parametrize("path", ["/say/no.kind/", "/sign/not-a-uuid/", "/say/x/y/"])
def test_an_address_of_nothing_says_what_to_do(told_once, signed_in_as, path):
    answer = signed_in_as("p-amara").get(path)
    assert answer.status_code in (400, 404)
    assert "<h1>" in answer.content.decode()


def test_commands_check_keeps_nothing(room_with_keys):
    saying = room_with_keys.saying(
        "room.entered", {"place": "gold-room", "persons": ["p-amara", "p-leith"]}
    )
    before = read.head(room_with_keys.ledger_id).size
    said = commands.check(room_with_keys.ledger_id, saying)
    assert said["kind"] == "room.entered"
    assert read.head(room_with_keys.ledger_id).size == before
    assert proposals.waiting(room_with_keys.ledger_id) == []


def test_a_form_of_no_kind_is_not_restored(room_with_keys, signed_in_as):
    address = form_of(signed_in_as("p-amara")).replace("room.entered", "no.kind")
    stranger = Client()
    answer = stranger.post(address, filled())
    sealed = re.search(r'name="typed" value="([^"]+)"', answer.content.decode())
    sent = {
        "who": f"{ledger_slug(room_with_keys)}:p-amara",
        "passphrase": PASSPHRASE,
        "typed": sealed[1] if sealed else "",
    }
    stranger.post("/sign-in/", sent)
    assert stranger.get("/").status_code == 200
    assert not Draft.objects.filter(kind="no.kind").exists()
