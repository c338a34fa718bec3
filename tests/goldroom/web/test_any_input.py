"""Whatever is typed into an address or a box, the program itself never fails.

Every address of the resolver is asked with odd path parts, queries and methods, as an
officer and as the security manager; the forms of every third kind are sent odd boxes.
"""

import re
import uuid
from collections.abc import Iterator

import pytest
from django.urls import URLPattern, URLResolver, get_resolver

from goldroom.statements.registry import kinds

OFFICER, SECURITY = "p-amara", "p-soto"
DRAFT = "7d7b8c1e-0000-4000-8000-00000000000a"
ODD = (
    "", "0", "-1", "1e9", "9" * 30, "9" * 5000, "\N{ARABIC-INDIC DIGIT THREE}", "²",
    "nul\0nul", "\ud800".encode("utf-8", "surrogatepass"), "\u202egnp.rab", "'\"<b>&",
    "%s{0}{{7}}", "../../etc/hosts", "BAR-1", "0001-01-01", "9999-12-31",
    "2026-03-01", "1900-01-01T00:00", "9999-12-31T23:59:59-23:59", "0001-01-01T00:00",
    "2026-W01-1", "NaN", "1e999999", "[", "{" * 2000, "\n", " ", "step:",
    "LOAD-1", "#3", "S-0001", "p-amara:officer", ":", "null", "true",
)  # fmt: skip
ASKED = {
    "/find/": ("q",),
    "/holdings/": ("at",),
    "/items/BAR-1/": ("at",),
    "/journal/": ("before", "thing", "about", "from"),
    "/journal/3/proof": ("size",),
    "/month/": ("from", "as_known_at"),
    "/say/table.run/": ("products[99999].item",),
    "/say/record.corrected/": ("corrects",),
    "/sign-in/": ("next",),
}
METHODS = ("POST", "PUT", "PATCH", "DELETE", "HEAD", "OPTIONS", "TRACE", "ODD")
BOXES = (
    "d.products[999999].item", "d.products[-1].item", "d.products[0][0].item",
    "d.products[" + "9" * 5000 + "].item", "d.rows[²].x", "d.items", "d.mass.reading",
    "d." + "a." * 500, "d." + "[" * 500, "@occurred_at", "@signer_0", "@signer_1",
    "@signer_99", "@whole", "d.", "@", "d.values", "d.values.mass", "d.mode", "do",
    "d.\0", "d.\u202e",
)  # fmt: skip
DOES = (
    "keep", "check", "add:", "add:products", "drop:", "drop:products[0]", "drop:[[[",
    "drop:products[" + "9" * 5000 + "]", "leave:", "leave:x", "\0", "drop:products[²]",
)  # fmt: skip


def patterns(resolver: URLResolver, lead: str = "") -> Iterator[tuple[str, URLPattern]]:
    for each in resolver.url_patterns:
        here = lead + str(each.pattern)
        if isinstance(each, URLResolver):
            yield from patterns(each, here)
        else:
            yield here, each


ADDRESSES = sorted(
    {
        f"/{where}"
        for where, _ in patterns(get_resolver())
        if "^" not in where and "api/" not in where
    }
)
PARTS = {
    "int": ("3", "9" * 19, "9" * 5000),
    "uuid": (DRAFT,),
    "str": ("BAR-1", "%00", "%ED%A0%80", "a" * 2000, "record.corrected"),
}


def filled(address: str) -> Iterator[str]:
    """Yield an address with every odd part in every place, one after another."""
    found = re.search(r"<(\w+):\w+>", address)
    if found is None:
        yield address
        return
    for part in PARTS[found[1]]:
        yield from filled(address.replace(found[0], part, 1))


def never_fails(answer, *asked):
    assert answer.status_code < 500, asked
    return answer


@pytest.fixture
def told(told_once) -> None:
    """Tell the story; nothing here is changed but drafts."""


@pytest.mark.parametrize("person", [OFFICER, SECURITY])
@pytest.mark.parametrize("address", ADDRESSES)
def test_odd_parts_and_methods(told, signed_in_as, person, address):
    client = signed_in_as(person)
    *_, last = filled(address)
    for where in filled(address):
        never_fails(client.get(where), where)
        for method in METHODS if where == last else ():
            never_fails(client.generic(method, where), method, where)


@pytest.mark.parametrize("person", [OFFICER, SECURITY])
@pytest.mark.parametrize("address", ASKED)
def test_odd_queries(told, signed_in_as, person, address):
    client = signed_in_as(person)
    for name in ASKED[address]:
        for text in ODD:
            answer = client.get(address, {name: text, "to": "2026-03-31"})
            never_fails(answer, address, name, text)


def boxes_sent() -> dict[str, str]:
    return {name: ODD[n % len(ODD)] for n, name in enumerate(BOXES)}


@pytest.mark.parametrize("kind", [*sorted(kinds())[::3], "table.run"])
def test_odd_boxes(told, signed_in_as, kind):
    for person in (SECURITY,):
        client = signed_in_as(person)
        where = f"/say/{kind}/{uuid.uuid4()}/"
        for n, do in enumerate(DOES[:: 1 if kind == "table.run" else 6]):
            sent = {**boxes_sent(), "do": do}
            sent |= {name: ODD[(n + m) % len(ODD)] for m, name in enumerate(BOXES[:-2])}
            sent["do"] = do
            never_fails(client.post(where, sent), where, do)
        never_fails(client.get(where), where)
        never_fails(client.get("/"), where)
