"""Holds on the next rung of obligations: promises, reports in hand, letters that came back."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet

from notices.domain.deliveries import OPEN_DELIVERIES
from notices.domain.holds import (
    REPORT_DAYS,
    HoldCause,
    LadderHold,
    promise_ends,
    report_ends,
)
from notices.domain.in_hand import ReportInHand
from notices.domain.returns import CameBack
from notices.models import Contact, LetterNotice, ReturnedLetter
from notices.queries.hindered import began_on
from notices.queries.reports_in_hand import assemblies_waiting, reports_in_hand
from registry.models import Program
from scheduling.domain.ladders import LeftRung
from scheduling.domain.matching import Attributes
from scheduling.domain.rules import HOLDS_ORDERS, Provision, Topic
from scheduling.models import Obligation
from scheduling.queries.rulebooks import rulebook_from
from scheduling.queries.shapes import attributes_of
from scheduling.queries.where import attributes_at

WHILE_OUT = (CameBack.REFUSED.value, CameBack.UNCLAIMED.value)
"""Letters that hold the next rung only until the second means has left."""


@dataclass(frozen=True, slots=True)
class Held:
    """Where something may hold a rung: rows there are read one by one."""

    premises: frozenset[int]
    assemblies: frozenset[int]
    obligations: frozenset[int]

    def has(self, *, obligation_id: int, assembly_id: int | None, premises_id: int) -> bool:
        """Return whether a row stands at such a place."""
        return (
            obligation_id in self.obligations
            or premises_id in self.premises
            or assembly_id in self.assemblies
        )


def held_places(program: Program, *, today: date) -> Held:
    """Return every place of a program where something may hold a rung today. Four queries."""
    promised = _promises().filter(program=program, promised_for__gte=today)
    out = _returned().filter(program=program)
    carried = LetterNotice.objects.filter(letter__in=out.values("letter"))
    obligations = carried.values_list("notice__obligation_id", flat=True)
    return Held(
        premises=frozenset(promised.values_list("premises_id", flat=True)),
        assemblies=frozenset(assemblies_waiting(program)),
        obligations=frozenset(pk for pk in obligations if pk is not None),
    )


def holds_on(
    rows: Sequence[Obligation], *, left: Mapping[int, Sequence[LeftRung]], today: date
) -> dict[int, tuple[LadderHold, ...]]:
    """Return what holds the next rung of each row; three queries for them all.

    Rows are read with their rulebook, assembly and premises; `left` is what had left for each.
    """
    found: dict[int, list[LadderHold]] = defaultdict(list)
    by_place = _promises_at(rows, today=today)
    reports = reports_in_hand([row.assembly_id for row in rows if row.assembly_id is not None])
    returned = _returned_for(rows)
    for row in rows:
        promises = [
            one
            for one in by_place.get(row.where.pk, ())
            if one.assembly_id in (None, row.assembly_id)
        ]
        if promises and (hold := _promised(row, promises, left=left.get(row.pk, ()))):
            found[row.pk].append(hold)
        report = reports.get(row.assembly_id or 0)
        if report is not None and report.waits and concerns(row, report=report):
            found[row.pk].append(_reported(row, report))
        found[row.pk] += [_came_back(one) for one in returned.get(row.pk, ())]
    return {pk: tuple(holds) for pk, holds in found.items() if holds}


def concerns(row: Obligation, *, report: ReportInHand) -> bool:
    """Return whether a report is about what is asked: tested since it opened, or failed."""
    return report.tested_on >= began_on(row)


def provision_of(row: Obligation, topic: Topic) -> Provision | None:
    """Return what the rulebook of an obligation says of a topic for what it is about."""
    rulebook = rulebook_from(row.rulebook)
    if not any(rule.topic is topic for rule in rulebook.provisions):
        return None
    attributes: Attributes = attributes_of(row.assembly) if row.assembly else attributes_at(row)
    return rulebook.provision(topic=topic, attributes=attributes)


def _promises_at(rows: Sequence[Obligation], *, today: date) -> dict[int, list[Contact]]:
    found: dict[int, list[Contact]] = defaultdict(list)
    places = {row.where.pk for row in rows}
    live = _promises().filter(premises__in=places, premises__contacts__promised_for__gte=today)
    for one in live.order_by("on", "pk").distinct():
        found[one.premises_id].append(one)
    return found


def _promised(
    row: Obligation, promises: Sequence[Contact], *, left: Iterable[LeftRung]
) -> LadderHold | None:
    rule = provision_of(row, Topic.PROMISE)
    if rule is None:
        return None
    last_left = max((gone.left_on for gone in left), default=date.min)
    mine = [one for one in promises if one.on >= last_left]
    if not mine:
        return None
    last = max(mine, key=lambda one: one.promised_for or date.min)
    assert last.promised_for is not None
    ends = promise_ends(promised_for=last.promised_for, first_on=mine[0].on, most_days=rule.days)
    most = f", at most {rule.days} days" if rule.days is not None else ""
    return LadderHold(
        cause=HoldCause.PROMISE,
        ends=ends,
        why=f"promised on {last.on} for {last.promised_for}{most}",
        citation=rule.citation,
        holds_orders=HOLDS_ORDERS in rule.by,
    )


def _reported(row: Obligation, report: ReportInHand) -> LadderHold:
    rule = provision_of(row, Topic.REPORT_IN_HAND)
    days = REPORT_DAYS if rule is None or rule.days is None else rule.days
    return LadderHold(
        cause=HoldCause.REPORT,
        ends=report_ends(received_on=report.received_on, days=days),
        why=(
            f"the report of {report.tested_on} came in on {report.received_on} and waits for the"
            f" office, held {days} days"
        ),
        citation=rule.citation if rule is not None else "",
        is_for_overdue=True,
        holds_orders=rule is None or HOLDS_ORDERS in rule.by,
    )


def _came_back(returned: ReturnedLetter) -> LadderHold:
    second = returned.second
    means = f"goes again by {second.channel} and has not left" if second else "waits for a person"
    return LadderHold(
        cause=HoldCause.RETURNED,
        ends=None,
        why=f"letter {returned.letter.number} came back {returned.how} and {means}",
        citation=returned.citation,
        holds_orders=True,
    )


def _returned_for(rows: Sequence[Obligation]) -> dict[int, list[ReturnedLetter]]:
    out = {one.letter_id: one for one in _returned().filter(
        letter__carried__notice__obligation__in=[row.pk for row in rows]
    ).select_related("letter", "second").distinct()}  # fmt: skip
    found: dict[int, list[ReturnedLetter]] = defaultdict(list)
    if not out:
        return found
    carried = LetterNotice.objects.filter(letter__in=out).order_by("pk")
    pairs = carried.values_list("notice__obligation_id", "letter_id").distinct()
    for obligation_id, letter_id in pairs:
        if obligation_id is not None:
            found[obligation_id].append(out[letter_id])
    return found


def _promises() -> QuerySet[Contact]:
    return Contact.objects.filter(promised_for__isnull=False, withdrawn_at__isnull=True)


def _returned() -> QuerySet[ReturnedLetter]:
    """Letters that came back and whose second means has not left, or is not decided yet."""
    undecided = Q(second__isnull=True, settled_at__isnull=True, how__in=WHILE_OUT)
    return ReturnedLetter.objects.filter(
        undecided | Q(second__left_on__isnull=True, second__state__in=OPEN_DELIVERIES)
    )
