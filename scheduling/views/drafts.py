"""A draft of the program's next rulebook: begun, read, brought in and out, changed by acts."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from registry.access import Verb
from scheduling.actions import drafting
from scheduling.actions.drafting import Seen, start_draft
from scheduling.actions.enforcing import EnforcingError, take_back
from scheduling.domain.draft_tables import LISTS, DraftError, DraftTables
from scheduling.forms.rule_tables import HeadForm
from scheduling.forms.rules import NAMES
from scheduling.models import Adoption, Rulebook
from scheduling.queries.editions import named_book
from scheduling.queries.rulebooks import rulebook_from
from scheduling.queries.shapes import shapes_in
from scheduling.queries.shipped import UnknownRulebookError, shipped_text
from scheduling.views.desk import Desk, at_desk
from scheduling.views.rule_pages import read_book
from scheduling.views.rules_in_force import adoption_of

MOST_BYTES = 1024 * 1024


def draft_or_404(desk: Desk, *, pk: int) -> Rulebook:
    """The program's draft of that number; Http404 where it is none, or none any more."""
    row = Rulebook.objects.filter(program=desk.program, pk=pk, is_draft=True).first()
    if row is None:
        raise Http404("There is no such draft.")
    return row


def seen_by(request: HttpRequest, desk: Desk, *, pk: int) -> Seen:
    """What draft the person had before them, by the digest their page held."""
    sha256 = str(request.POST.get("seen", ""))[:64]
    return Seen(program=desk.program, draft_id=pk, sha256=sha256)


