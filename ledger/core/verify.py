"""Verify an exported ledger offline.

    python -m ledger.core.verify BUNDLE [--policy FILE] [--anchor FILE]... [--json]

Needs Python and the package `cryptography`; no database, no network, no server
of ours. The policy and the anchors must come from whoever verifies, never from
whoever handed over the bundle; `trust` says how they look and `report` what the
exit codes mean.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import NoReturn

from ledger.core.errors import CouldNotCheck
from ledger.core.files import StoredAttachment
from ledger.core.outside import StoredHead
from ledger.core.report import (
    COULD_NOT_CHECK,
    Finding,
    Report,
    fit_for,
    one_line,
)
from ledger.core.trust import (
    FILE_SIZE_BYTES_MAX,
    Anchor,
    TrustPolicy,
    parse_anchor,
    parse_trust,
)
from ledger.core.unpack import read_bundle
from ledger.core.verifier import Verifier

__all__ = [
    "Finding",
    "Report",
    "StoredAttachment",
    "StoredHead",
    "Verifier",
    "main",
    "verify_bundle",
]


def verify_bundle(
    path: Path, policy: TrustPolicy | None = None, anchors: Iterable[Anchor] = ()
) -> Report:
    """Return the report on a bundle; raise CouldNotCheck if it is unreadable."""
    verifier = Verifier(policy, anchors)
    with read_bundle(path) as bundle:
        for leaf in bundle.entries():
            verifier.feed(leaf)
            if verifier.is_lost:
                verifier.could_not_check(
                    f"What follows the first {verifier.size} lines was not read: too "
                    "many of them are no entries."
                )
                break
        attachments = list(bundle.attachments())
        checkpoints = list(bundle.checkpoints())
        bundle.check_manifests()
        bundle.check_name(verifier.keyring.origin)
        for finding in bundle.findings:
            verifier.add(finding)
    return verifier.finish(attachments=attachments, checkpoints=checkpoints)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the program; return its exit code."""
    options = _parser().parse_args(arguments)
    try:
        policy = parse_trust(_read(options.policy)) if options.policy else None
        anchors = [parse_anchor(_read(path), name=path.name) for path in options.anchor]
        report = verify_bundle(options.bundle, policy, anchors)
    except CouldNotCheck as error:
        return _say_could_not_check(error.message, as_json=options.json)
    if options.json:
        print(json.dumps(report.to_json(), indent=2, ensure_ascii=True))
    else:
        print(fit_for(sys.stdout, report.text()), end="")
    return report.exit_code


class _Parser(argparse.ArgumentParser):
    """Wrong usage is "could not check", never the code that means tampering."""

    def error(self, message: str) -> NoReturn:
        self.print_usage(sys.stderr)
        self.exit(COULD_NOT_CHECK, f"{self.prog}: {message}\n")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="python -m ledger.core.verify",
        description="Verify an exported ledger. Exit code 0: verified and pinned; 3: "
        "verified, not pinned; 2: evidence of tampering; 1: could not check.",
    )
    parser.add_argument("bundle", type=Path, help="the exported ledger (zip)")
    parser.add_argument("--policy", type=Path, help="your own policy file")
    parser.add_argument(
        "--anchor",
        type=Path,
        action="append",
        default=[],
        help="a chain mark that was kept elsewhere; may be repeated",
    )
    parser.add_argument("--json", action="store_true", help="report for a machine")
    return parser


def _read(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(FILE_SIZE_BYTES_MAX + 1)
    except OSError as error:
        raise CouldNotCheck(f"{path} cannot be read: {error.strerror}.") from error


def _say_could_not_check(message: str, *, as_json: bool) -> int:
    if as_json:
        said = {
            "could_not_check": [message],
            "exit_code": COULD_NOT_CHECK,
            "pinned_size": None,
            "verdict": "could not check",
        }
        print(json.dumps(said, indent=2, ensure_ascii=True))
    else:
        text = f"Could not check: {one_line(message)}\ntail not pinned"
        print(fit_for(sys.stdout, text))
    return COULD_NOT_CHECK


if __name__ == "__main__":
    sys.exit(main())
