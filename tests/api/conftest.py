"""The shop at noon that tests of single addresses share, and its manager, signed in."""

import pytest

from tests.make import make_shop
from tests.walk import signed_in


@pytest.fixture
def shop(settings):
    settings.TEST_CLOCK = True
    return make_shop()


@pytest.fixture
def walk(client, shop):
    return signed_in(client, shop, shop.manager)
