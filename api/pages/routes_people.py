"""Pages about people and the tablets they work with."""

from django.urls import path
from django.views.i18n import set_language

from api.pages import first_run, outside, own_sign_in, people, sign_in, tablets, who

SIGN_IN = [
    path("", sign_in.start, name="start"),
    path("language", set_language, name="language"),
    path("sign-in", sign_in.sign_in, name="sign-in"),
    path("sign-in/code", sign_in.sign_in_code, name="sign-in-code"),
    path("sign-out", sign_in.sign_out, name="sign-out"),
    path("first-run", first_run.first_run, name="first-run"),
]
TABLETS = [
    path("tablet", who.who_is_here, name="who-is-here"),
    path("tablet/people/<uuid:uid>", who.pin, name="pin"),
    path("tablet/people/<uuid:uid>/act", who.act, name="act-as"),
    path("tablet/people/<uuid:uid>/leave", who.go, name="leave-tablet"),
    path("tablet/new-pin", who.new_pin, name="new-pin"),
    path("tablet/kept", who.kept_form, name="kept-form"),
    path("sites/<uuid:site>/tablets", tablets.tablets, name="tablets"),
    path("sites/<uuid:site>/own-sign-in", own_sign_in.own_sign_in, name="own-sign-in"),
    path("sites/<uuid:site>/second-factor", own_sign_in.set_up_code, name="second-factor"),
    path("sites/<uuid:site>/people", people.people, name="people"),
    path("sites/<uuid:site>/people/<uuid:uid>", people.person, name="person"),
    path("sites/<uuid:site>/people/<uuid:uid>/pin", people.first_pin, name="first-pin"),
    path("sites/<uuid:site>/people/<uuid:uid>/end", people.end_person, name="end-person"),
    path("questions/<uuid:uid>/outside", outside.make_outside_link, name="outside-link"),
    path("tablets/<uuid:uid>/end", tablets.end_tablet, name="end-tablet"),
]
PEOPLE = [*SIGN_IN, *TABLETS]
