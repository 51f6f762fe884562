"""What the documents say of the code is so, and what they must say is there."""

import ast
import json
import re
from collections import defaultdict
from pathlib import Path

import pytest
from django.apps import apps
from django.conf import settings
from django.core.management import get_commands

import stock.apply  # so that every applier is registered
from api.pages.words import WORDS
from api.rest.problems import STATUS, status_of
from protocols.deviations import EFFECTS
from protocols.kinds import KINDS
from stock import clock
from stock.apply.registry import known_kinds
from stock.doors.people import make_setup_code
from stock.models import Projection
from tests.codes_given import codes_in
from tests.walk import Walk

ROOT = settings.ROOT
MANUAL = (ROOT / "DEVELOPERS.md").read_text()
README = (ROOT / "README.md").read_text()
FLOORS = ("protocols", "stock", "api")
ENTRIES = ("manage.py", "pyproject.toml", "README.md", "DEVELOPERS.md", "fixtures", "docker")


def section(title):
    """The text under a heading, up to the next one of its own or a higher level."""
    level, _, _ = title.partition(" ")
    rest = MANUAL.split(f"\n{title}\n", 1)[1]
    return re.split(rf"\n#{{2,{len(level)}}} ", rest)[0]


def python_files(*folders):
    return [file for folder in folders for file in sorted((ROOT / folder).rglob("*.py"))]


def trees():
    return [ast.parse(file.read_text()) for file in python_files(*FLOORS)]


# -- Codes ---------------------------------------------------------------------------------

# Problems of a row of a packing list never leave as the code of an answer.
OF_ROWS = {"missing", "missing_column", "sum_differs", "too_long", "twice", "unknown_word"}
# What no door gives yet.
RESERVED = {"local_time_never", "local_time_twice"}


def codes():
    return {code for tree in trees() for code in codes_in(tree)} | set(STATUS)


def documented_codes():
    """Each code with the status it stands under."""
    found, status = defaultdict(set), 0
    text = section("### Codes").split("Problems of single rows")[0]
    for number, code in re.findall(r"\*\*(\d{3})\*\*|`([a-z_]+)`", text):
        status = int(number or status)
        found[code].add(status)
    return {code: statuses for code, statuses in found.items() if code}


def test_the_codes_are_found_where_they_are_given():
    known = {"kit_in_use", "own_action", "kit_incomplete", "not_whole", "not_a_table", "busy"}

    assert known <= codes()


def test_every_code_of_a_refusal_is_explained():
    assert codes() - OF_ROWS - RESERVED - documented_codes().keys() == set()


def test_no_code_is_explained_that_nobody_gives():
    assert documented_codes().keys() - codes() == set()


def test_every_code_stands_under_its_status():
    wrong = {
        code: statuses
        for code, statuses in documented_codes().items()
        if statuses != {status_of(code)}
    }

    assert wrong == {}


@pytest.mark.parametrize("code", sorted(OF_ROWS | RESERVED))
def test_codes_of_rows_and_reserved_ones_are_named_as_such(code):
    assert f"`{code}`" in section("### Codes").split("Problems of single rows")[1]


# -- Facts, tables, deviations -------------------------------------------------------------

NOT_APPLIED_YET = {
    "other courses and names": {"course_changed", "identity_corrected"},
    "claims and papers": {"claim_sent", "claim_answered", "document_added"},
    "authorities": {"restriction_set", "restriction_ended"},
    "reservations and plans": {"reserved", "reservation_ended", "plan_accepted"},
}


def test_every_kind_of_fact_is_applied_or_known_to_come_later():
    later = set().union(*NOT_APPLIED_YET.values())

    assert stock.apply is not None
    assert set(KINDS) - known_kinds() == later


def test_every_table_that_is_no_projection_is_named_with_its_reason():
    models = apps.get_app_config("stock").get_models()
    others = [one for one in models if not issubclass(one, Projection)]
    rows = section("## Tables that are not projections")
    columns = " ".join(re.findall(r"^\|(.*?\|.*?)\|", rows, flags=re.M))
    named = set(re.findall(r"`(\w+)`", columns))

    assert {one.__name__ for one in others} | {one._meta.db_table for one in others} == named


@pytest.mark.parametrize("rule", sorted(EFFECTS))
def test_every_deviation_has_plain_words(rule):
    assert WORDS.get(rule, "")


# -- Settings, commands --------------------------------------------------------------------


def variables():
    """Every variable of the environment that a module of ours reads."""
    files = [*python_files("api"), ROOT / "manage.py"]
    calls = [
        node
        for file in files
        for node in ast.walk(ast.parse(file.read_text()))
        if isinstance(node, ast.Call) and "environ" in ast.unparse(node.func)
    ]
    return {
        one.args[0].value for one in calls if one.args and isinstance(one.args[0], ast.Constant)
    } - {"DJANGO_SETTINGS_MODULE"}


