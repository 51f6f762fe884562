"""The environment that `manage.py` makes: when it is good enough, and when it is not."""

import importlib.util
import tomllib

import pytest
from django.conf import settings
from packaging.requirements import Requirement


@pytest.fixture
def manage(monkeypatch, tmp_path):
    """The module, looking at a folder of its own."""
    spec = importlib.util.spec_from_file_location("manage", settings.ROOT / "manage.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    (tmp_path / "docker").mkdir()
    (tmp_path / ".venv").mkdir()
    (tmp_path / "docker/requirements.lock").write_text("a==1\n")
    (tmp_path / "docker/requirements-test.lock").write_text("a==1\nb==1\n")
    monkeypatch.setattr(module, "HERE", tmp_path)
    monkeypatch.setattr(module, "STAMP", tmp_path / ".venv/stamp")
    return module


@pytest.mark.parametrize(
    ("installed", "for_up", "for_tests"),
    [("requirements.lock", True, False), ("requirements-test.lock", True, True)],
)
def test_the_packages_of_the_tests_do_for_both(manage, installed, for_up, for_tests):
    manage.STAMP.write_text(manage.stamp_of(manage.HERE / "docker" / installed))

    assert manage.is_fresh(testing=False) is for_up
    assert manage.is_fresh(testing=True) is for_tests


def test_a_changed_lock_makes_the_environment_old(manage):
    lock = manage.HERE / "docker/requirements.lock"
    manage.STAMP.write_text(manage.stamp_of(lock))

    lock.write_text("a==2\n")

    assert manage.is_fresh(testing=False) is False


def test_another_python_makes_the_environment_old(manage, monkeypatch):
    manage.STAMP.write_text(manage.stamp_of(manage.HERE / "docker/requirements.lock"))

    monkeypatch.setattr(manage.sys, "version_info", (3, 99))

    assert manage.is_fresh(testing=False) is False


def test_half_an_installation_is_none(manage):
    assert manage.is_fresh(testing=False) is False


def test_a_python_without_ensurepip_gets_the_name_of_the_missing_package(manage, monkeypatch):
    monkeypatch.setattr(manage, "PYTHON", manage.HERE / ".venv/bin/python")
    monkeypatch.setattr(manage.importlib.util, "find_spec", lambda name: None)

    with pytest.raises(SystemExit, match=r"sudo apt install python3\.\d+-venv"):
        manage.make_venv()


@pytest.mark.parametrize("part", ["", "-test"])
def test_every_locked_package_has_a_hash_and_names_no_place_to_get_it(part):
    lines = (settings.ROOT / f"docker/requirements{part}.lock").read_text().splitlines()
    packages = [line for line in lines if line[:1].isalnum()]

    assert packages
    assert all("==" in line and line.endswith("\\") for line in packages)
    assert not [line for line in lines if "://" in line or line.startswith("-")]


def test_the_tests_run_on_the_packages_that_the_product_runs_on():
    runtime, tests = (pinned(f"docker/requirements{part}.lock") for part in ("", "-test"))

    assert runtime <= tests


@pytest.mark.parametrize("part", ["", "-test"])
def test_the_locks_are_as_new_as_what_is_asked_for(part):
    project = tomllib.loads((settings.ROOT / "pyproject.toml").read_text())["project"]
    tests = project["optional-dependencies"]["test"] if part else []
    asked = [Requirement(line) for line in (*project["dependencies"], *tests)]
    versions = dict(one.split("==") for one in pinned(f"docker/requirements{part}.lock"))

    unmet = [one for one in asked if not one.specifier.contains(versions[one.name.lower()])]

    assert unmet == []


def pinned(lock):
    """Names with versions, whatever else is said about when they are needed."""
    lines = (settings.ROOT / lock).read_text().splitlines()
    return {line.split()[0] for line in lines if "==" in line}
