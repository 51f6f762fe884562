"""Packing lists: sent, looked through with every problem by its row, then applied."""

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from api.language import later
from api.pages.asking import Told, send
from api.pages.fields import One, Rows, Several
from api.pages.forms import show_form
from api.pages.links import label
from api.pages.parts import Table
from api.pages.shell import Here, here, page, show
from stock import access
from stock.doors.imports import Sent, answer_list, apply_list, preview_list
from stock.queries.imports_seen import ImportSeen, import_seen
from stock.queries.suppliers import suppliers_listed
from stock.refusals import Refused

LINES_MOST = 500
NAMES_MOST = 40
DIFFERENCES_MOST = 500
SPECIES = "species-"


class ListForm(Told):
    """Whose list, and its file. Nothing is entered by sending it."""

    WITHOUT = ("when", "reason", "standing", "set_aside", "why_aside", "note")

    supplier = One(label=later("Whose list is it?"))
    file = forms.FileField(
        label=later("The packing list"),
        help_text=later("CSV or XLSX, as the supplier sent it. The original is kept."),
        error_messages={
            "required": later("Choose a file."),
            "empty": later("The file is empty."),
        },
    )

    def __init__(
        self, *args: Any, suppliers: Sequence[Mapping[str, Any]], **options: Any
    ) -> None:
        super().__init__(*args, **options)
        rows = ((str(one["uid"]), one["name"]) for one in suppliers)
        self._choose("supplier", [("", _("Choose one")), *rows])


@page
@require_http_methods(["GET", "HEAD", "POST"])
def send_list(request: HttpRequest, site: UUID) -> HttpResponse:
    """Read a list and look through it; the same file twice is the same list."""
    at = here(request, site, access.MANAGERS)
    form = ListForm(
        request.POST or None,
        request.FILES or None,
        at=at,
        suppliers=suppliers_listed(at.person),
    )
    if form.is_valid() and (uid := _read(form, at)):
        return redirect("import", uid)
    return show_form(
        request,
        at,
        form,
        _("Read a packing list"),
        do=_("Read it"),
        back=("unpacking", site),
        current="unpacking",
        lead=_("It is looked through first. Nothing is entered before you say so."),
    )


def _read(form: ListForm, at: Here) -> UUID | None:
    given = form.cleaned_data
    sent = Sent(given["file"], given["file"].name, {})
    try:
        answer = preview_list(
            at.person, site=at.site.uid, supplier=UUID(given["supplier"]), sent=sent, at=at.now
        )
    except Refused as refused:
        form.refused(refused, {})
        return None
    return UUID(str(answer.body["import"]["uid"]))


# -- Looking through it ------------------------------------------------------------------------


class AnswersForm(forms.Form):
    """What the file leaves open, asked once; and species for names that are not known."""

    def __init__(self, *args: Any, shown: Mapping[str, Any], **options: Any) -> None:
        super().__init__(*args, **options)
        self.asked = [one["key"] for one in shown["questions"]]
        for one in shown["questions"]:
            choices = [(choice["value"], choice["shows"]) for choice in one["choices"]]
            self.fields[one["key"]] = Rows(choices, required=False, label=one["text"])
        self.names = _unknown_names(shown["lines"])
        for n, (name, candidates) in enumerate(self.names.items()):
            choices = [("", _("Not decided")), *candidates]
            self.fields[f"{SPECIES}{n}"] = One(
                choices, required=False, label=_("What is {name}?").format(name=name)
            )

    def answers(self, before: Mapping[str, Any]) -> dict[str, Any]:
        given = self.cleaned_data
        answers = {key: given[key] for key in self.asked if given.get(key)}
        chosen = {
            name: given[f"{SPECIES}{n}"]
            for n, name in enumerate(self.names)
            if given.get(f"{SPECIES}{n}")
        }
        if chosen:
            answers["species"] = {**before.get("species", {}), **chosen}
        return answers


class ApplyForm(Told):
    """What was looked through is entered; each difference is accepted by itself."""

    WITHOUT = ("when", "reason", "standing", "set_aside", "why_aside")

    accepted = Several(
        required=False, label=later("Accept what is different from the list before")
    )

    def __init__(
        self, *args: Any, differences: Sequence[Mapping[str, Any]], **options: Any
    ) -> None:
        super().__init__(*args, **options)
        rows = [(one["key"], _difference(one)) for one in differences[:DIFFERENCES_MOST]]
        if rows:
            self._choose("accepted", rows)
        else:
            del self.fields["accepted"]


@page
@require_safe
def preview(request: HttpRequest, uid: UUID) -> HttpResponse:
    found = import_seen(uid)
    at = here(request, found.site, access.MANAGERS)
    return _preview(request, at, found)


