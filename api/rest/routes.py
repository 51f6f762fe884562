"""Every REST address, by subject."""

from django.urls import path

from api.rest import (
    batches,
    calls,
    carryover,
    certificates,
    codes,
    counts,
    devices,
    epcis,
    erasing,
    exports,
    fallow,
    files,
    handovers,
    imports,
    intake,
    kits,
    labels,
    leaving,
    mixing,
    people,
    probes,
    protocols,
    questions,
    readings,
    records,
    reports,
    signs,
    sites,
    splitting,
    stocking,
    suppliers,
    traces,
    visits,
    water,
    webhooks,
    work,
)
from api.rest.kits import EquipmentView
from api.rest.readings import InstrumentView
from api.rest.things import INPUTS, ThingsView, ThingView

PEOPLE = [
    path("organisations", people.OrganisationsView.as_view()),
    path("tokens", people.TokensView.as_view()),
    path("sites", people.SitesView.as_view()),
    path("people", people.PeopleView.as_view()),
    path("units", people.UnitsView.as_view()),
    path("people/<uuid:uid>", people.PersonView.as_view()),
]
# What says more of a thing than its columns.
STATED = {
    "containers": EquipmentView,
    "kits": EquipmentView,
    "pieces": EquipmentView,
    "instruments": InstrumentView,
}
THINGS = [
    route
    for sort in INPUTS
    for route in (
        path(f"sites/<uuid:site>/{sort}", ThingsView.as_view(sort=sort)),
        path(f"{sort}/<uuid:uid>", STATED.get(sort, ThingView).as_view(sort=sort)),
    )
]

urlpatterns = [
    *PEOPLE,
    *THINGS,
    *suppliers.routes,
    *files.routes,
    *imports.routes,
    *intake.routes,
    *batches.routes,
    *calls.routes,
    *carryover.routes,
    *certificates.routes,
    *codes.routes,
    *counts.routes,
    *devices.routes,
    *epcis.routes,
    *erasing.routes,
    *protocols.routes,
    *exports.routes,
    *fallow.routes,
    *labels.routes,
    *handovers.routes,
    *leaving.routes,
    *signs.routes,
    *splitting.routes,
    *stocking.routes,
    *questions.routes,
    *sites.routes,
    *kits.routes,
    *readings.routes,
    *probes.routes,
    *mixing.routes,
    *records.routes,
    *reports.routes,
    *traces.routes,
    *visits.routes,
    *water.routes,
    *webhooks.routes,
    *work.routes,
]
