"""Every scenario is told over REST, under the test clock."""

import pytest


@pytest.fixture(autouse=True)
def _under_the_test_clock(db, settings):
    settings.TEST_CLOCK = True
