"""What these tests borrow from the pages: clients signed in, and rooms with keys."""

import logging
from io import StringIO

import pytest

from goldroom.faces.logs import FailureFormatter
from tests.goldroom.web.conftest import (
    room_with_keys as room_with_keys,
)
from tests.goldroom.web.conftest import (
    signed_in_as as signed_in_as,
)


@pytest.fixture
def written():
    """Return what both logs are written into: requests and failures."""
    requests, failures = StringIO(), StringIO()
    handlers = {
        "goldroom.requests": logging.StreamHandler(requests),
        "": logging.StreamHandler(failures),
    }
    handlers[""].setFormatter(FailureFormatter())
    for name, handler in handlers.items():
        logging.getLogger(name).addHandler(handler)
    yield requests, failures
    for name, handler in handlers.items():
        logging.getLogger(name).removeHandler(handler)
