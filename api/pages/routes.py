"""Every page for people who work here."""

from django.urls import path

from api.pages import first_run, placing, room, sign_in, unpacking

urlpatterns = [
    path("", sign_in.start, name="start"),
    path("sign-in", sign_in.sign_in, name="sign-in"),
    path("sign-out", sign_in.sign_out, name="sign-out"),
    path("first-run", first_run.first_run, name="first-run"),
    path("sites/<uuid:site>/room", room.room, name="room"),
    path("sites/<uuid:site>/unpacking", unpacking.unpacking, name="unpacking"),
    path("consignments/<uuid:uid>", unpacking.consignment, name="consignment"),
    path("consignments/<uuid:uid>/delivery", unpacking.deliver, name="deliver"),
    path("consignments/<uuid:uid>/placing", placing.place, name="place"),
    path("lines/<uuid:uid>/count", unpacking.count, name="count-line"),
    path("batches/<uuid:uid>", room.room, name="batch"),
    path("containers/<uuid:uid>", room.room, name="container"),
]
