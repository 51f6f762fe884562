"""Parts of pages: they say it in words, they keep their roles, they need no script."""

import re
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from django import forms
from django.contrib.messages.constants import SUCCESS, WARNING
from django.contrib.messages.storage.base import Message
from django.template import Context, Template
from django.template.loader import get_template, render_to_string

import api
from api.pages import parts
from api.pages.pictures import Dark, Hatch
from api.templatetags import fillmark

TEMPLATES = Path(api.__file__).parent / "templates"
ALL_TEMPLATES = sorted(str(one.relative_to(TEMPLATES)) for one in TEMPLATES.rglob("*.html"))
SOURCE = {name: (TEMPLATES / name).read_text() for name in ALL_TEMPLATES}
PARTS = [name for name in ALL_TEMPLATES if name.startswith("parts/")]
ZONE = ZoneInfo("Europe/Berlin")
NOON = datetime(2027, 1, 11, 12, tzinfo=UTC)
SHELL = parts.Shell(
    "Hall 2",
    ZONE,
    NOON,
    "Mara",
    "keeper",
    links=(
        parts.PageLink("Shift", "/shift", current=True),
        parts.PageLink("The room", "/room"),
        parts.PageLink("Unpacking", "/unpacking"),
        parts.PageLink("Questions (3)", "/questions"),
    ),
    sign_out="/sign-out",
)


class CountForm(forms.Form):
    count = forms.IntegerField(label="How many?", help_text="Count again.", min_value=1)
    salinity = forms.DecimalField(required=False)
    kit = forms.ChoiceField(widget=forms.RadioSelect, choices=[("a", "A-1")])


def show(part: str, **context) -> str:
    return " ".join(render_to_string(f"parts/{part}.html", context).split())


def slip(**more) -> parts.Slip:
    return parts.Slip("Move B-07", "R1-02", "/b/7", **more)


@pytest.mark.parametrize("name", ALL_TEMPLATES)
def test_every_template_can_be_read(name):
    assert get_template(name)


@pytest.mark.parametrize("name", ALL_TEMPLATES)
def test_no_template_breaks_a_strict_content_policy(name):
    inline = re.findall(
        r"\sstyle=|<style|\son[a-z]+=|<script(?![^>]*\ssrc=)|javascript:", SOURCE[name]
    )

    assert not inline


@pytest.mark.parametrize("name", PARTS)
def test_every_part_begins_with_what_it_needs(name):
    comment = re.match(
        r"\{# (.+?) #\}|\{% comment %\} (.+?)\{% endcomment %\}", SOURCE[name], re.S
    )

    assert comment
    assert re.search(r"No context\.|Context: ", comment[0])


@pytest.mark.parametrize("hatch", Hatch)
def test_every_hatch_has_its_pattern(hatch):
    assert f'id="hatch-{hatch.value}"' in SOURCE["parts/hatches.html"]


def test_a_page_says_where_who_and_as_of_when():
    page = render_to_string("base.html", {"shell": SHELL})

    assert "Hall 2" in page
    assert "Mara, keeper" in page
    assert '<time datetime="2027-01-11T12:00:00Z">Mon 11 Jan 2027 13:00 CET</time>' in page
    assert '<a href="/shift" aria-current="page">Shift</a>' in page


def test_what_does_not_fit_under_the_thumb_stands_under_more():
    narrow = re.findall(r'narrow-only"><a href="([^"]+)"', show("pages", shell=SHELL))

    assert narrow == ["/questions"]


# -- Slips -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("left_s", "text"),
    [(15_659, "4:20 left"), (0, "0:00 left"), (-1, "0:00:01 over"), (-4_830, "1:20 over")],
)
def test_a_slip_says_what_is_left_or_over(left_s, text):
    html = show("slip", slip=slip(left_s=left_s))

    assert text in re.sub(r"<[^>]+>", "", html)
    assert ("is-over" in html) == (left_s < 0)


def test_a_slip_that_nothing_limits_says_so():
    assert "no limit" in show("slip", slip=slip())


def test_a_slip_shows_its_nights_and_its_action_with_the_request_key():
    night = parts.Night(NOON, NOON + timedelta(hours=72), NOON, (Dark(NOON, NOON),))
    action = parts.Action("Take it", "/take", "key-1")

    html = show("slip", slip=slip(left_s=60, nights=night, action=action))

    assert 'class="picture strip three-nights"' in html
    assert 'name="request_key" value="key-1" formaction="/take">Take it</button>' in html


def test_an_empty_shift_is_said_in_words():
    assert "Nothing is due." in show("slips", groups=())


# -- Forms -------------------------------------------------------------------------------------


