"""The end of a demonstration: verified, bundled, and told in a dozen lines."""

import sys
from collections import Counter
from collections.abc import Iterator
from datetime import date, datetime
from decimal import ROUND_HALF_EVEN, Decimal
from pathlib import Path
from typing import Any

from goldroom.demo.folder import PASSPHRASE, DemoFolder
from goldroom.demo.mine import (
    ACCOUNTANT,
    INVENTED,
    OFFICERS,
    PEOPLE,
    SECURITY,
    SITE,
)
from goldroom.errors import Refusal
from goldroom.keys import PASSPHRASE_FILE
from goldroom.reports.attention import attention
from goldroom.reports.metal import last_known_at
from goldroom.reports.month import reconciliation
from goldroom.reports.trusted import policy_text
from ledger import checkpoints, read
from ledger.audit import audit
from ledger.core.report import VERIFIED
from ledger.exporting import write_whole


class DemoDoesNotVerify(Refusal):
    """A demonstration just made does not verify."""

    code = "demo_does_not_verify"


def check(ledger_id: int) -> None:
    """Ask everything that `verify_ledger` asks. Raises DemoDoesNotVerify."""
    found = audit(None)
    if found.exit_code != VERIFIED:
        told = [finding.sentence() for finding in found.findings]
        for each in found.ledgers:
            told += [finding.sentence() for finding in each.findings]
            told += each.could_not_check
        raise DemoDoesNotVerify(
            f"The demonstration of ledger {ledger_id} does not verify: {told[:5]}. Do"
            " not use it; run verify_ledger on it to see more."
        )


def write_out(folder: DemoFolder, ledger_id: int) -> None:
    """Write the signed checkpoint, what a checker trusts, and the bundle."""
    ring = read.keyring(ledger_id)
    size, note = checkpoints.sign(ledger_id, folder.log_key, PASSPHRASE)
    folder.checkpoint.write_bytes(note)
    folder.policy.write_text(
        f"# {INVENTED}\n{policy_text(ledger_id)}", encoding="utf-8"
    )
    write_whole(
        folder.bundle, ledger_id, origin=ring.origin, checkpoints=[(size, note)]
    )


def told(
    folder: DemoFolder, ledger_id: int, *, seed: int, days: tuple[date, date]
) -> Iterator[str]:
    """Yield the lines that tell of a demonstration and how to go on with it."""
    head = read.head(ledger_id)
    first, last = days
    yield f"{SITE}, {first} to {last}, seed {seed}. {INVENTED}"
    yield "Keys derive from the seed: whoever knows it can sign. They guard nothing."
    yield (
        f"Record: {head.size} entries, root {head.root.hex()[:16]}…; it verifies (the"
        " tail is not pinned)."
    )
    report = reconciliation(ledger_id, first_day=first, last_day=last).to_json()
    yield from _metal(report)
    yield from _concerns(ledger_id)
    here = DemoFolder(_from_here(folder.path.absolute()))
    yield f"Files in {here.path}: {', '.join(_files(folder.path))}"
    yield "Go on with:"
    yield f"  . {here.environment}"
    python = _from_here(Path(sys.executable))
    yield f"  {python} manage.py runserver"
    yield (
        f"    then open http://127.0.0.1:8000/ and sign in as {_users()}; the"
        f" passphrase stands in {here.keys / PASSPHRASE_FILE}"
    )
    yield f"  {python} manage.py reconcile --from {first} --to {last}"
    yield f"  {python} manage.py trail OF-0412"
    yield f"  {python} manage.py verify_ledger"
    yield (
        f"  {python} -m ledger.core.verify {here.bundle} --policy {here.policy}"
        f" --anchor {here.checkpoint}"
    )


def _users() -> str:
    """Return whom to sign in as: one of each of the three who use this most."""
    names = {member.person: member.name for member in PEOPLE}
    users = (
        (OFFICERS[0], "gold room officer"),
        (SECURITY[0], "security manager"),
        (ACCOUNTANT, "accountant"),
    )
    told = [f"{names[person]} ({what})" for person, what in users]
    return f"{', '.join(told[:-1])} or {told[-1]}"


def _metal(report: Any) -> Iterator[str]:
    gravity, overall = report["gravity"], report["overall"]["gold"]
    yield (
        f"Gold poured {_grams(gravity['poured'])} g. Poured, risen in holdings and gone"
        f" out {_grams(gravity['accounted'])} g, against the circuit's estimate of"
        f" {_with_u(gravity['estimated'], gravity['estimated_u'])}:"
        f" {100 * Decimal(gravity['ratio']):.1f} % ±"
        f" {100 * Decimal(gravity['u']):.1f} % of it."
    )
    steps = ", ".join(
        f"{step} {Decimal(balances['gold']['z']):+.1f}"
        for step, balances in report["steps"].items()
    )
    yield (
        f"Gold not accounted for {_grams(overall['unaccounted'])} g ±"
        f" {overall['u_shown']} g ({overall['level']}); by step, in standard"
        f" uncertainties: {steps}."
    )


def _grams(text: str) -> str:
    return f"{Decimal(text):.0f}"


def _with_u(text: str, u_text: str) -> str:
    """Return grams and their uncertainty, both to its second significant digit."""
    value, u = Decimal(text), Decimal(u_text)
    step = Decimal(1).scaleb(u.adjusted() - 1)
    rounded = [each.quantize(step, rounding=ROUND_HALF_EVEN) for each in (value, u)]
    return f"{rounded[0]:f} g ± {rounded[1]:f} g"


def _concerns(ledger_id: int) -> Iterator[str]:
    now = datetime.fromisoformat(last_known_at(ledger_id))
    found = attention(ledger_id, now=now)
    counted = Counter((each.level, each.code) for each in found)
    for level in ("exception", "notice"):
        codes = [
            f"{code} {count}".replace("_", " ") if count > 1 else code.replace("_", " ")
            for (of_level, code), count in sorted(counted.items())
            if of_level == level
        ]
        total = sum(1 for each in found if each.level == level)
        yield f"Wants attention, {level}s ({total}): {', '.join(codes) or 'none'}."


def _files(path: Path) -> list[str]:
    return sorted(
        f"{each.name}/" if each.is_dir() else each.name
        for each in path.iterdir()
        if not each.name.endswith(("-wal", "-shm"))
    )


def _from_here(path: Path) -> Path:
    """Return the path as it is typed from the current folder."""
    here = Path.cwd()
    return path.relative_to(here) if path.is_relative_to(here) else path
