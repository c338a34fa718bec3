"""What these tests borrow from the pages: clients signed in, and rooms with keys."""

from tests.goldroom.web.conftest import (
    room_with_keys as room_with_keys,
)
from tests.goldroom.web.conftest import (
    signed_in_as as signed_in_as,
)
