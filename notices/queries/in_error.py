"""Which notices that left had no cause, as the day of their leaving is known now.

Only assemblies are asked about whose facts were recorded or withdrawn after a letter had left:
what was known then is no error of the letter unless the record was mended since.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Exists, OuterRef, Q

from notices.domain.answers import Error
from notices.models import LetterNotice, Notice
from notices.queries.ladders import ladder_of
from notices.queries.responsible import in_batches
from registry.models import Program
from scheduling.domain.facts import FactKind
from scheduling.domain.ledger import Ledger
from scheduling.domain.obligations import Obligation
from scheduling.domain.rungs import Rung, Trigger
from scheduling.models import Fact
from scheduling.queries.standings import ledger_of

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
    for batch in in_batches(_touched(program, since=since)):
        rows = Notice.objects.filter(
            pk__in=batch, withdrawn_on__isnull=True, sent_in_error_on__isnull=True
        )
        for notice in rows.select_related("obligation__rulebook", "assembly__program"):
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


def _touched(program: Program, *, since: datetime) -> list[int]:
    """Return the notices whose assembly's record, up to their leaving, changed after they left.

    It begins with the facts that changed: on an ordinary night they are few.
    """
    told = Q(letter__left_at__lt=OuterRef("recorded_at"))
    told |= Q(letter__left_at__lt=OuterRef("withdrawn_at"))
    left = LetterNotice.objects.filter(
        told, notice__assembly=OuterRef("assembly"), notice__left_on__gte=OuterRef("on")
    )
    changed = (
        Fact.objects.filter(
            Q(recorded_at__gte=since) | Q(withdrawn_at__gte=since),
            Exists(left),
            program=program,
            assembly__isnull=False,
        )
        .exclude(kind__in=SILENT)
        .order_by()
        .values_list("assembly_id", "on", "recorded_at", "withdrawn_at")
    )
    found: set[int] = set()
    for batch in in_batches(changed):
        found |= _left_before(batch)
    return sorted(found)


Changed = tuple[int | None, date, datetime, datetime | None]


def _left_before(changed: Sequence[Changed]) -> set[int]:
    """Return the notices that had left when one of these facts was recorded or withdrawn."""
    rows = LetterNotice.objects.filter(
        notice__assembly__in={one[0] for one in changed},
        notice__left_on__isnull=False,
        notice__is_brought_along=False,
        notice__obligation__isnull=False,
        letter__left_at__isnull=False,
    ).values_list("notice_id", "notice__assembly_id", "notice__left_on", "letter__left_at")
    by_assembly: dict[int | None, list[Changed]] = defaultdict(list)
    for one in changed:
        by_assembly[one[0]].append(one)
    found: set[int] = set()
    for notice, assembly, left_on, left_at in rows:
        assert left_on is not None
        assert left_at is not None
        for _, on, recorded_at, withdrawn_at in by_assembly[assembly]:
            if on <= left_on and left_at < max(recorded_at, withdrawn_at or recorded_at):
                found.add(notice)
    return found
