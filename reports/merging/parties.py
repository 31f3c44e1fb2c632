"""Two parties merged into one: roles, letters and logins follow, the old name still finds it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from django.db import transaction

from notices.models import Letter, LetterNotice
from registry.changes import Hand
from registry.domain.identity import party_key
from registry.domain.proposals import SettledHow
from registry.models import Alias, Merge, Party, Program, Proposal
from reports.merging.keeping import begin, finish
from reports.merging.rows import Record, as_texts, point
from scheduling.actions.by_hand.rows import RefusedChangeError

FIELDS = ("name", "address", "city", "state", "zip", "email", "phone", "language")


@transaction.atomic
def merge_parties(
    *,
    program: Program,
    kept_id: int,
    gone_id: int,
    from_gone: frozenset[str],
    today: date,
    hand: Hand,
) -> Merge:
    """Merge `gone` into `kept`; of the fields in `from_gone` the other one's value is taken.

    Raises RefusedChangeError where the two are one already, or a third has the result's name.
    """
    kept, gone = _both(program=program, kept_id=kept_id, gone_id=gone_id)
    record = Record(kept=as_texts([kept]), gone=as_texts([gone]))
    names = {party.pk: (party.key, party.name) for party in (kept, gone)}
    before = {name: getattr(kept, name) for name in FIELDS}
    values = {name: getattr(gone, name) for name in FIELDS if name in from_gone}
    label = str(gone)
    _overtake_proposals(gone, hand=hand)
    point(Party, gone=gone.pk, kept=kept.pk, record=record)
    _rename_recipients(gone=gone.pk, kept=kept.pk, record=record)
    gone.delete()
    _keep(kept, values=values)
    merge = begin(
        program=program, kept=kept, gone_id=gone_id, gone_label=label, today=today, hand=hand
    )
    for key, name in names.values():
        if key != kept.key:
            Alias.objects.create(program=program, merge=merge, party=kept, shown=name, key=key)
    kept.refresh_from_db()
    after = {name: getattr(kept, name) for name in FIELDS}
    finish(merge, kept=kept, record=record, before=before, after=after, hand=hand)
    return merge


def _both(*, program: Program, kept_id: int, gone_id: int) -> tuple[Party, Party]:
    Program.objects.select_for_update().get(pk=program.pk)
    rows = Party.objects.select_for_update().filter(program=program, pk__in=(kept_id, gone_id))
    found = {party.pk: party for party in rows.order_by("pk")}
    if len(found) != 2:
        raise RefusedChangeError(
            field="", message="These are not two parties of this program any more. Look again."
        )
    return found[kept_id], found[gone_id]


def _keep(kept: Party, *, values: Mapping[str, str]) -> None:
    for name, value in values.items():
        setattr(kept, name, value)
    kept.key = party_key(
        name=kept.name,
        address=kept.address,
        city=kept.city,
        state=kept.state,
        zip_code=kept.zip,
    )
    if Party.objects.filter(program=kept.program_id, key=kept.key).exclude(pk=kept.pk).exists():
        raise RefusedChangeError(
            field="name",
            message="A third party has this name and mailing address. Merge with that one first.",
        )
    kept.save()


def _overtake_proposals(gone: Party, *, hand: Hand) -> None:
    """What a customer file proposed for the other one is compared anew by the next file."""
    Proposal.objects.filter(party=gone, settled_at__isnull=True).update(
        settled_at=hand.at,
        settled_by=hand.by,
        settled_how=SettledHow.OVERTAKEN,
        reason="The party was merged with another.",
    )


def _rename_recipients(*, gone: int, kept: int, record: Record) -> None:
    """Letters name their recipient by a key besides; a second live letter of one notice ends."""
    old, new = f"party:{gone}", f"party:{kept}"
    twice = LetterNotice.objects.filter(recipient_key=new, is_live=True).values("notice")
    doubled = LetterNotice.objects.filter(recipient_key=old, is_live=True, notice__in=twice)
    record.made["doubled"] = list(doubled.values_list("pk", flat=True))
    LetterNotice.objects.filter(pk__in=record.made["doubled"]).update(is_live=False)
    for model in (Letter, LetterNotice):
        rows = model._base_manager.filter(recipient_key=old)
        label = f"{model._meta.label}.recipient_key"
        record.made[label] = list(rows.values_list("pk", flat=True))
        rows.update(recipient_key=new)
