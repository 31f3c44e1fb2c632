"""A person takes back that a run was mailed: said of the wrong day, or of a run still on the desk.

What the saying brought is put back as it stood, and the right day can be said. Only while
nothing was built on it: no later notice, no letter that came back, none delivered.
"""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import QuerySet

from notices.actions.clocks import Day
from notices.delivery.settling import set_next_days
from notices.domain.deliveries import DeliveryState
from notices.domain.kinds import LetterState
from notices.domain.late import MAILED_LATE
from notices.domain.long_dates import long_date
from notices.models import Delivery, Letter, LetterNotice, Notice, PaperRun, ReturnedLetter
from registry.changes import Hand, record_change
from registry.console import Refused


def deliveries_mailed(run: PaperRun) -> list[int]:
    """Return the deliveries of a run that left when it was said to be mailed."""
    rows = Delivery.objects.filter(run=run, state=DeliveryState.LEFT)
    return list(rows.order_by("pk").values_list("pk", flat=True))


def take_back_mailing(run: PaperRun, *, day: Day, hand: Hand) -> int:
    """Put back what saying that the run was mailed had brought; return how many letters wait again.

    Refused without a reason, and where something was built on it. Call it holding the
    program's clock.
    """
    said, by = run.mailed_on, run.mailed_by
    if not hand.reason.strip():
        raise Refused("Write what was wrong; it is kept.")
    if said is None or run.program.is_trial:
        raise Refused(f"Nobody said that run {run.number} was mailed.")
    rows = Delivery.objects.filter(pk__in=deliveries_mailed(run))
    letters = Letter.objects.filter(pk__in=rows.values("letter"))
    ids = list(letters.order_by("pk").values_list("pk", flat=True))
    if why := _built_on(rows, letters=ids):
        raise Refused(why)
    told = f"Run {run.number} was said to be mailed {long_date(said)}; {hand.by} took that back."
    back = {"left_on": None, "left_at": None, "detail": told}
    gone = letters.filter(state=LetterState.WITHDRAWN).values_list("pk", flat=True)
    kept = list(rows.values_list("pk", flat=True))
    fallen = Delivery.objects.filter(pk__in=kept, letter__in=list(gone))
    fallen.update(state=DeliveryState.WITHDRAWN, **back)
    Delivery.objects.filter(pk__in=kept, state=DeliveryState.LEFT).update(
        state=DeliveryState.WAITING, **back
    )
    again = _leaving_again(ids, day=day)
    PaperRun.objects.filter(pk=run.pk).update(mailed_on=None, mailed_at=None, mailed_by="")
    record_change(
        hand=hand,
        what="paper run",
        subject_id=run.pk,
        label=f"run {run.number}",
        before={"mailed_on": said.isoformat(), "mailed_by": by},
        after={"mailed_on": "", "mailed_by": "", "letters": again},
        program=run.program,
    )
    return again


def _built_on(rows: QuerySet[Delivery], *, letters: Sequence[int]) -> str:
    """Say what was built on the mailing, or nothing."""
    return _known_of_letters(rows, letters=letters) or _said_after(letters)


def _known_of_letters(rows: QuerySet[Delivery], *, letters: Sequence[int]) -> str:
    if Letter.objects.filter(pk__in=letters, is_order=True).exists():
        return "An order to shut off is in the run: its case goes by the day said."
    if ReturnedLetter.objects.filter(letter__in=letters).exists():
        return "A letter of the run came back: it was mailed."
    if rows.filter(delivered_on__isnull=False).exists():
        return "A letter of the run was delivered: it was mailed."
    return ""


def _said_after(letters: Sequence[int]) -> str:
    carried = Notice.objects.filter(carried__letter__in=letters)
    if carried.filter(sent_in_error_on__isnull=False).exists():
        return "A letter of the run was marked as sent in error, which is settled already."
    after = Letter.objects.filter(predecessor__in=letters).order_by("pk").first()
    if after is not None:
        return f"Letter {after.number} takes the place of one of them already."
    duties = list(carried.exclude(obligation=None).values_list("obligation", flat=True))
    first = min(carried.values_list("pk", flat=True), default=0)
    later = Notice.objects.filter(
        obligation__in=duties,
        pk__gt=first,
        withdrawn_on__isnull=True,
        sent_in_error_on__isnull=True,
    ).exclude(pk__in=carried.values("pk"))
    if later.exists():
        return "A later letter counted its days from that mailing already."
    return ""


def _leaving_again(letters: Sequence[int], *, day: Day) -> int:
    """Let letters that had left wait again, those mailed too late as well; return how many."""
    left = Letter.objects.filter(pk__in=letters, state=LetterState.LEFT)
    again = list(left.order_by("pk").values_list("pk", flat=True))
    late = list(left.filter(ended_reason__startswith=MAILED_LATE).values_list("pk", flat=True))
    LetterNotice.objects.filter(letter__in=late, notice__withdrawn_on__isnull=True).update(
        is_live=True
    )
    Letter.objects.filter(pk__in=late).update(ended_reason="")
    Letter.objects.filter(pk__in=again).update(
        state=LetterState.LEAVING, left_on=None, left_at=None, left_how=""
    )
    carried = Notice.objects.filter(carried__letter__in=again, carried__is_live=True).distinct()
    notices = dict(carried.order_by("pk").values_list("pk", "obligation"))
    Notice.objects.filter(pk__in=notices).update(left_on=None)
    set_next_days(sorted({key for key in notices.values() if key is not None}), day=day)
    return len(again)