@page
@require_POST
def answer(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Read the list again with what was answered."""
    found = import_seen(uid)
    at = here(request, found.site, access.MANAGERS)
    form = AnswersForm(request.POST, shown=found.shown(at.person))
    if form.is_valid():
        answers = form.answers(found.row.answers)
        answer_list(at.person, uid=uid, answers=answers, at=at.now)
        return redirect("import", uid)
    return _preview(request, at, found, answers=form)


@page
@require_POST
def apply(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Enter what the list says."""
    found = import_seen(uid)
    at = here(request, found.site, access.MANAGERS)
    shown = found.shown(at.person)
    form = ApplyForm(request.POST, at=at, differences=_differences(shown))
    done = send(
        request,
        form,
        lambda asked: apply_list(
            asked,
            uid=uid,
            answers={},
            accepted=frozenset(form.cleaned_data.get("accepted") or ()),
        ),
        {"differences_accepted": "accepted"},
    )
    if done:
        messages.success(request, _("The list is entered. Counts come from the bags alone."))
        return redirect("consignment", done.body["consignment"]["uid"])
    return _preview(request, at, found, applying=form)


def _preview(
    request: HttpRequest,
    at: Here,
    found: ImportSeen,
    *,
    answers: AnswersForm | None = None,
    applying: ApplyForm | None = None,
) -> HttpResponse:
    shown = found.shown(at.person)
    existing = shown.get("existing")
    asking = answers or AnswersForm(shown=shown)
    on_record = existing and (existing["same_file"] or not existing["differences"])
    context = {
        "import": shown,
        "uid": found.row.uid,
        "heading": ", ".join(one for one in (found.supplier, shown["waybill"]) if one),
        "existing": existing,
        "on_record": on_record,
        "problems": _problems_table(shown),
        "blocking": sum(bool(one["blocks"]) for one in shown["problems"]),
        "notes": shown["notes"],
        "answers": asking if asking.fields and not on_record else None,
        "apply": (applying or ApplyForm(at=at, differences=_differences(shown)))
        if shown["may_be_applied"] and not on_record
        else None,
        "lines": _lines_table(shown),
        "more": max(0, len(shown["lines"]) - LINES_MOST),
        "understood": _understood(shown["understood"]),
    }
    refused = (applying and (applying.objections or applying.errors)) or answers
    status = 409 if refused else 200
    return show(request, at, "import", context, current="unpacking", status=status)


def _problems_table(shown: Mapping[str, Any]) -> Table:
    """Every problem by its row, those first that must be put right."""
    ordered = sorted(shown["problems"], key=lambda one: (not one["blocks"], one["row"] or 0))
    return Table(
        _("What is wrong in the file"),
        (_("Row"), _("Column"), _("What"), _("As printed")),
        [
            (
                one["row"] or _("all"),
                one["column"] or "",
                one["detail"] if one["blocks"] else f"{one['detail']} (worth knowing)",
                one["value"],
            )
            for one in ordered
        ],
    )


def _lines_table(shown: Mapping[str, Any]) -> Table:
    return Table(
        _("Lines"),
        (_("As printed"), _("Species"), _("Box"), _("Listed"), _("Row")),
        [
            (
                line["text"],
                line["species_name"] or _("not known yet"),
                label(line["box"]),
                line["listed"],
                line["row"],
            )
            for line in shown["lines"][:LINES_MOST]
        ],
        frozenset({3, 4}),
        empty=_("No line could be read."),
    )


def _understood(read: Mapping[str, Any]) -> list[tuple[str, str]]:
    """How the file was read, as far as people can check it."""
    said = ((_("File"), "file_name"), (_("Form"), "format"), (_("Characters"), "encoding"))
    marks = ((_("Separator"), "separator"), (_("Sheet"), "sheet"))
    return [(text, str(read[name])) for text, name in (*said, *marks) if read.get(name)]


def _unknown_names(lines: Sequence[Mapping[str, Any]]) -> dict[str, list[tuple[str, str]]]:
    """Printed names that mean no species yet, each with what it may mean."""
    found: dict[str, list[tuple[str, str]]] = {}
    for line in lines:
        if line["species"] is None and line["candidates"] and len(found) < NAMES_MOST:
            found[line["text"]] = [
                (one["species"], one["scientific_name"]) for one in line["candidates"]
            ]
    return found


def _differences(shown: Mapping[str, Any]) -> Sequence[Mapping[str, Any]]:
    existing = shown.get("existing")
    return existing["differences"] if existing else ()


def _difference(one: Mapping[str, Any]) -> str:
    old, new = one["old"], one["new"]
    if one["kind"] == "added":
        return _("New: {text}, {listed}").format(text=new["text"], listed=new["listed"])
    if one["kind"] == "gone":
        return _("Gone: {text}, {listed}").format(text=old["text"], listed=old["listed"])
    changes = (
        _("{name} {before} is now {now}").format(
            name=name, before=old.get(name), now=new.get(name)
        )
        for name in one["fields"]
    )
    return f"{old['text']}: {', '.join(changes)}"
