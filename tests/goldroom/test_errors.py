"""Refusals: a stable code each, a message, and the field it speaks of."""

import inspect

import pytest

from goldroom import errors

REFUSALS = [
    kind
    for _, kind in inspect.getmembers(errors, inspect.isclass)
    if issubclass(kind, errors.Refusal)
]


def test_refusal_says_its_message_and_names_its_field():
    refusal = errors.BareOunce("write ozt", field="unit")
    assert str(refusal) == refusal.message == "write ozt"
    assert (refusal.code, refusal.field) == ("bare_ounce", "unit")
    assert errors.Refusal("no").field == ""


def test_every_refusal_has_its_own_code():
    codes = [kind.code for kind in REFUSALS]
    assert len(set(codes)) == len(codes)


@pytest.mark.parametrize("kind", REFUSALS)
def test_refusal_is_documented_and_its_code_is_its_name(kind):
    assert kind.__doc__
    run_together = kind.code.replace("_", "")
    assert kind is errors.Refusal or run_together == kind.__name__.lower()
