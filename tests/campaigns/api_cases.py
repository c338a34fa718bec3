"""The campaign of cases made from the OpenAPI document.

    python -m tests.campaigns.api_cases [CASES]

Opens an invented ledger in a database of its own, asks 2 000 cases (unless told how
many) for a person who may read everything, and prints how they were answered.
"""

import os
import sys
import tempfile
import time
from pathlib import Path

CASES = 2_000


def main() -> None:
    """Run the campaign; end with an error at the first answer that does not conform."""
    cases = int(sys.argv[1]) if len(sys.argv) > 1 else CASES
    with tempfile.TemporaryDirectory() as folder:
        os.environ["GOLDROOM_DATABASE_URL"] = f"sqlite:///{folder}/campaign.sqlite3"
        os.environ["DJANGO_SETTINGS_MODULE"] = "goldroom.settings"
        import django

        django.setup()
        from django.conf import settings
        from django.core.management import call_command

        call_command("migrate", verbosity=0)

        from goldroom.keys import seal_into
        from tests.front_door import KEYS, told
        from tests.goldroom.api.conftest import PASSPHRASE, QUICK_SCRYPT_N, token_of
        from tests.goldroom.api.schema_cases import ask

        settings.KEYS_FOLDER = Path(folder) / "keys"
        seal_into(settings.KEYS_FOLDER, KEYS, PASSPHRASE, n=QUICK_SCRYPT_N)
        told()
        tally: dict[str, int] = {}
        begun = time.perf_counter()
        asked = ask(token_of("p-soto"), cases, tally)
        seconds = time.perf_counter() - begun
        print(f"{asked} cases in {seconds:.0f} s; answers by status: ", end="")
        print(", ".join(f"{code}: {count}" for code, count in sorted(tally.items())))


if __name__ == "__main__":
    main()
