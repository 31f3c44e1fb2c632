"""What a customer file proposes: compared side by side, accepted or refused singly or by kind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.contrib import messages
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from registry.access import Verb
from registry.domain.proposals import ProposalKind
from registry.models import LoadBatch, Proposal
from registry.source_files import LoadRefusedError, SourceFile
from scheduling.actions.by_hand.proposals import accept_proposals, refuse_proposals
from scheduling.loading.customer_load import WHAT, load_customers
from scheduling.views.desk import Desk, at_desk, name_of
from scheduling.views.uploads import chosen_file

_SHOWN = 200
_MOST = 5000


@dataclass(frozen=True, kw_only=True)
class Side:
    """One field of a proposal: what stands on record, and what the file says."""

    name: str
    before: str
    after: str


@dataclass(frozen=True, kw_only=True)
class ProposalShown:
    """A proposal with the fields that differ."""

    row: Proposal
    sides: list[Side]


@dataclass(frozen=True, kw_only=True)
class KindShown:
    """The waiting proposals of one kind: how many, and the first of them."""

    kind: str
    total: int
    rows: list[ProposalShown]

    @property
    def unseen(self) -> int:
        """How many wait beyond those shown."""
        return self.total - len(self.rows)


@require_GET
@at_desk(verb=Verb.LOOK)
def proposals(request: HttpRequest, desk: Desk) -> HttpResponse:
    """What waits, kind by kind, the gravest first."""
    waiting = Proposal.objects.filter(program=desk.program, settled_at__isnull=True)
    totals = dict(waiting.values_list("kind").annotate(n=Count("pk")).order_by("kind"))
    rows = list(waiting.select_related("premises").order_by("kind", "raised_on", "pk")[:_SHOWN])
    kinds = [
        KindShown(kind=kind.value, total=totals[kind.value], rows=_of_kind(rows, kind))
        for kind in ProposalKind
        if kind.value in totals
    ]
    context = {
        "desk": desk,
        "kinds": kinds,
        "total": sum(totals.values()),
        "batches": LoadBatch.objects.filter(program=desk.program, what=WHAT)[:6],
        "settled": Proposal.objects.filter(program=desk.program, settled_at__isnull=False)
        .select_related("premises")
        .order_by("-settled_at", "-pk")[:10],
    }
    return render(request, "scheduling/proposals.html", context)


def _of_kind(rows: Sequence[Proposal], kind: ProposalKind) -> list[ProposalShown]:
    return [
        ProposalShown(
            row=row,
            sides=[
                Side(name=name, before=row.before.get(name, ""), after=row.after[name])
                for name in row.after
                if row.before.get(name, "") != row.after[name]
            ],
        )
        for row in rows
        if row.kind == kind
    ]


@require_POST
@at_desk(verb=Verb.SETTLE)
def proposals_settle(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Accept or refuse the ticked ones, or all of one kind."""
    ids = [int(text) for text in request.POST.getlist("proposal") if text.isdecimal()]
    kind = request.POST.get("kind", "")
    if kind in set(ProposalKind):
        waiting = Proposal.objects.filter(program=desk.program, kind=kind, settled_at__isnull=True)
        ids = list(waiting.order_by("pk").values_list("pk", flat=True))
    ids = [pk for pk in ids if pk < 2**62][:_MOST]
    reason = request.POST.get("reason", "")[:300].replace("\x00", "").strip()
    if not ids:
        messages.error(request, "Nothing was chosen. Tick what you accept or refuse.")
    elif request.POST.get("act") == "accept":
        _accept(request, desk, ids=ids, reason=reason)
    elif request.POST.get("act") == "refuse":
        done = refuse_proposals(program=desk.program, proposal_ids=ids, hand=desk.hand(reason)).done
        messages.success(request, f"{done:,} refused. The same is not proposed again.")
    else:
        messages.error(request, "Say whether to accept or to refuse.")
    return redirect("proposals", code=desk.program.code)


def _accept(request: HttpRequest, desk: Desk, *, ids: Sequence[int], reason: str) -> None:
    settled = accept_proposals(
        program=desk.program, proposal_ids=ids, today=desk.today, hand=desk.hand(reason)
    )
    if settled.done:
        messages.success(request, f"{settled.done:,} accepted and written into the registry.")
    for why in list(dict.fromkeys(settled.refusals.values()))[:5]:
        messages.error(request, f"Not accepted: {why}")


@require_POST
@at_desk(verb=Verb.LOAD)
def customers_load(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Compare a customer file; what differs then waits on the page."""
    file, problem = chosen_file(request)
    if file is None:
        messages.error(request, problem)
        return redirect("proposals", code=desk.program.code)
    try:
        report = load_customers(
            source=SourceFile(name=(file.name or "file")[:200], data=file.read()),
            program=desk.program,
            as_of=desk.today,
            now=timezone.now(),
            by=name_of(desk.person),
        )
    except LoadRefusedError as refusal:
        messages.error(request, str(refusal))
        return redirect("proposals", code=desk.program.code)
    messages.success(
        request,
        f"{report.base.rows:,} rows compared: {sum(report.proposals.values()):,} proposed, "
        f"{report.base.created:,} new accounts, {report.base.set_aside:,} set aside.",
    )
    return redirect("proposals", code=desk.program.code)
