"""The first page after an empty start: the set-up code makes the organisation."""

from functools import lru_cache
from uuid import UUID
from zoneinfo import available_timezones

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from api.language import later
from api.pages.acting import begin
from api.pages.fields import One, Words
from api.pages.shell import public
from protocols.proofs import Proof
from stock.doors.people import NewPerson, Place, make_first_organisation
from stock.queries.sign_ins import is_set_up, signed_in
from stock.refusals import Refused


@lru_cache
def zones() -> list[tuple[str, str]]:
    """Time zones that are named after a place."""
    named = sorted(one for one in available_timezones() if "/" in one and one[:3] != "Etc")
    return [("", _("Choose one")), *((one, one.replace("_", " ")) for one in named)]


class FirstRunForm(forms.Form):
    setup_code = Words(
        most=100,
        label=later("Set-up code"),
        help_text=later("It was printed when the service started."),
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "none"}),
    )
    name = Words(
        most=120,
        label=later("Organisation"),
        help_text=later("Who owns the animals, as certificates say it."),
    )
    site = Words(
        most=120,
        label=later("First site"),
        help_text=later("One premises, such as Harbour Street."),
    )
    zone = One(label=later("Its time zone"))
    person = Words(
        most=120,
        label=later("Your name"),
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )
    email = forms.EmailField(
        max_length=254,
        label=later("Your mail address"),
        help_text=later("You sign in with it."),
        widget=forms.EmailInput(attrs={"autocomplete": "username"}),
        error_messages={"required": later("Type your mail address.")},
    )
    password = forms.CharField(
        min_length=8,
        max_length=200,
        strip=False,
        label=later("A password"),
        help_text=later("8 characters or more."),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        error_messages={"required": later("Type a password.")},
    )

    def __init__(self, *args: object, **options: object) -> None:
        super().__init__(*args, **options)  # type: ignore[arg-type]
        field = self.fields["zone"]
        if isinstance(field, forms.ChoiceField):
            field.choices = zones()


@public
@require_http_methods(["GET", "HEAD", "POST"])
def first_run(request: HttpRequest) -> HttpResponse:
    """Only while there is no organisation; afterwards it leads to sign-in."""
    if is_set_up():
        return redirect("sign-in")
    form = FirstRunForm(request.POST or None)
    if form.is_valid() and _made(request, form):
        return redirect("start")
    status = 400 if form.is_bound else 200
    return render(request, "pages/first_run.html", {"form": form}, status=status)


def _made(request: HttpRequest, form: FirstRunForm) -> bool:
    """Make the organisation and sign its first manager in."""
    given = form.cleaned_data
    try:
        made = make_first_organisation(
            name=given["name"],
            person=NewPerson(given["person"], given["email"], given["password"]),
            site=Place(given["site"], given["zone"]),
            setup_code=given["setup_code"].strip(),
        )
    except Refused as refused:
        form.add_error("setup_code", str(refused))
        return False
    person = signed_in(UUID(made.body["person"]["uid"]))
    if person is not None:
        begin(request, person, Proof.PASSWORD)
    return True
