"""What was typed into a form when the session was over: kept through the sign-in.

The boxes travel in the sign-in page, sealed by the server's secret, and become the
form draft of whoever signs in. Passphrases and files do not travel.
"""

import re
from collections.abc import Mapping
from typing import Any

from django.core import signing
from django.http import HttpRequest

from goldroom.faces import drafts
from goldroom.faces.drafts import Kept
from goldroom.faces.reader import Reader
from goldroom.statements.registry import kinds

SALT = "goldroom.web.unsent"
FORM = re.compile(r"/say/([a-z_.]+)/([0-9a-f-]{36})/")
VALID_SECONDS = 3600


def wrapped(request: HttpRequest) -> str:
    """Return a form's boxes sealed, or "" if the request is not that of a form."""
    found = FORM.fullmatch(request.path)
    if request.method != "POST" or found is None:
        return ""
    sent = {
        name: text
        for name, text in request.POST.items()
        if name.startswith(("d.", "@")) and not name.startswith("@whole")
    }
    whole = {"kind": found[1], "entry_id": found[2], "boxes": sent}
    return signing.dumps(whole, salt=SALT, compress=True)


def restore(reader: Reader, sealed: str) -> None:
    """Keep sealed boxes as the reader's draft; what is out of date is left."""
    try:
        whole: Mapping[str, Any] = signing.loads(
            sealed, salt=SALT, max_age=VALID_SECONDS
        )
    except signing.BadSignature:
        return
    if whole["kind"] not in kinds():
        return
    before = drafts.kept(reader, whole["entry_id"])
    drafts.keep(
        reader,
        Kept(
            entry_id=whole["entry_id"],
            kind=whole["kind"],
            corrects="" if before is None else before.corrects,
            boxes={name.removeprefix("d."): t for name, t in whole["boxes"].items()},
            attachments=() if before is None else before.attachments,
        ),
    )
