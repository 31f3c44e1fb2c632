"""What a customer asked not to have at a visit, kept and ended."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db import transaction

from registry.changes import Hand, record_change
from registry.models import Premises, Tester
from reports.models import NotForVisit


class WishError(Exception):
    """Nothing was kept; the message is a sentence that says why and what to do."""


@dataclass(frozen=True, kw_only=True)
class WishTold:
    """Who or which day is not wanted; all that is named must be so for it to hold."""

    reason: str
    tester: Tester | None = None
    weekday: int | None = None
    on: date | None = None
    until_on: date | None = None


@transaction.atomic
def keep_wish(*, premises: Premises, told: WishTold, hand: Hand) -> NotForVisit:
    """Keep a wish. Raises WishError where it names nobody and no day."""
    if told.tester is None and told.weekday is None and told.on is None:
        raise WishError("Name a tester, a weekday or a day.")
    wish = NotForVisit.objects.create(
        premises=premises,
        tester=told.tester,
        weekday=told.weekday,
        on=told.on,
        until_on=told.until_on,
        reason=told.reason[:300],
        at=hand.at,
        by=hand.by,
    )
    _record(wish, before={}, after={"not": str(wish), "reason": wish.reason}, hand=hand)
    return wish


@transaction.atomic
def end_wish(*, wish: NotForVisit, hand: Hand) -> None:
    """End a wish, so that the next plan no longer heeds it. Raises WishError when it is over."""
    ended = NotForVisit.objects.filter(pk=wish.pk, ended_at__isnull=True)
    if not ended.update(ended_at=hand.at, ended_by=hand.by):
        raise WishError("It was ended already.")
    _record(wish, before={"not": str(wish)}, after={"not": ""}, hand=hand)


def _record(
    wish: NotForVisit, *, before: dict[str, str], after: dict[str, str], hand: Hand
) -> None:
    record_change(
        hand=hand,
        what="not for a visit",
        subject_id=wish.pk,
        label=str(wish.premises),
        before=before,
        after=after,
        program=wish.premises.program,
    )
