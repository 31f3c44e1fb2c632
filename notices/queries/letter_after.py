"""What came after a letter, for its page: returns, errors, corrections, photos, contacts."""

from __future__ import annotations

from typing import Any

from notices.domain.deliveries import DeliveryState
from notices.domain.returns import BY_A_PERSON, SECOND_CHANNELS
from notices.models import (
    Delivery,
    HandoverPhoto,
    Letter,
    LetterAbout,
    LetterNotice,
    Notice,
    ReturnedLetter,
)
from notices.queries.contacts import what_became
from notices.queries.returned import BY_POST
from registry.domain.kinds import PictureKind
from registry.models import Premises
from registry.queries.removals import with_removals

MOST_PREMISES = 5


def letter_after(letter: Letter) -> dict[str, Any]:
    """Return what the page of a letter shows below its life; a known number of queries."""
    returns = list(ReturnedLetter.objects.filter(letter=letter).select_related("second", "letter"))
    notices = Notice.objects.filter(pk__in=_notice_ids(letter))
    wrong = notices.filter(sent_in_error_on__isnull=False).order_by("pk").first()
    gone = list(Delivery.objects.filter(letter=letter, state=DeliveryState.LEFT))
    back = {one.delivery_id for one in returns}
    photos = HandoverPhoto.objects.filter(delivery__letter=letter).defer("content")
    return {
        "came_back": [{**_plain(one), "became": what_became(one)} for one in returns],
        "unsettled": [one for one in returns if one.settled_at is None and one.second is None],
        "channels": SECOND_CHANNELS,
        "in_error": wrong,
        "corrections": _corrections(letter) if wrong is not None else [],
        "photos": with_removals(PictureKind.HANDED_OVER, list(photos)),
        "by_person": [one for one in gone if one.channel in BY_A_PERSON],
        "may_return": any(one.channel in BY_POST and one.pk not in back for one in gone),
        "may_be_wrong": notices.filter(
            left_on__isnull=False, sent_in_error_on__isnull=True
        ).exists(),
        "premises": list(
            Premises.objects.filter(pk__in=notices.values("premises")).order_by("pk")[
                :MOST_PREMISES
            ]
        ),
    }


def _notice_ids(letter: Letter) -> list[int]:
    return list(LetterNotice.objects.filter(letter=letter).values_list("notice_id", flat=True))


def _corrections(letter: Letter) -> list[Letter]:
    about = LetterAbout.objects.filter(
        program=letter.program_id, key__startswith=f"error:{letter.pk}:"
    )
    return list(Letter.objects.filter(pk__in=about.values("letter")).defer("content"))


def _plain(row: ReturnedLetter) -> dict[str, Any]:
    names = ("how", "came_back_on", "entered_by", "settled_at", "second")
    return {name: getattr(row, name) for name in names}