def test_a_count_gets_the_keypad_and_its_error_beside_it():
    form = CountForm({"count": "two"})

    html = show("field", field=form["count"])

    assert 'type="text"' in html
    assert 'inputmode="numeric"' in html
    assert 'aria-invalid="true"' in html
    assert 'aria-describedby="id_count_helptext id_count_error"' in html
    assert '<div class="wrong" id="id_count_error"><p><b>Put right</b>' in html


def test_a_number_with_a_fraction_gets_the_keypad_with_a_point():
    html = show("field", field=CountForm()["salinity"])

    assert 'inputmode="decimal"' in html
    assert "may stay empty" in html


def test_choices_stand_in_a_fieldset_with_a_legend():
    assert "<fieldset" in show("field", field=CountForm()["kit"])
    assert "<legend>Kit</legend>" in show("field", field=CountForm()["kit"])


def test_a_form_has_one_large_action_and_a_way_back():
    html = show("form", form=CountForm(), action="/x", do="Record", back="/b", key="key-1")

    assert html.count('class="action"') == 1
    assert '<a class="way-back" href="/b">' in html
    assert '<input type="hidden" name="request_key" value="key-1">' in html


def test_problems_lead_to_their_fields():
    problems = [parts.Problem("Count again.", "id_count"), parts.Problem("Sum differs.")]

    html = show("problems", problems=problems)

    assert "2 things to put right" in html
    assert '<a href="#id_count">Count again.</a>' in html
    assert show("problems", problems=[]) == ""


# -- What stands against it, tables, histories -------------------------------------------------


def test_objections_say_whether_they_block_what_helps_and_who_may():
    objections = [
        parts.Objection(
            "Kit B-3 is not ready.", instead=(parts.Way("A-1", "/k/1"),), who="a manager"
        ),
        parts.Objection("A reading is in doubt.", blocks=False, task=parts.Way("Look", "/t/1")),
    ]

    html = show("objections", objections=objections)

    assert html.count("Stands against it") == html.count("Worth knowing") == 1
    assert '<a href="/k/1">A-1</a>' in html
    assert "a manager" in html
    assert '<a href="/t/1">Look</a>' in html


def test_a_caution_says_that_it_is_one():
    assert "<b>Caution</b> Unplug first." in show("caution", text="Unplug first.")


def test_a_table_keeps_its_roles_and_names_its_cells_when_it_is_stacked():
    table = parts.Table("Kits", ("Kit", "Uses"), [("A-1", 14)], frozenset({1}))

    html = show("table", table=table)

    assert '<table class="stack" role="table">' in html
    assert '<th role="rowheader" scope="row">A-1</th>' in html
    assert '<td role="cell" data-column="Uses" class="number">14</td>' in html


def test_a_line_that_was_corrected_stays_and_says_so():
    html = show(
        "history", lines=[parts.Told(NOON, "One dead", "Mara", replaced=True)], zone=ZONE
    )

    assert "One dead" in html
    assert "corrected later" in html


def test_a_confirm_step_shows_what_follows_before_the_button():
    action = parts.Action("Record the move", "/m", "key-1")

    html = show(
        "confirm",
        heading="Is this what happened?",
        pairs=[("To", "R1-03")],
        consequences=["Kit A-1 becomes dirty."],
        cautions=["Unplug first."],
        confirm=action,
        back="/b",
    )

    order = ["R1-03", "Kit A-1 becomes dirty.", "Caution", "Record the move", "change nothing"]
    assert sorted(order, key=html.index) == order


def test_what_was_recorded_and_what_to_mind_are_said_apart():
    messages = [Message(SUCCESS, "B-07 is in R1-03."), Message(WARNING, "It was late.")]

    html = show("messages", messages=messages)

    assert "<b>Recorded.</b> B-07 is in R1-03." in html
    assert "<b>Caution</b> It was late." in html


# -- Filters -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "text"),
    [
        ("{{ 258000|elapsed }}", "71:40"),
        ("{{ 259201|elapsed }}", "72:00:01"),
        ("{{ at|local:zone }}", "Mon 11 Jan 2027 13:00 CET"),
        ("{{ 'within_tolerance'|plain_state }}", "over, within tolerance"),
        ("{{ 'something_new'|plain_state }}", "something new"),
        ("{% swatch 'ready' %}", ""),
    ],
)
def test_filters_say_codes_and_times_in_words(written, text):
    template = Template("{% load fillmark %}" + written)

    assert template.render(Context({"at": NOON, "zone": ZONE})) == text


def test_a_text_of_a_person_is_never_markup():
    assert "&lt;b&gt;" in show("pairs", pairs=[("Note", "<b>")])
    assert "&lt;b&gt;" in show("note", text="<b>")
    assert fillmark.figures(59) == "0:00:59"
