"""An e-mail that failed becomes paper the same night; both stand in the record."""

from __future__ import annotations

from notices.actions.clocks import Day
from notices.delivery.settling import set_next_days, settle
from notices.domain.deliveries import DeliveryState
from notices.domain.kinds import COURTESY_KINDS, Channel, LetterState
from notices.models import Delivery, Letter, LetterNotice, Notice

PAPER = (Channel.MAIL, Channel.CERTIFIED)


def to_paper(row: Delivery, *, why: str, day: Day) -> None:
    """Mark an e-mail as failed, and let its letter go on paper where it still has to.

    A notice that bounced was not given: its letter is leaving again, and its rung's clock
    starts when the paper leaves. A reminder that the server had taken is left at that.
    Call it holding the program's clock.
    """
    letter = Letter.objects.select_for_update(of=("self",)).get(pk=row.letter_id)
    had_left = letter.state == LetterState.LEFT
    goes = letter.state == LetterState.LEAVING or (
        had_left and letter.kind not in COURTESY_KINDS and _is_still_needed(letter)
    )
    Delivery.objects.filter(pk=row.pk).update(
        state=DeliveryState.FAILED,
        is_required=not goes and row.is_required,
        detail=why[:500],
        claim="",
        claimed_until=None,
    )
    row.state = DeliveryState.FAILED
    if not goes:
        return
    if not letter.deliveries.filter(channel__in=PAPER).exists():
        Delivery.objects.create(
            letter=letter,
            channel=Channel.MAIL,
            came_from=row,
            detail=f"Instead of e-mail, which failed: {why}"[:500],
        )
    if had_left:
        _leave_again(letter, day=day)
    # Where it went on paper besides, that may have left already, and the letter with it.
    settle([letter.pk], day=day)


def _is_still_needed(letter: Letter) -> bool:
    """Whether a notice it carries is the last its open obligation had."""
    for notice in _notices(letter):
        later = Notice.objects.filter(
            obligation=notice.obligation_id, left_on__isnull=False, sent_in_error_on__isnull=True
        ).filter(left_on__gt=notice.left_on or letter.composed_on)
        row = notice.obligation
        if row is not None and row.closed_on is None and not later.exists():
            return True
    return False


def _notices(letter: Letter) -> list[Notice]:
    carried = LetterNotice.objects.filter(letter=letter, is_live=True)
    return list(Notice.objects.filter(pk__in=carried.values("notice")).select_related("obligation"))


def _leave_again(letter: Letter, *, day: Day) -> None:
    notices = [notice for notice in _notices(letter) if notice.obligation is not None]
    Letter.objects.filter(pk=letter.pk).update(
        state=LetterState.LEAVING, left_on=None, left_at=None, left_how=""
    )
    Notice.objects.filter(pk__in=[notice.pk for notice in notices]).update(left_on=None)
    ids = [notice.obligation_id for notice in notices if notice.obligation_id is not None]
    set_next_days(ids, day=day)
