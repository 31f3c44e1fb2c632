"""Who is in a decision, each with the fact it brings: written, brought anew and withdrawn in sets.

Members are kept in the order of their premises, so that a chunk of them meets each premises once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Final, TypeVar

from registry.batches import in_batches
from registry.changes import Hand
from registry.models import Assembly, ServiceConnection
from scheduling.actions.by_hand.stops import cause_of
from scheduling.actions.facts import NewFact, record_facts, withdraw_facts
from scheduling.actions.place_facts import NewPlaceFact, record_place_facts
from scheduling.domain.decisions import Subject
from scheduling.domain.facts import FactKind
from scheduling.models import Decision, DecisionMember, Fact
from scheduling.queries.decided import due_dates, owed_by

T = TypeVar("T")

IN_A_WRITE: Final = 2_000
"""Facts and members written by one statement."""


def write_members(row: Decision, *, subjects: Sequence[Subject], today: date, hand: Hand) -> None:
    """Write who is in it, each with the fact it brings and what it owed before."""
    hand = replace(hand, reason=row.reason)
    ordered = _by_premises(subjects)
    for some in in_writes(ordered):
        owed = owed_by(some)
        before = due_dates(some, owed=owed)
        facts = record_for(row, subjects=some, kind=FactKind(row.kind), on=row.on,
                           until=row.until, today=today, hand=hand)  # fmt: skip
        DecisionMember.objects.bulk_create(
            [
                DecisionMember(
                    decision=row,
                    fact=facts[subject],
                    what=owed[subject].what if subject in owed else "",
                    due_before=before.get(subject),
                    due_after=before.get(subject),
                    **{f"{subject.of}_id": subject.pk},
                )
                for subject in some
            ],
            batch_size=500,
        )


def _by_premises(subjects: Sequence[Subject]) -> list[Subject]:
    at: dict[Subject, int] = {s: s.pk for s in subjects if s.of == "premises"}
    for of, model in (("assembly", Assembly), ("connection", ServiceConnection)):
        pks = sorted(subject.pk for subject in subjects if subject.of == of)
        for some in in_writes(pks):
            rows = model.objects.filter(pk__in=some)
            found = rows.order_by().values_list("pk", "premises_id")
            at.update({Subject(of, pk): premises_id for pk, premises_id in found})
    return sorted(subjects, key=lambda subject: (at.get(subject, 0), subject))


def record_for(
    row: Decision,
    *,
    subjects: Sequence[Subject],
    kind: FactKind,
    on: date,
    until: date | None,
    today: date,
    hand: Hand,
) -> Mapping[Subject, Fact]:
    """Record the fact that a decision brings, or that ends it, for each of these."""
    told = _Told(row, kind=kind, on=on, until=until, reason=hand.reason)
    last = max(today, on) if kind is FactKind.HELD else today
    mine = [subject for subject in subjects if subject.of == "assembly"]
    others = [subject for subject in subjects if subject.of != "assembly"]
    facts = record_facts(program=row.program, facts=[told.of_assembly(one) for one in mine],
                         recorded_at=hand.at, by=hand.by, today=last)  # fmt: skip
    facts += record_place_facts(program=row.program, facts=[told.of_place(one) for one in others],
                                recorded_at=hand.at, by=hand.by, today=last)  # fmt: skip
    return dict(zip([*mine, *others], facts, strict=True))


class _Told:
    """What the fact of every member says."""

    def __init__(
        self, row: Decision, *, kind: FactKind, on: date, until: date | None, reason: str
    ) -> None:
        self.kind, self.on, self.until, self.reason = kind, on, until, reason
        self.cause = cause_of(row) if kind in (FactKind.STOPPED, FactKind.RESTARTED) else ""
        self.ref = f"decision {row.pk}"
        self.detail = {"approved_by": row.approved_by, "group": row.name}

    def of_assembly(self, subject: Subject) -> NewFact:
        """The fact of an assembly."""
        return NewFact(
            assembly_id=subject.pk, kind=self.kind, on=self.on, until=self.until,
            cause=self.cause, source_ref=self.ref, reason=self.reason, detail=self.detail,
        )  # fmt: skip

    def of_place(self, subject: Subject) -> NewPlaceFact:
        """The fact of a service or a premises."""
        return NewPlaceFact(
            of=subject, kind=self.kind, on=self.on, until=self.until,
            cause=self.cause, source_ref=self.ref, reason=self.reason, detail=self.detail,
        )  # fmt: skip


def live_members(row: Decision) -> list[DecisionMember]:
    """Return those whose own fact nobody has withdrawn."""
    return list(row.members.filter(fact__withdrawn_at__isnull=True).order_by("pk"))


def bring_anew(
    row: Decision, *, members: Sequence[DecisionMember], until: date, today: date, hand: Hand
) -> None:
    """Record the decision's fact once more, with another end, and let members name it."""
    for some in in_writes(members):
        facts = record_for(row, subjects=[member.subject for member in some],
                           kind=FactKind(row.kind), on=row.on, until=until,
                           today=today, hand=hand)  # fmt: skip
        for member in some:
            member.fact = facts[member.subject]
        write_again(some, fields=("fact",))


def withdraw_theirs(row: Decision, *, members: Sequence[DecisionMember], hand: Hand) -> None:
    """Withdraw the facts these members have of the decision."""
    for some in in_writes(members):
        withdraw_facts(
            program=row.program,
            fact_ids=[member.fact_id for member in some],
            at=hand.at,
            reason=hand.reason,
            by=hand.by,
        )


def in_writes(rows: Iterable[T]) -> Iterator[list[T]]:
    """Yield members, subjects or ids, so many at a time as one write takes."""
    return in_batches(rows, size=IN_A_WRITE)


def write_again(members: Sequence[DecisionMember], *, fields: Sequence[str]) -> None:
    """Write fields of kept members, by one upsert a batch: an UPDATE by cases is slower."""
    if members:
        DecisionMember.objects.bulk_create(
            members,
            batch_size=500,
            update_conflicts=True,
            unique_fields=["id"],
            update_fields=list(fields),
        )
