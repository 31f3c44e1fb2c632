"""Pages of merging: what looks alike, two rows side by side with a choice per field, undoing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from registry.access import Verb
from registry.domain.sizes import size_text
from registry.models import Assembly, Merge, Party
from reports.merging.assemblies import TAKEN_TOGETHER, merge_assemblies
from reports.merging.lookalikes import alike_assemblies, alike_parties
from reports.merging.parties import FIELDS, merge_parties
from reports.merging.undoing import UNDO_DAYS, may_be_undone, undo_merge
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.views.desk import Desk, at_desk

_SHOWN = 30


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One field of two rows: what each says, and whether they differ."""

    name: str
    words: str
    kept: str
    gone: str

    @property
    def differs(self) -> bool:
        """Whether there is anything to choose."""
        return self.kept != self.gone

    @property
    def takes_gone(self) -> bool:
        """Whether the other side is the better guess: this one is blank."""
        return not self.kept and bool(self.gone)


@require_GET
@at_desk(verb=Verb.LOOK)
def merges(request: HttpRequest, desk: Desk) -> HttpResponse:
    """What looks like one, and what was merged."""
    made = [
        (merge, may_be_undone(merge, today=desk.today))
        for merge in Merge.objects.filter(program=desk.program).defer("record")[:_SHOWN]
    ]
    context = {
        "desk": desk,
        "parties": alike_parties(desk.program),
        "assemblies": alike_assemblies(desk.program),
        "made": made,
        "undo_days": UNDO_DAYS,
    }
    return render(request, "reports/merges.html", context)


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def merge_two_parties(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Two parties side by side; posted, they are one."""
    kept, gone = _two_parties(request, desk)
    choices = [
        Choice(
            name=name,
            words={"zip": "ZIP", "email": "e-mail"}.get(name, name),
            kept=str(getattr(kept, name)),
            gone=str(getattr(gone, name)),
        )
        for name in FIELDS
    ]
    if request.method == "POST":
        return _merged(request, desk, choices=choices, merge=merge_parties, ids=(kept.pk, gone.pk))
    follows = [
        ("premises", kept.roles.count(), gone.roles.count()),
        ("letters", kept.letters.count(), gone.letters.count()),
    ]
    return _side_by_side(
        request, desk, what="parties", rows=(kept, gone), choices=choices, follows=follows
    )


@require_http_methods(["GET", "POST"])
@at_desk(verb=Verb.EDIT)
def merge_two_assemblies(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Two assemblies side by side; posted, they are one and replay."""
    kept, gone = _two_assemblies(request, desk)
    choices = [
        Choice(
            name=name,
            words={"size_in": "size", "serial": "maker and serial"}.get(name, name),
            kept=_shown(kept, name),
            gone=_shown(gone, name),
        )
        for name in TAKEN_TOGETHER
    ]
    if request.method == "POST":
        return _merged(
            request, desk, choices=choices, merge=merge_assemblies, ids=(kept.pk, gone.pk)
        )
    follows = [
        ("facts", kept.facts.count(), gone.facts.count()),
        ("field tests", kept.field_tests.count(), gone.field_tests.count()),
        ("letters owed or left", kept.notices.count(), gone.notices.count()),
    ]
    return _side_by_side(
        request, desk, what="assemblies", rows=(kept, gone), choices=choices, follows=follows
    )


def _shown(one: Assembly, name: str) -> str:
    if name == "serial":
        return f"{one.maker} {one.serial}".strip()
    if name == "premises":
        service = one.connection.kind or "service not recorded"
        return f"{one.premises}, {one.premises.address}; {service}"
    if name == "size_in":
        return f"{size_text(one.size_in)} in"
    return str(getattr(one, name))


def _keys(request: HttpRequest) -> tuple[int, int]:
    source = request.POST if request.method == "POST" else request.GET
    texts = (source.get("kept", ""), source.get("gone", ""))
    if not all(text.isascii() and text.isdecimal() and len(text) < 19 for text in texts):
        raise Http404("Two rows are needed.")
    kept, gone = map(int, texts)
    if kept == gone:
        raise Http404("These are one already.")
    return kept, gone


def _two_parties(request: HttpRequest, desk: Desk) -> tuple[Party, Party]:
    keys = _keys(request)
    found = Party.objects.filter(program=desk.program).in_bulk(keys)
    if len(found) != 2:
        raise Http404("No such parties.")
    return found[keys[0]], found[keys[1]]


def _two_assemblies(request: HttpRequest, desk: Desk) -> tuple[Assembly, Assembly]:
    keys = _keys(request)
    rows = Assembly.objects.filter(program=desk.program).select_related("premises", "connection")
    found = rows.in_bulk(keys)
    if len(found) != 2:
        raise Http404("No such assemblies.")
    return found[keys[0]], found[keys[1]]


def _merged(
    request: HttpRequest,
    desk: Desk,
    *,
    choices: Sequence[Choice],
    merge: Callable[..., Merge],
    ids: tuple[int, int],
) -> HttpResponse:
    from_gone = frozenset(
        one.name for one in choices if request.POST.get(f"take_{one.name}") == "gone"
    )
    reason = request.POST.get("reason", "")[:300].replace("\x00", "").strip()
    try:
        made = merge(
            program=desk.program,
            kept_id=ids[0],
            gone_id=ids[1],
            from_gone=from_gone,
            today=desk.today,
            hand=desk.hand(reason),
        )
    except RefusedChangeError as refusal:
        messages.error(request, refusal.message)
    else:
        messages.success(
            request, f"{made}. The old name still finds it; undo within {UNDO_DAYS} days."
        )
    return redirect("merges", code=desk.program.code)


def _side_by_side(
    request: HttpRequest,
    desk: Desk,
    *,
    what: str,
    rows: tuple[Party, Party] | tuple[Assembly, Assembly],
    choices: Sequence[Choice],
    follows: Sequence[tuple[str, int, int]],
) -> HttpResponse:
    context = {
        "desk": desk,
        "what": what,
        "kept": rows[0],
        "gone": rows[1],
        "choices": choices,
        "follows": follows,
        "undo_days": UNDO_DAYS,
        "other_way": f"?kept={rows[1].pk}&gone={rows[0].pk}",
    }
    return render(request, "reports/merge.html", context)


@require_POST
@at_desk(verb=Verb.EDIT)
def merge_undo(request: HttpRequest, desk: Desk, pk: int) -> HttpResponse:
    """Undo a merge, or say what was touched since."""
    merge = Merge.objects.filter(program=desk.program, pk=pk).first()
    if merge is None:
        raise Http404("No such merge.")
    try:
        undo_merge(merge=merge, today=desk.today, hand=desk.hand())
    except RefusedChangeError as refusal:
        messages.error(request, refusal.message)
    else:
        messages.success(request, f"{merge.gone_label} and {merge.kept_label} are two again.")
    return redirect("merges", code=desk.program.code)
