"""Contacts of a premises: what was said and promised, objections and their decisions."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from notices.actions.clocks import Day
from notices.actions.contacts import Told, withdraw_contact, write_down
from notices.actions.objections import Raised, Verdict, decide_objection, take_objection
from notices.forms.contacts import ContactForm, ObjectionForm, VerdictForm
from notices.models import Contact, Letter, Objection
from notices.queries.contacts import happenings, open_objection
from registry.access import Verb
from registry.models import Premises
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.forms.plain import PlainForm
from scheduling.views.desk import Desk, at_desk, name_of


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.LOOK)
def contacts(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Everything said about a premises, newest first; a new contact is written down below."""
    premises = _premises(desk, pk)
    letter = _letter(desk, request.GET.get("letter", ""))
    form = ContactForm(
        request.POST if request.method == "POST" else None,
        premises=premises,
        initial={"on": desk.today},
    )
    if request.method == "POST":
        if not desk.may("edit"):
            raise PermissionDenied
        if form.is_valid() and _write(form, premises=premises, letter=letter, desk=desk):
            messages.success(request, "It is written down.")
            return redirect("contacts", code=desk.program.code, pk=pk)
    context = {
        "desk": desk,
        "premises": premises,
        "form": form,
        "letter": letter,
        "rows": happenings(premises, today=desk.today),
        "objection": open_objection(premises),
    }
    return render(request, "notices/contacts.html", context)


@require_POST
@at_desk(verb=Verb.EDIT)
def contact_withdraw(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Withdraw a contact that was entered by mistake; it stays to be read."""
    row = get_object_or_404(
        Contact.objects.select_related("program", "premises"), program=desk.program, pk=pk
    )
    reason = request.POST.get("reason", "")[:500].replace("\x00", "").strip()
    try:
        done = withdraw_contact(row, day=day_of(desk), hand=desk.hand(reason))
    except RefusedChangeError as refusal:
        messages.error(request, refusal.message)
    else:
        told = "It is withdrawn, and stays to be read." if done else "Somebody did before."
        messages.success(request, told)
    return redirect("contacts", code=desk.program.code, pk=row.premises_id)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.SETTLE)
def objection_new(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Take an objection down: the clock of letters stands until it is decided."""
    premises = _premises(desk, pk)
    letter = _letter(desk, request.GET.get("letter", ""))
    form = ObjectionForm(
        request.POST if request.method == "POST" else None, initial={"raised_on": desk.today}
    )
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        raised = Raised(
            kind=told["kind"],
            raised_by=told["raised_by"],
            words=told["words"],
            raised_on=told["raised_on"],
            review_on=told["review_on"],
            letter=letter,
        )
        try:
            take_objection(premises, raised=raised, day=day_of(desk), hand=desk.hand())
        except RefusedChangeError as refusal:
            _add(form, refusal)
        else:
            messages.success(request, "It is taken down. No letter leaves until it is decided.")
            return redirect("contacts", code=desk.program.code, pk=pk)
    context = {"desk": desk, "premises": premises, "form": form, "letter": letter}
    return render(request, "notices/objection_new.html", context)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.LOOK)
def objection(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """One objection: what was said, and its decision by a named person."""
    if request.method == "POST" and not desk.may("settle"):
        raise PermissionDenied
    row = get_object_or_404(
        Objection.objects.select_related("premises", "letter"), program=desk.program, pk=pk
    )
    form = VerdictForm(
        request.POST if request.method == "POST" else None,
        initial={"decided_by": name_of(desk.person)},
    )
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        verdict = Verdict(
            outcome=told["outcome"],
            decided_by=told["decided_by"],
            words=told["decision"],
            excused_until=told["excused_until"],
        )
        try:
            _, written = decide_objection(
                row.pk, verdict=verdict, day=day_of(desk), hand=desk.hand()
            )
        except RefusedChangeError as refusal:
            _add(form, refusal)
        else:
            messages.success(request, "It is decided. Read the letter about it, and release it.")
            return redirect("letter", code=desk.program.code, pk=written.pk)
    context = {"desk": desk, "objection": row, "premises": row.premises, "form": form}
    return render(request, "notices/objection.html", context)


def day_of(desk: Desk) -> Day:
    """The day on which a person at this desk acts."""
    return Day(program=desk.program, on=desk.today, at=desk.now)


def _write(form: ContactForm, *, premises: Premises, letter: Letter | None, desk: Desk) -> bool:
    told: dict[str, Any] = form.cleaned_data
    try:
        write_down(
            premises,
            told=Told(
                kind=told["kind"],
                on=told["on"],
                words=told["words"],
                form_key=told["form_key"] or str(form.initial["form_key"]),
                spoken_with=told["spoken_with"],
                promised_for=told["promised_for"],
                assembly=told["assembly"],
                letter=letter,
            ),
            day=day_of(desk),
            hand=desk.hand(),
        )
    except RefusedChangeError as refusal:
        _add(form, refusal)
        return False
    return True


def _add(form: PlainForm, refusal: RefusedChangeError) -> None:
    form.add_error(refusal.field if refusal.field in form.fields else None, refusal.message)


def _premises(desk: Desk, pk: int) -> Premises:
    found = Premises.objects.select_related("program").filter(program=desk.program, pk=pk).first()
    if found is None:
        raise Http404("No such premises.")
    return found


def _letter(desk: Desk, text: str) -> Letter | None:
    if not (text.isascii() and text.isdigit() and len(text) < 12):
        return None
    return Letter.objects.filter(program=desk.program, pk=int(text)).first()
