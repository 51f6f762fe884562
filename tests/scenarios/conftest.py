"""Every scenario is told over REST, under the test clock."""

import pytest


@pytest.fixture(autouse=True)
def _under_the_test_clock(transactional_db, settings):
    settings.TEST_CLOCK = True
