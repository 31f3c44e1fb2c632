"""Which notices that left had no cause, as the day of their leaving is known now.

Only those are asked about whose record changed after a letter had left: what was known then
is no error of the letter unless the record was mended since.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from notices.domain.answers import Error
from notices.domain.kinds import Work
from notices.models import Notice
from notices.queries.ladders import ladder_of
from notices.queries.place_items import work_of
from notices.queries.touched import touched
from registry.batches import in_batches
from registry.models import Program
from scheduling.domain.ledger import Ledger
from scheduling.domain.obligations import ClosedHow, Obligation
from scheduling.domain.rungs import Rung, Trigger
from scheduling.queries.duties import accounts_at
from scheduling.queries.standings import ledger_of
from scheduling.queries.where import WHERE

ROW = (
    "obligation__rulebook",
    "assembly__program",
    *(f"obligation__{name}" for name in WHERE),
)


@dataclass(frozen=True, slots=True)
class InError:
    """A notice without a cause, and whether what it asked for had been done before it left."""

    notice: Notice
    error: Error
    reason: str


def notices_in_error(program: Program, *, since: datetime) -> Iterator[InError]:
    """Yield the notices of a program that what was written down since shows to be wrong."""
    for batch in in_batches(touched(program, since=since)):
        rows = Notice.objects.filter(
            pk__in=batch, withdrawn_on__isnull=True, sent_in_error_on__isnull=True
        )
        for notice in rows.select_related(*ROW).order_by("pk"):
            found = without_cause(notice)
            if found is not None:
                yield found


def without_cause(notice: Notice) -> InError | None:
    """Return why a notice had no cause on its day, as known now; None: it had.

    The evening before its leaving and the day itself are asked: a test passed on the very day
    takes nothing away.
    """
    assert notice.left_on is not None
    days = (notice.left_on - timedelta(days=1), notice.left_on)
    ledgers = [_ledger(notice, as_of=day) for day in days]
    if any(ledger is not None and _had_cause(notice, ledger=ledger) for ledger in ledgers):
        return None
    began = notice.obligation.opens_on if notice.obligation is not None else date.min
    done = _done_on(notice, ledger=ledgers[-1])
    if done is not None and began <= done[0] < notice.left_on:
        return InError(notice, *_done_before(*done, left_on=notice.left_on))
    reason = f"As the record stands now, nothing was owed for it on {notice.left_on}."
    return InError(notice, Error.RECORD, reason)


def _ledger(notice: Notice, *, as_of: date) -> Ledger | None:
    """What is known now of the subject as of a day; None where nothing is known of it then."""
    if notice.assembly is not None:
        return ledger_of(assembly=notice.assembly, as_of=as_of)
    assert notice.obligation is not None
    service = notice.obligation.connection_id
    for account in accounts_at(notice.obligation.where, as_of=as_of):
        if (account.service.pk if account.service is not None else None) == service:
            return account.lived.ledger
    return None


def _done_on(notice: Notice, *, ledger: Ledger | None) -> tuple[date, Work] | None:
    """The day on which what it asked for was last done, and what that was."""
    if ledger is None or notice.obligation is None:
        return None
    work = work_of(notice.obligation)
    if work is Work.TEST:
        return (ledger.last_passed_on, work) if ledger.last_passed_on is not None else None
    kind = notice.obligation.kind
    met = [
        one.closed_on
        for one in ledger.obligations
        if one.kind == kind and one.closed_how is ClosedHow.MET and one.closed_on is not None
    ]
    return (max(met), work) if met else None


def _done_before(day: date, work: Work, *, left_on: date) -> tuple[Error, str]:
    if work is Work.TEST:
        return Error.PASSED, f"A test passed on {day}, before it left on {left_on}."
    return Error.DONE, f"It had been done on {day}, before it left on {left_on}."


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
    rung = _rung(notice)
    return rung.trigger if rung is not None else None


def _is_courtesy(notice: Notice) -> bool:
    rung = _rung(notice)
    return rung is not None and (rung.is_skippable or rung.offset_days < 0)


def _rung(notice: Notice) -> Rung | None:
    """The rung of its own kind of work, as the rulebook of the obligation has it."""
    assert notice.obligation is not None
    named = [
        rung for rung in ladder_of(notice.obligation.rulebook).rungs if rung.key == notice.rung
    ]
    own = (rung for rung in named if notice.obligation.kind in rung.kinds)
    return next(own, named[0] if named else None)
