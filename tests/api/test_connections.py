"""The two connections: one writes, one only reads."""

import pytest
from django.contrib.contenttypes.models import ContentType
from django.db import DatabaseError, connection

BOTH = pytest.mark.django_db(transaction=True, databases=["default", "reports"])


@BOTH
def test_reports_read_what_is_committed():
    ContentType.objects.create(app_label="probe", model="one")

    assert ContentType.objects.using("reports").filter(app_label="probe").exists()


@BOTH
def test_reports_cannot_write():
    with pytest.raises(DatabaseError, match=r"read.?only"):
        ContentType.objects.using("reports").create(app_label="probe", model="two")


SAFE = {
    "sqlite": {"pragma journal_mode": "wal", "pragma synchronous": 2, "pragma foreign_keys": 1},
    "postgresql": {
        "show lock_timeout": "10s",
        "show statement_timeout": "1min",
        "show timezone": "UTC",
    },
}


@pytest.mark.django_db
def test_a_power_cut_loses_nothing_and_nobody_waits_for_ever(engine):
    assert {question: ask(question) for question in SAFE[engine]} == SAFE[engine]


def ask(question):
    with connection.cursor() as cursor:
        cursor.execute(question)
        return cursor.fetchone()[0]
