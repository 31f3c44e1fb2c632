"""What the members of a decision owe: assemblies by where they stand, services and premises by
the earliest of their open works."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from registry.batches import in_batches
from registry.models import Premises
from scheduling.domain.decisions import Subject
from scheduling.domain.facts import FactKind
from scheduling.models import AssemblyState, DecisionMember, Obligation


@dataclass(slots=True)
class Owed:
    """What a service or a premises owes or has to come: the kinds of work, and the first day."""

    due_on: date
    kinds: tuple[str, ...]

    def take(self, *, kind: str, due_on: date) -> None:
        """Take another work of it along."""
        self.due_on = min(self.due_on, due_on)
        if kind not in self.kinds:
            self.kinds = tuple(sorted({*self.kinds, kind}))

    @property
    def what(self) -> str:
        """The kinds of work in words."""
        return " and ".join(self.kinds)[:120]


def owed_by(subjects: Iterable[Subject]) -> dict[Subject, Owed]:
    """Return what services and premises owe or have to come; none for what owes nothing."""
    found: dict[Subject, Owed] = {}
    for of, pks in _apart(subjects):
        if of == "assembly":
            continue
        for some in in_batches(pks):
            rows = Obligation.objects.filter(closed_on__isnull=True, **{f"{of}__in": some})
            for pk, kind, due_on in rows.values_list(of, "kind", "due_on").order_by("due_on"):
                subject = Subject(of, pk)
                if subject in found:
                    found[subject].take(kind=kind, due_on=due_on)
                else:
                    found[subject] = Owed(due_on, (kind,))
    return found


def due_dates(
    subjects: Iterable[Subject], *, owed: Mapping[Subject, Owed] | None = None
) -> dict[Subject, date | None]:
    """Return the stored due date of each; of a service or a premises the earliest.

    `owed`: what `owed_by` said of them, where somebody has asked already.
    """
    wanted = list(subjects)
    told = owed_by(wanted) if owed is None else owed
    found: dict[Subject, date | None] = {subject: one.due_on for subject, one in told.items()}
    for some in in_batches(sorted(s.pk for s in wanted if s.of == "assembly")):
        rows = AssemblyState.objects.filter(assembly__in=some)
        found.update(
            {Subject("assembly", pk): due for pk, due in rows.values_list("assembly", "due_on")}
        )
    return found


def decided_at(premises: Premises, *, services: Iterable[int], today: date) -> list[DecisionMember]:
    """Return the decisions that run about a premises and these services of it, newest first.

    One that has ended, or whose last day is past, runs no more; nor one withdrawn for this one.
    """
    mine = Q(premises=premises.pk) | Q(connection__in=list(services))
    has_no_last_day = Q(decision__kind__in=(FactKind.STOPPED, FactKind.EXEMPTED))
    rows = DecisionMember.objects.filter(
        mine,
        has_no_last_day | Q(decision__until__gte=today),
        Q(decision__ended_on__isnull=True) | Q(decision__ended_on__gt=today),
        fact__withdrawn_at__isnull=True,
    )
    return list(rows.select_related("decision", "connection").order_by("-decision__made_at", "pk"))


def _apart(subjects: Iterable[Subject]) -> Iterator[tuple[str, list[int]]]:
    wanted = list(subjects)
    for of in ("assembly", "connection", "premises"):
        yield of, sorted(subject.pk for subject in wanted if subject.of == of)
