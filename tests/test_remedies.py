"""Every refusal of the front door ends by telling people what to do.

Read off the code: the message of each refusal that names a field. What is made up of
other messages (`remedy`, `meant`, `how` and their like) is judged where it is told.
"""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

HOUSE = Path(__file__).parent.parent / "goldroom"
MODULES = sorted(
    [*(HOUSE / "statements").glob("*.py"), *(HOUSE / "custody").glob("*.py")]
)
REMEDIES = frozenset(
    (
        "add", "answer", "ask", "attach", "call", "challenge", "check", "choose",
        "close", "come", "correct", "count", "divide", "draw", "dry", "enrol", "enter",
        "estimate", "exchange", "give", "have", "keep", "leach", "leave", "let",
        "list", "look", "make", "mend", "name", "open", "pay", "post", "put", "read",
        "record", "register", "remove", "report", "restate", "run", "say", "seal",
        "set", "settle", "shorten", "sign", "split", "stamp", "start", "take", "tell",
        "type", "void", "wait", "weigh", "work", "write",
    )
)  # fmt: skip
"""Verbs with which a message tells people what to do."""

MADE_UP = ("{remedy}", "{do}", "{_offered", "{how}", "{meant")


def tells_what_to_do(message: str) -> bool:
    """Return whether the last sentence of a message has a clause in the imperative."""
    last = re.split(r"(?<=[.?}]) (?=[A-Z{])", message.strip())[-1]
    clauses = re.split(r"[,;:] (?:and |or |then )?", last)
    first_words = [clause.split()[0].strip(".").lower() for clause in clauses]
    return not REMEDIES.isdisjoint(first_words)


def messages(path: Path) -> Iterator[tuple[int, str]]:
    """Yield line and text of every message that goes with a field."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and any(k.arg == "field" for k in node.keywords):
            told = _text(node.args[0]) if node.args else ""
            if ": " in told:
                yield node.lineno, told


def _text(node: ast.expr) -> str:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(
            f"{{{ast.unparse(each.value)}}}"
            if isinstance(each, ast.FormattedValue)
            else _text(each)
            for each in node.values
        )
    return ""


def test_a_message_without_a_remedy_is_told_from_one_that_has_it():
    assert tells_what_to_do("found 3, expected 2. Weigh it again.")
    assert tells_what_to_do("it was used. To put it right, correct that entry.")
    assert not tells_what_to_do("found 3. Expected 2.")
    assert not tells_what_to_do("Weigh it again. It is a drum.")


def test_messages_are_found_in_the_code():
    assert sum(len(list(messages(path))) for path in MODULES) > 200


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_every_refusal_says_what_to_do(path):
    silent = [
        f"{path.name}:{line}: {told}"
        for line, told in messages(path)
        if not tells_what_to_do(told) and not any(each in told for each in MADE_UP)
    ]
    assert silent == []