def test_every_variable_of_the_environment_is_explained():
    rows = set(re.findall(r"^\| `(\w+)` \|", section("## Running it"), flags=re.M))

    assert variables() == rows


def ours():
    return sorted(name for name, app in get_commands().items() if app == "stock")


@pytest.mark.parametrize("command", ours())
def test_every_command_is_explained(command):
    assert re.search(rf"^\| `{command}` \||`python3 manage.py {command}`", MANUAL, flags=re.M)


@pytest.mark.parametrize("command", ["python3 manage.py up", "python3 manage.py test"])
def test_a_newcomer_finds_the_two_commands(command):
    assert re.search(rf"^    {command}\s", README, flags=re.M)


# -- The walk ------------------------------------------------------------------------------


def steps():
    text = section("## The walk that every story starts from").split("```")[1]
    return [line for line in text.splitlines() if line]


class Told:
    """Walks the documented lines, with the uids of earlier answers by their names."""

    def __init__(self, walk, code):
        self.walk = walk
        self.names = {"code": code}

    def follow(self, line):
        if line.startswith("at "):
            self.walk.at(line.split()[1])
            return None
        method, rest = self._filled(line).split(maxsplit=1)
        path, _, said = rest.partition(" ")
        if method == "GET":
            return self.walk.get(path)
        body, _, kept = said.partition(" => ")
        answer = self.walk.post(path, json.loads(body))
        for one in filter(None, kept.split(", ")):
            self._keep(one, answer)
        return answer

    def _filled(self, line):
        return re.sub(r"<(\w+)>", lambda found: self.names[found[1]], line)

    def _keep(self, what, answer):
        path, _, name = what.partition(" as ")
        value = answer
        for part in path.split("."):
            value = value[int(part) if part.isdigit() else part]
        self.names[name or path] = value["uid"] if isinstance(value, dict) else value
        self.walk.token = self.names.get("token", "")


def test_the_documented_walk_can_be_walked(client, settings, transactional_db):
    settings.TEST_CLOCK = True
    told = Told(Walk(client, ""), make_setup_code(clock.now()))

    *_, shown = map(told.follow, steps())

    series = shown["batch"]["series"]
    assert (series["number"], series["moves"], series["moves_needed"]) == (1, 1, 4)
    assert shown["batch"]["stay"]["container"] == told.names["c2"]
    assert shown["batch"]["stay"]["limit"] == "2027-01-11T08:00:00Z"


# -- Sizes and words -----------------------------------------------------------------------

# A table of a rule's boundaries belongs together; everything else fits on a few screens.
MOST_LINES = {**dict.fromkeys(FLOORS, 300), "tests": 500}
GENERATED = {"0001_initial.py"}
# What is handed to a stranger is one file on purpose.
ALONE = {"verifier.py"}


@pytest.mark.parametrize("folder", MOST_LINES)
def test_files_stay_short(folder):
    long = [
        str(file.relative_to(ROOT))
        for file in python_files(folder)
        if file.name not in GENERATED | ALONE
        and len(file.read_text().splitlines()) > MOST_LINES[folder]
    ]

    assert long == []


def test_the_manual_is_read_in_one_sitting():
    assert len(MANUAL.splitlines()) < 350


def text_files():
    """Everything that is handed on, but what tools make."""
    places = [ROOT / name for name in (*ENTRIES, *FLOORS, "tests", ".ci")]
    files = [file for place in places for file in (place, *place.rglob("*")) if file.is_file()]
    return [
        file
        for file in files
        if not {"__pycache__", "node_modules"} & set(file.parts)
        and file.suffix not in {".pyc", ".png", ".xlsx", ".xls", ".ods"}
    ]


# In pieces, so that they do not stand here.
UNWANTED = [
    "/wo" + "rk/",
    "/ho" + "me/",
    "../sha" + "red",
    "py" + "pi.org",
    "python" + "hosted",
]


@pytest.mark.parametrize("word", UNWANTED)
def test_no_place_of_one_machine_stands_in_what_is_handed_on(word):
    found = [
        str(file.relative_to(ROOT))
        for file in text_files()
        if word in file.read_text(errors="replace")
    ]

    assert found == []


def test_every_path_that_the_manual_names_is_there():
    named = re.findall(r"`((?:protocols|stock|api|tests|docker|\.ci)/[\w./-]+)`", MANUAL)
    missing = [one for one in named if not (ROOT / Path(one)).exists()]

    assert len(named) > 20
    assert missing == []
