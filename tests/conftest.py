"""What every test may lean on: the engine, real threads, a database that can be emptied."""

import gc
import os
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import hypothesis
import pytest
import pytest_django
from django.conf import settings
from django.db import connection, connections
from django.test import TransactionTestCase

from stock import triggers


def pytest_configure(config: pytest.Config) -> None:
    # Reports see what a test has written before anything is committed.
    settings.REPORTS = "default"
    # Slow on purpose where people sign in; here it would only be slow.
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    # A busy machine is no failure.
    hypothesis.settings.register_profile(
        "fillmark", deadline=None, suppress_health_check=[hypothesis.HealthCheck.too_slow]
    )
    hypothesis.settings.load_profile("fillmark")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What takes longest begins first, so that no worker waits for it at the end."""
    items.sort(key=lambda one: "test_everything" not in one.nodeid)


def pytest_collection_finish() -> None:
    # What was imported stays for good: looking through it again and again is a tenth of a run.
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 20)


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Where nobody watches, a test that did not run counts as one that failed."""
    if skipped(session.config) and os.environ.get("CI") == "true":
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter: Any, config: pytest.Config) -> None:
    if skipped(config) and os.environ.get("CI") == "true":
        terminalreporter.section("CI=true: skipped tests fail the run")
        for report in skipped(config):
            terminalreporter.line(f"{report.nodeid}: {report.longrepr}")


def skipped(config: pytest.Config) -> list[Any]:
    """Reports of what was skipped, the expected failures not among them."""
    reporter: Any = config.pluginmanager.get_plugin("terminalreporter")
    # The workers of a parallel run have no reporter; the process that started them has all.
    return reporter.stats.get("skipped", []) if reporter else []


@pytest.fixture(scope="session", autouse=True)
def keys_of_this_run(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Signing keys of their own: tests never touch those of a real data folder."""
    settings.KEYS = tmp_path_factory.mktemp("keys")


@pytest.fixture(scope="session", autouse=True)
def emptying_despite_triggers() -> Iterator[None]:
    """Let a test with real transactions empty tables that refuse it to everybody else.

    PostgreSQL truncates, which row triggers do not see; SQLite deletes row by row. The
    triggers come back as they do after every migrate.
    """
    case_class: Any = TransactionTestCase
    empty = case_class._fixture_teardown

    def without_triggers(case: TransactionTestCase) -> None:
        triggers.drop(connection)
        empty(case)
        triggers.install(connection)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(case_class, "_fixture_teardown", without_triggers)
        yield


@pytest.fixture(scope="module")
def kept_for_module(
    django_db_setup: None, django_db_blocker: pytest_django.DjangoDbBlocker
) -> Iterator[None]:
    """What is made before the first test of a module stays until its last."""
    from tests.certified import kept  # needs Django, which this file comes before

    with kept(django_db_blocker):
        yield


@pytest.fixture
def floor(opened: Any, db: None, settings: Any, tmp_path: Path) -> Any:
    """The floor that this module `opened`, as it was then."""
    settings.TEST_CLOCK = True
    settings.DATA = tmp_path
    return opened.again()


@pytest.fixture
def engine(db: None) -> str:
    """The engine this run stands on: sqlite or postgresql."""
    return connection.vendor


@pytest.fixture
def together(transactional_db: None) -> Callable[..., list[Any]]:
    """Run calls at the same moment in real threads; their results or errors, in order."""

    def run(*calls: Callable[[], Any]) -> list[Any]:
        outcomes: list[Any] = [None] * len(calls)
        gate = threading.Barrier(len(calls))

        def one(place: int, call: Callable[[], Any]) -> None:
            try:
                gate.wait(timeout=30)
                outcomes[place] = call()
            except Exception as error:  # noqa: BLE001  # an outcome like any other
                outcomes[place] = error
            finally:
                connections.close_all()

        threads = [threading.Thread(target=one, args=pair) for pair in enumerate(calls)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        return outcomes

    return run
