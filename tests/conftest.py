"""What every test may lean on."""

import pytest
from django.db import connection


@pytest.fixture
def engine(db) -> str:
    """The engine this run stands on: sqlite or postgresql."""
    return connection.vendor
