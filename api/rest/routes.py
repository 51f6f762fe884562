"""Every REST address, by subject."""

from django.urls import path

from api.rest import batches, intake, people, questions, suppliers
from api.rest.things import INPUTS, ThingsView, ThingView

PEOPLE = [
    path("organisations", people.OrganisationsView.as_view()),
    path("tokens", people.TokensView.as_view()),
    path("sites", people.SitesView.as_view()),
    path("people", people.PeopleView.as_view()),
    path("people/<uuid:uid>", people.PersonView.as_view()),
]
THINGS = [
    route
    for sort in INPUTS
    for route in (
        path(f"sites/<uuid:site>/{sort}", ThingsView.as_view(sort=sort)),
        path(f"{sort}/<uuid:uid>", ThingView.as_view(sort=sort)),
    )
]

urlpatterns = [*PEOPLE, *THINGS, *suppliers.routes, *intake.routes, *batches.routes, *questions.routes]
