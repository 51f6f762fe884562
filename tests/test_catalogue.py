"""The catalogues say everything that the code says, with the same values in it."""

import importlib.util
import re
from functools import cache

import polib
import pytest
from django.conf import settings
from django.utils import translation

from protocols.said import said

LOCALE = settings.ROOT / "api" / "locale"
LANGUAGES = [code for code, _ in settings.LANGUAGES if code != "en"]
VALUES = re.compile(r"%\(\w+\)[sd]|(?<!\{)\{\w+(?=[:}])")


@cache
def script():
    """The script that people run, as a module."""
    spec = importlib.util.spec_from_file_location(
        "catalogue", settings.ROOT / "docker" / "catalogue.py"
    )
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@cache
def entries(language):
    return polib.pofile(str(LOCALE / language / "LC_MESSAGES" / "django.po"))


def forms(one):
    """A text and its translation; of a counted one, both of both."""
    if not one.msgid_plural:
        return [(one.msgid, one.msgstr)]
    return [(one.msgid, one.msgstr_plural[0]), (one.msgid_plural, one.msgstr_plural[1])]


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_translation_holds_the_same_values(language):
    wrong = {
        english: foreign
        for one in entries(language)
        for english, foreign in forms(one)
        if foreign and sorted(VALUES.findall(english)) != sorted(VALUES.findall(foreign))
    }

    assert wrong == {}


@pytest.mark.parametrize("language", LANGUAGES)
def test_nothing_that_people_read_is_left_in_english(language):
    said = {english for one in entries(language) for english, foreign in forms(one) if foreign}
    counted = script().counted()

    assert sorted((script().texts() | counted.keys() | {*counted.values()}) - said) == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_compiled_catalogue_is_made_from_the_one_that_people_read(language):
    compiled = polib.mofile(str(LOCALE / language / "LC_MESSAGES" / "django.mo"))

    assert sorted(forms(one) for one in compiled) == sorted(
        forms(one) for one in entries(language)
    )


def test_what_is_counted_is_said_in_another_language_for_one_and_for_many():
    with translation.override("es"):
        one, many = (
            translation.ngettext("{count} move", "{count} moves", n).format(count=n)
            for n in (1, 2)
        )

    assert (one, many) == ("1 traslado", "2 traslados")


def test_a_sentence_of_a_rule_is_said_in_another_language(monkeypatch):
    from api import language

    forms = {"{count} of {what} left": "quedan {count} de {what}", "fish": "peces"}
    monkeypatch.setattr(language, "gettext", lambda text: forms.get(text, text))
    text = said("{count} of {what} left", count="2.5", what="fish")

    assert (text, language.spoken(text)) == ("2.5 of fish left", "2.5 of fish left")
    with translation.override("es"):
        assert language.spoken(text) == "quedan 2,5 de peces"
        assert language.spoken("Somebody wrote this.") == "Somebody wrote this."
