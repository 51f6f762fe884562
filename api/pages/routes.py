"""Every page for people who work here."""

from django.urls import path

from api.pages import first_run, room, sign_in

urlpatterns = [
    path("", sign_in.start, name="start"),
    path("sign-in", sign_in.sign_in, name="sign-in"),
    path("sign-out", sign_in.sign_out, name="sign-out"),
    path("first-run", first_run.first_run, name="first-run"),
    path("sites/<uuid:site>/room", room.room, name="room"),
    path("batches/<uuid:uid>", room.room, name="batch"),
    path("containers/<uuid:uid>", room.room, name="container"),
]
