"""The demonstration's folder: marker, keys and files; only a demo is ever replaced.

demo.json            says that the folder is a demo, with its seed and months
goldroom.sqlite3     the ledger
keys/                sealed keys of invented people, and their passphrase
month.jsonl          every saying, one a line
papers/              what the sayings cite: receipts signed in ink
cycles.csv           the plant's cycles, for import_cycles
month.zip            the bundle: the record for anybody to check
month.checkpoint     its checkpoint, signed with the log's key
month.policy         what a checker of this record trusts
environment          shell lines that let every command and the pages use all this
"""

import csv
import json
import shlex
import shutil
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from urllib.parse import quote

from goldroom.demo.chance import Chance
from goldroom.demo.mine import INVENTED, NEWCOMER, PEOPLE
from goldroom.errors import Refusal
from goldroom.keys import LOG_KEY, PASSPHRASE_FILE, Keys, seal_into
from ledger.core.signing import SigningKey
from ledger.sealed_keys import SUFFIX

MARKER = "demo.json"
PASSPHRASE = "invented gold, nothing to guard"
SCRYPT_N = 2**10
"""The work factor of demo keys: small, for their passphrase lies beside them."""


class NotADemo(Refusal):
    """A folder holds something else than a demonstration."""

    code = "not_a_demo"


@dataclass(frozen=True)
class DemoFolder:
    """Where each file of a demonstration stands."""

    path: Path

    @property
    def database(self) -> Path:
        """Return the path of the ledger's database."""
        return self.path / "goldroom.sqlite3"

    @property
    def keys(self) -> Path:
        """Return the folder of sealed keys."""
        return self.path / "keys"

    @property
    def month(self) -> Path:
        """Return the path of the sayings' JSON Lines file."""
        return self.path / "month.jsonl"

    @property
    def papers(self) -> Path:
        """Return the folder of the files that sayings cite."""
        return self.path / "papers"

    @property
    def cycles(self) -> Path:
        """Return the path of the plant's cycles as a table."""
        return self.path / "cycles.csv"

    @property
    def bundle(self) -> Path:
        """Return the path of the bundle."""
        return self.path / "month.zip"

    @property
    def checkpoint(self) -> Path:
        """Return the path of the signed checkpoint."""
        return self.path / "month.checkpoint"

    @property
    def policy(self) -> Path:
        """Return the path of the policy file that names the log's key."""
        return self.path / "month.policy"

    @property
    def environment(self) -> Path:
        """Return the path of the shell lines that name this demonstration."""
        return self.path / "environment"

    @property
    def log_key(self) -> Path:
        """Return the path of the log's sealed key."""
        return self.keys / f"{LOG_KEY}{SUFFIX}"

    def make(self, *, seed: int, months: int) -> None:
        """Make the folder anew, replacing a demonstration that stands there.

        Raises NotADemo when something else does.
        """
        if self.path.exists() and not self._may_be_replaced():
            raise NotADemo(
                f"{self.path} holds something that is not a demonstration (no"
                f" {MARKER} in it). Nothing was touched: name another folder, or empty"
                " this one yourself.",
                field="into",
            )
        if self.path.exists():
            shutil.rmtree(self.path)
        self.path.mkdir(parents=True)
        marker = {"goldroom_demo": 1, "seed": seed, "months": months, "note": INVENTED}
        (self.path / MARKER).write_text(json.dumps(marker) + "\n", encoding="utf-8")

    def seal(self, keys: Keys) -> None:
        """Write the keys, and the one passphrase that opens them all."""
        seal_into(self.keys, keys, PASSPHRASE, n=SCRYPT_N)
        passphrase = self.keys / PASSPHRASE_FILE
        passphrase.write_text(f"{PASSPHRASE}\n", encoding="utf-8")
        self.keys.chmod(0o700)

    def write_files(
        self, lines: Iterable[str], cycles: Sequence[Mapping[str, str]]
    ) -> None:
        """Write the sayings as a JSON Lines file, and the plant's cycles as a table."""
        text = "".join(f"{line}\n" for line in lines)
        self.month.write_text(text, encoding="utf-8")
        with self.cycles.open("w", encoding="utf-8", newline="") as file:
            table = csv.DictWriter(file, fieldnames=list(cycles[0]))
            table.writeheader()
            table.writerows(cycles)

    def write_environment(self, *, clock: datetime, made_at: datetime) -> None:
        """Write what the program must be told to serve this demonstration.

        Its clock goes on from `clock`, counted from the moment of making.
        """
        database = quote(str(self.database.absolute()))
        variables = {
            "GOLDROOM_DATABASE_URL": f"sqlite:///{database}",
            "GOLDROOM_KEYS": str(self.keys.absolute()),
            "GOLDROOM_DEMO_CLOCK": f"{clock.isoformat()}@{made_at.isoformat()}",
        }
        lines = [f"# {INVENTED}"]
        lines += [f"export {name}={shlex.quote(of)}" for name, of in variables.items()]
        self.environment.write_text("\n".join(lines) + "\n", encoding="utf-8")

    def write_papers(self, papers: Mapping[str, bytes]) -> None:
        """Write the files that sayings cite."""
        self.papers.mkdir()
        for name, content in papers.items():
            (self.papers / name).write_bytes(content)

    def _may_be_replaced(self) -> bool:
        if not self.path.is_dir():
            return False
        return (self.path / MARKER).is_file() or not any(self.path.iterdir())


def demo_keys(chance: Chance) -> dict[str, SigningKey]:
    """Return everybody's keys and the log's, made from the seed.

    Such keys guard nothing: whoever knows the seed has them. They are for invented
    people only.
    """
    names = [member.person for member in (*PEOPLE, NEWCOMER)] + [LOG_KEY]
    return {name: SigningKey.from_seed(chance.key_seed(name)) for name in names}
