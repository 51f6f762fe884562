"""The service says what it stands on."""

import pytest


@pytest.mark.django_db
def test_health_names_the_version_the_engine_and_the_clock(client, engine):
    answer = client.get("/health")

    assert answer.status_code == 200
    assert answer.json()["version"] == "0.1.0"
    assert answer.json()["database"] == engine
    assert answer.json()["test_clock"] is False