@require_GET
@at_desk()
def draft(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """The draft as sentences, each with its form; its gaps; what may be done with it."""
    row = draft_or_404(desk, pk=pk)
    book = rulebook_from(row)
    context = {
        "desk": desk,
        "row": row,
        "read": read_book(book, shapes=shapes_in(desk.program)),
        "adoption": adoption_of(desk),
        "parts": [(part, NAMES[part]) for part in LISTS],
    }
    return render(request, "scheduling/rulebook_draft.html", context)


@require_POST
@at_desk(verb=Verb.SET_UP)
def start(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Copy a rulebook as a draft; a name that is taken comes back with a sentence."""
    word = str(request.POST.get("source", ""))[:200]
    try:
        book, row = named_book(program=desk.program, word=word)
        text = row.text if row is not None else shipped_text(book.name)
        name = str(request.POST.get("name", "")).strip() or book.name
        made = start_draft(program=desk.program, text=text, name=name, hand=desk.hand())
    except (UnknownRulebookError, DraftError) as error:
        messages.error(request, str(error))
        return redirect("rulebook", code=desk.program.code)
    messages.success(request, f"{made} is a draft now. It binds nobody until it is in force.")
    return redirect("rulebook-draft", code=desk.program.code, pk=made.pk)


@require_POST
@at_desk(verb=Verb.SET_UP)
def upload(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Bring a TOML file in as a draft, or in place of one; refused whole with every reason."""
    pk = str(request.POST.get("draft", ""))
    row = draft_or_404(desk, pk=int(pk)) if pk.isascii() and pk.isdigit() else None
    try:
        text = _uploaded(request)
        if row is not None:
            seen = seen_by(request, desk, pk=row.pk)
            made = drafting.replace_text(seen=seen, text=text, hand=desk.hand())
        else:
            name = str(DraftTables.of(text).tables.get("name", ""))
            made = start_draft(program=desk.program, text=text, name=name, hand=desk.hand())
    except DraftError as error:
        for fault in error.faults[:12]:
            messages.error(request, fault)
        if row is not None:
            return redirect("rulebook-draft", code=desk.program.code, pk=row.pk)
        return redirect("rulebook", code=desk.program.code)
    messages.success(request, f"{made} holds what the file says.")
    return redirect("rulebook-draft", code=desk.program.code, pk=made.pk)


def _uploaded(request: HttpRequest) -> str:
    file: Any = request.FILES.get("file")
    if file is None or not file.size:
        raise DraftError("No file was chosen, or it is empty. Choose a TOML file.")
    if file.size > MOST_BYTES:
        raise DraftError("The file is larger than 1 MB: a rulebook is far shorter.")
    try:
        text: str = file.read().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise DraftError("The file is no UTF-8 text: save it as UTF-8.") from error
    if "\x00" in text:
        raise DraftError("The file holds a sign that cannot be kept: save it as plain text.")
    return text


@require_POST
@at_desk(verb=Verb.SET_UP)
def act(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Move or take out a rule, close or open a gap, or throw the draft away."""
    draft_or_404(desk, pk=pk)
    seen = seen_by(request, desk, pk=pk)
    word = str(request.POST.get("act", ""))
    if word == "discard":
        return _discard(request, desk, seen=seen)
    try:
        said = _acted(request, desk, seen=seen, word=word)
    except DraftError as error:
        for fault in error.faults:
            messages.error(request, fault)
    else:
        messages.success(request, said)
    return redirect("rulebook-draft", code=desk.program.code, pk=pk)


def _acted(request: HttpRequest, desk: Desk, *, seen: Seen, word: str) -> str:
    part = str(request.POST.get("part", ""))
    said = str(request.POST.get("place", ""))
    place = int(said) - 1 if said.isascii() and said.isdigit() and len(said) < 6 else 0
    gap, hand = str(request.POST.get("gap", ""))[:200], desk.hand()
    if word in ("up", "down", "remove") and part not in NAMES:
        raise DraftError("No such rule: look at the draft as it stands now.")
    acts: dict[str, tuple[Callable[[], Any], str]] = {
        "up": (lambda: drafting.move_rule(seen=seen, part=part, place=place, by=-1, hand=hand),
               "It stands one place further up."),
        "down": (lambda: drafting.move_rule(seen=seen, part=part, place=place, by=1, hand=hand),
                 "It stands one place further down."),
        "remove": (lambda: drafting.remove_rule(seen=seen, part=part, place=place, hand=hand),
                   "The rule is taken out."),
        "fill": (lambda: drafting.fill_gap(seen=seen, gap=gap, hand=hand),
                 "The gap is closed: a rule stands in it."),
        "reopen": (lambda: drafting.open_gap_again(seen=seen, gap=gap, hand=hand),
                   "The gap stands open again."),
    }  # fmt: skip
    if word not in acts:
        raise DraftError("Nothing was done: choose what to do.")
    acts[word][0]()
    return acts[word][1]


def _discard(request: HttpRequest, desk: Desk, *, seen: Seen) -> HttpResponse:
    try:
        drafting.discard_draft(seen=seen, hand=desk.hand())
    except DraftError as error:
        messages.error(request, str(error))
        return redirect("rulebook-draft", code=desk.program.code, pk=seen.draft_id)
    messages.success(request, "The draft is thrown away; its text stays in the change history.")
    return redirect("rulebook", code=desk.program.code)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.SET_UP)
def head(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Title, place and the law's own day of a draft."""
    row = draft_or_404(desk, pk=pk)
    tables = DraftTables.of(row.text).tables
    form = HeadForm(request.POST or None, initial=tables)
    if request.method == "POST" and form.is_valid():
        try:
            seen = seen_by(request, desk, pk=pk)
            drafting.save_head(seen=seen, cells=form.cells(), hand=desk.hand())
        except DraftError as error:
            form.tell(error.faults)
        else:
            messages.success(request, "Title and place are kept.")
            return redirect("rulebook-draft", code=desk.program.code, pk=pk)
    context = {"desk": desk, "row": row, "form": form, "title": "Title and place"}
    return render(request, "scheduling/rulebook_form.html", context)


@require_POST
@at_desk(verb=Verb.SET_UP)
def take_back_adoption(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Undo a decision before its day comes."""
    get_object_or_404(Adoption, program=desk.program, pk=pk)
    try:
        row = take_back(program=desk.program, adoption_id=pk, today=desk.today, hand=desk.hand())
    except EnforcingError as error:
        messages.error(request, str(error))
        return redirect("rulebook", code=desk.program.code)
    messages.success(request, f"{row} will not come into force. Nothing had followed from it.")
    if row.is_draft:
        return redirect("rulebook-draft", code=desk.program.code, pk=row.pk)
    return redirect("rulebook", code=desk.program.code)
