"""Which notices that left had no cause, as the day of their leaving is known now.

Only assemblies are asked about whose facts were recorded or withdrawn after a letter had left:
what was known then is no error of the letter unless the record was mended since.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Exists, Max, OuterRef, Q, Subquery

from notices.domain.answers import Error
from notices.models import LetterNotice, Notice
from notices.queries.ladders import ladder_of
from registry.models import Program
from scheduling.domain.facts import FactKind
from scheduling.domain.ledger import Ledger
from scheduling.domain.obligations import Obligation
from scheduling.domain.rungs import Rung, Trigger
from scheduling.models import Fact
from scheduling.queries.standings import ledger_of

WINDOW = timedelta(days=60)
"""Corrections recorded in so many days before a run are looked at; more where none ran."""

SILENT = (FactKind.STOPPED, FactKind.RESTARTED, FactKind.HELD, FactKind.EXTENDED)
"""Facts that move days and take away no cause."""


@dataclass(frozen=True, slots=True)
class InError:
    """A notice without a cause, and whether a pass before it is what took the cause away."""

    notice: Notice
    error: Error
    reason: str


def notices_in_error(program: Program, *, since: datetime) -> Iterator[InError]:
    """Yield the notices of a program that facts recorded or withdrawn since show to be wrong."""
    for notice in _touched(program, since=since):
        if _changed_after(notice, left_at=notice.first_left_at):  # type: ignore[attr-defined]
            found = without_cause(notice)
            if found is not None:
                yield found


def without_cause(notice: Notice) -> InError | None:
    """Return why a notice of an assembly had no cause on its day, as known now; None: it had.

    The evening before its leaving and the day itself are asked: a test passed on the very day
    takes nothing away.
    """
    assert notice.left_on is not None
    assert notice.assembly is not None
    days = (notice.left_on - timedelta(days=1), notice.left_on)
    ledgers = [ledger_of(assembly=notice.assembly, as_of=day) for day in days]
    if any(_had_cause(notice, ledger=ledger) for ledger in ledgers):
        return None
    passed = ledgers[-1].last_passed_on
    began = notice.obligation.opens_on if notice.obligation is not None else date.min
    if passed is not None and began <= passed < notice.left_on:
        reason = f"A test passed on {passed}, before it left on {notice.left_on}."
        return InError(notice, Error.PASSED, reason)
    reason = f"As the record stands now, nothing was owed for it on {notice.left_on}."
    return InError(notice, Error.RECORD, reason)


def _had_cause(notice: Notice, *, ledger: Ledger) -> bool:
    assert notice.left_on is not None
    assert notice.obligation is not None
    kind = notice.obligation.kind
    owed = ledger.open_of(kind)
    if owed is None:
        coming = ledger.coming_of(kind)
        return _trigger(notice) is not Trigger.FAILED and _opens_by(coming, day=notice.left_on)
    if owed.is_suspended:
        return False
    return _reached(notice, owed=owed)


def _opens_by(coming: Obligation | None, *, day: date) -> bool:
    """A letter of the opening day itself: the evening before nothing was open yet."""
    return coming is not None and coming.opens_on <= day and not coming.is_suspended


def _reached(notice: Notice, *, owed: Obligation) -> bool:
    assert notice.left_on is not None
    trigger = _trigger(notice)
    if trigger is Trigger.FAILED:
        return owed.failed_on is not None
    if trigger is Trigger.DUE and not _is_courtesy(notice):
        return (owed.cure_by or owed.due_on) <= notice.left_on
    return True


def _trigger(notice: Notice) -> Trigger | None:
    rung = next((r for r in _rungs(notice) if r.key == notice.rung), None)
    return rung.trigger if rung is not None else None


def _is_courtesy(notice: Notice) -> bool:
    rung = next((r for r in _rungs(notice) if r.key == notice.rung), None)
    return rung is not None and (rung.is_skippable or rung.offset_days < 0)


def _rungs(notice: Notice) -> Sequence[Rung]:
    assert notice.obligation is not None
    return ladder_of(notice.obligation.rulebook).rungs


def _touched(program: Program, *, since: datetime) -> Sequence[Notice]:
    changed = Fact.objects.filter(
        Q(recorded_at__gte=since) | Q(withdrawn_at__gte=since),
        assembly=OuterRef("assembly"),
        on__lte=OuterRef("left_on"),
    ).exclude(kind__in=SILENT)
    left_at = (
        LetterNotice.objects.filter(notice=OuterRef("pk"))
        .order_by()
        .values("notice")
        .annotate(at=Max("letter__left_at"))
        .values("at")
    )
    rows = Notice.objects.filter(
        Exists(changed),
        program=program,
        left_on__isnull=False,
        withdrawn_on__isnull=True,
        sent_in_error_on__isnull=True,
        is_brought_along=False,
        assembly__isnull=False,
        obligation__isnull=False,
    )
    return list(
        rows.annotate(first_left_at=Subquery(left_at))
        .select_related("obligation__rulebook", "assembly__program")
        .order_by("pk")
    )


def _changed_after(notice: Notice, *, left_at: datetime | None) -> bool:
    """Whether the record of its assembly up to its leaving changed after it had left."""
    if left_at is None:
        return False
    facts = Fact.objects.filter(assembly=notice.assembly_id, on__lte=notice.left_on)
    return (
        facts.filter(Q(recorded_at__gt=left_at) | Q(withdrawn_at__gt=left_at))
        .exclude(kind__in=SILENT)
        .exists()
    )
