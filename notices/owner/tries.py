"""The short code's guard: ten tries kept in the letter's row, then a wait."""

from __future__ import annotations

import hmac
from datetime import datetime, timedelta
from enum import StrEnum

from django.db.models import F, Q

from notices.domain.codes import read_code
from notices.models import Letter

MOST_TRIES = 10
WAIT = timedelta(hours=1)
ZIP_LETTERS = 5


class Opened(StrEnum):
    """What came of a try."""

    YES = "yes"
    NO = "no"
    WAIT = "wait"


def try_code(*, typed_code: str, typed_zip: str, at: datetime) -> tuple[Opened, Letter | None]:
    """Return the letter when code and ZIP are right.

    A try is counted before it is judged, in one statement, so that many at once
    count as many. After ten wrong ones the letter's code rests for an hour.
    """
    code = read_code(typed_code)
    letter = Letter.objects.filter(short_code=code).select_related("program").first()
    if code is None or letter is None:
        return Opened.NO, None
    if not _count(letter, at=at):
        return Opened.WAIT, None
    if not _same_zip(letter.mailing_zip, typed_zip):
        _lock_when_spent(letter, at=at)
        return Opened.NO, None
    Letter.objects.filter(pk=letter.pk).update(code_tries=0, code_locked_until=None)
    return Opened.YES, letter


def _count(letter: Letter, *, at: datetime) -> bool:
    """Count one try; False while the code rests. A rest that is over starts from none."""
    row = Letter.objects.filter(pk=letter.pk)
    row.filter(code_locked_until__lte=at).update(code_tries=0, code_locked_until=None)
    free = row.filter(Q(code_locked_until__isnull=True), code_tries__lt=MOST_TRIES)
    return free.update(code_tries=F("code_tries") + 1) == 1


def _lock_when_spent(letter: Letter, *, at: datetime) -> None:
    spent = Letter.objects.filter(pk=letter.pk, code_tries__gte=MOST_TRIES)
    spent.filter(code_locked_until__isnull=True).update(code_locked_until=at + WAIT)


def _same_zip(kept: str, typed: str) -> bool:
    mine, theirs = kept.strip()[:ZIP_LETTERS], typed.strip()[:ZIP_LETTERS]
    return bool(mine) and hmac.compare_digest(mine.encode(), theirs.encode())
