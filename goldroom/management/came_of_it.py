"""What came of a file that was recorded: how much, what was noticed, what opened."""

from collections.abc import Iterator, Mapping, Sequence

from goldroom.management.wrong_lines import lines_named
from goldroom.reports.aloud import Aloud, aloud
from goldroom.reports.attention import Concern, noticed_in
from goldroom.reports.trusted import policy_text
from ledger import read
from ledger.core.base64text import to_base64

TOLD_ONE_BY_ONE = 3
"""Findings of one code that are told each; more of them are told together."""


def came_of_it(ledger_id: int, line_of: Mapping[str, int], *, before: int) -> str:
    """Return what came of a file, in words.

    `line_of` gives the line of each statement by its entry id; `before` is the size
    that the ledger had, 0 if the file opened it.
    """
    head = read.head(ledger_id)
    given, taken = len(line_of), head.size - before
    origin = read.keyring(ledger_id).origin
    if not taken:
        told = [f"Nothing changed: all {given} statements were in the record already."]
    else:
        known = f", {given - taken} were there already" if given > taken else ""
        were = "statement was" if given == 1 else "statements were"
        told = [f"{taken} of {given} {were} recorded{known}."]
    size = "1 entry" if head.size == 1 else f"{head.size} entries"
    told.append(f"{origin}: {size}, root {head.root.hex()[:16]}…")
    if taken:
        new = [each.entry_id for each in read.entries(ledger_id, before)]
        found = noticed_in(ledger_id, new)
        texts = (f"{each.message} {each.found} {each.expected}" for each in found)
        told += _noticed(found, line_of, aloud(ledger_id, texts))
    if taken and not before:
        told += _opened(ledger_id)
    return "\n".join(told)


def _noticed(
    found: Sequence[Concern], line_of: Mapping[str, int], read: Aloud
) -> Iterator[str]:
    """Yield what was noticed in the lines, exceptions first."""
    if not found:
        return
    yield f"Noticed in it, for somebody to look at ({len(found)}):"
    by_code: dict[tuple[str, str], list[Concern]] = {}
    for each in found:
        by_code.setdefault((each.level, each.code), []).append(each)
    for (level, code), concerns in sorted(by_code.items()):
        lines = [line_of[each.entry] for each in concerns if each.entry in line_of]
        if len(concerns) > TOLD_ONE_BY_ONE:
            message = read.message(concerns[0].message)
            yield f"  {lines_named(lines)}: {message} [{level}, {code}]"
            continue
        for each in concerns:
            yield (
                f"  line {line_of.get(each.entry, '?')}: {read.message(each.message)};"
                f" found {read.message(each.found)},"
                f" expected {read.message(each.expected)} [{level}, {code}]"
            )


def _opened(ledger_id: int) -> Iterator[str]:
    """Yield what to write down when a ledger is opened."""
    genesis = to_base64(read.entry(ledger_id, 0).leaf_hash)
    yield f"The ledger is open. Its first entry's hash is {genesis}."
    yield (
        "Write it down on paper, and give these three lines, as a file, to whoever is"
        " to check the record without you (--policy of ledger.core.verify):"
    )
    yield ""
    yield policy_text(ledger_id).rstrip("\n")
