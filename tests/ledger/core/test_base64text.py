import pytest

from ledger.core.base64text import from_base64, from_base64url, to_base64, to_base64url
from ledger.core.errors import MalformedBase64

RFC_4648 = [
    pytest.param(octets, text, id=octets.decode() or "empty", marks=mark)
    for mark in [pytest.mark.source("RFC 4648 section 10 (from memory, reproduced)")]
    for octets, text in [
        (b"", ""),
        (b"f", "Zg=="),
        (b"fo", "Zm8="),
        (b"foo", "Zm9v"),
        (b"foob", "Zm9vYg=="),
        (b"fooba", "Zm9vYmE="),
        (b"foobar", "Zm9vYmFy"),
    ]
]


@pytest.mark.parametrize(("octets", "text"), RFC_4648)
def test_published_texts_are_written_and_read(octets, text):
    assert to_base64(octets) == text
    assert from_base64(text) == octets
    assert from_base64url(text.rstrip("=")) == octets


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("Zh==", id="spare bits set"),
        pytest.param("Zm9=", id="spare bits set in two characters"),
        pytest.param("Zg", id="no padding"),
        pytest.param("Zg=", id="half the padding"),
        pytest.param("Zg===", id="too much padding"),
        pytest.param("Zg==\n", id="line feed at the end"),
        pytest.param("Zm9v\nYmFy", id="line feed inside"),
        pytest.param(" Zg==", id="space"),
        pytest.param("Zg==Zg==", id="two texts in one"),
        pytest.param("Zm9-", id="other alphabet"),
        pytest.param("Zм8=", id="look-alike letter"),
        pytest.param("====", id="padding alone"),
    ],
)
def test_any_other_spelling_is_refused(text):
    with pytest.raises(MalformedBase64):
        from_base64(text)


@pytest.mark.parametrize("text", ["Zg==", "Zh", "Zm9v+", "Z", "Zg\n", "/w"])
def test_any_other_url_spelling_is_refused(text):
    with pytest.raises(MalformedBase64):
        from_base64url(text)


@pytest.mark.parametrize("value", [None, 7, b"Zg==", ["Zg=="]])
def test_what_is_no_text_is_refused(value):
    with pytest.raises(MalformedBase64):
        from_base64(value)


def test_another_number_of_bytes_is_refused_with_the_field():
    with pytest.raises(MalformedBase64) as refused:
        from_base64("Zm9v", size=32, field="basis.root")
    assert refused.value.field == "basis.root"
    assert "expected 32 bytes, found 3" in refused.value.message


def test_every_length_goes_both_ways():
    for length in range(70):
        octets = bytes((7 * n) % 256 for n in range(length))
        assert from_base64(to_base64(octets)) == octets
        assert from_base64url(to_base64url(octets)) == octets
