"""Cases made from the OpenAPI document: a small number of them at every change.

The whole campaign is `python -m tests.campaigns.api_cases`.
"""

import pytest

from tests.goldroom.api.conftest import token_of
from tests.goldroom.api.schema_cases import ask

CASES = 300


@pytest.mark.source("the OpenAPI document, by schemathesis")
def test_no_case_of_the_document_breaks_it(room_with_keys):
    tally: dict[str, int] = {}
    assert ask(token_of("p-soto"), CASES, tally) >= CASES // 2
    assert "500" not in tally
    assert {"200", "400", "404"} <= set(tally)
