"""A ledger's policies in words: what a checker should trust, and who may sign what."""

from typing import Any

from goldroom.roles import completed_policy
from ledger import read


def signing_rules(ledger_id: int) -> dict[str, Any]:
    """Return who may sign what now, as a `policy.set` says it."""
    ring = read.keyring(ledger_id)
    assert ring.policy is not None
    assert ring.classes is not None
    policy = {
        "basis_lag_entries": ring.policy.basis_lag_entries,
        "groups": [
            {
                "name": name,
                "slots": [list(slot) for slot in group.slots],
                "lines_differ": group.lines_differ,
            }
            for name, group in sorted(ring.policy.groups.items())
        ],
        "kinds": [
            {"kind": kind, "group": group}
            for kind, group in sorted(ring.policy.kinds.items())
        ],
    }
    classes = {
        name: sorted(kinds) for name, kinds in sorted(ring.classes.kinds.items())
    }
    return {"policy": policy, "classes": classes}


def kinds_without_rule(ledger_id: int) -> list[str]:
    """Return the kinds known here for which the ledger's policy has no rule."""
    now = signing_rules(ledger_id)["policy"]
    had = {each["kind"] for each in now["kinds"]}
    return [
        each["kind"]
        for each in completed_policy(now)["kinds"]
        if each["kind"] not in had
    ]


def completed_rules(ledger_id: int) -> dict[str, Any]:
    """Return the values of a `policy.set` that gives every kind known here a rule."""
    now = signing_rules(ledger_id)
    return {**now, "policy": completed_policy(now["policy"])}
