"""Differences kept as proposals: each waits once, what was refused is not asked again."""

from collections.abc import Collection, Sequence

from django.db.models import Q

from registry.changes import Hand
from registry.domain.proposals import Difference, SettledHow
from registry.models import LoadBatch, Program, Proposal


def propose(
    *,
    program: Program,
    found: Sequence[Difference],
    subjects: Collection[str],
    batch: LoadBatch,
    hand: Hand,
) -> list[Difference]:
    """Keep what is new, and return it. `subjects` are all that the file speaks of.

    A waiting proposal about one of them that the file no longer bears out is overtaken.
    """
    told = {one.digest for one in found}
    _overtake(program=program, told=told, found=found, subjects=subjects, hand=hand)
    known = set(
        Proposal.objects.filter(
            Q(settled_at__isnull=True) | Q(settled_how=SettledHow.REFUSED), program=program
        ).values_list("digest", flat=True)
    )
    fresh: dict[str, Difference] = {}
    for one in found:
        if one.digest not in known:
            fresh.setdefault(one.digest, one)
    Proposal.objects.bulk_create(
        (_row(one, program=program, batch=batch) for one in fresh.values()), batch_size=500
    )
    return list(fresh.values())


def _overtake(
    *,
    program: Program,
    told: Collection[str],
    found: Sequence[Difference],
    subjects: Collection[str],
    hand: Hand,
) -> None:
    spoken = {*subjects, *(one.subject for one in found)}
    waiting = Proposal.objects.filter(program=program, settled_at__isnull=True)
    gone = [
        pk
        for pk, subject, digest in waiting.values_list("pk", "subject", "digest")
        if subject in spoken and digest not in told
    ]
    for start in range(0, len(gone), 500):
        Proposal.objects.filter(pk__in=gone[start : start + 500]).update(
            settled_at=hand.at,
            settled_by=hand.by,
            settled_how=SettledHow.OVERTAKEN,
            reason="A later file says otherwise.",
        )


def _row(one: Difference, *, program: Program, batch: LoadBatch) -> Proposal:
    kind, _, number = one.subject.partition(":")
    return Proposal(
        program=program,
        kind=one.kind,
        premises_id=one.premises_id,
        party_id=int(number) if kind == "party" else None,
        before=dict(one.before),
        after=dict(one.after),
        note=one.note,
        subject=one.subject,
        digest=one.digest,
        batch=batch,
        row=one.row,
        raised_on=batch.as_of,
    )
