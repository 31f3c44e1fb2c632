"""Mailed after the day it was composed for: bytes stand while the lawful minimum remains."""

from __future__ import annotations

from datetime import date

import pytest

from notices.delivery.late_mailing import set_mailing_lag
from notices.models import Letter, Notice
from registry.changes import Hand
from tests.notices.ladders.story import Story
from tests.notices.offices import AT

pytestmark = pytest.mark.django_db

OWNER = "Larch Court Apartments"


def placer() -> Story:
    # Placer-style, 2.07.090: overdue 16 June 2026, 30 days; second of 14 days; termination.
    story = Story("placer-style")
    story.stands("S1", ("passed", date(2025, 6, 15)))
    return story


def test_a_last_notice_mailed_late_is_kept_and_a_corrected_one_follows() -> None:
    # The second is composed on 16 July for that day: it names 30 July. Mailed on 20 July, the
    # law's 14 days end on 3 August: too short. The corrected letter is composed on 21 July for
    # that day, names 4 August, and the order comes on 4 August.
    story = placer()
    story.runs(date(2026, 6, 16))
    story.mails(date(2026, 6, 16))
    story.runs(date(2026, 7, 16))
    first = Letter.objects.get(program=story.program, kind="final")
    kept = bytes(first.file.pdf)
    story.mails(date(2026, 7, 20))
    first.refresh_from_db()
    assert (first.state, first.left_on) == ("left", date(2026, 7, 20))
    assert bytes(first.file.pdf) == kept
    assert first.ended_reason.replace("\u00a0", " ") == (
        "Mailed late, on July 20, 2026 instead of July 16, 2026: it names July 30, 2026, and the"
        " rulebook gives until August 3, 2026. It is kept as it went and counts for nothing; a"
        " corrected letter follows."
    )
    assert Notice.objects.get(program=story.program, rung="second-notice").left_on is None
    story.runs(date(2026, 7, 21))
    story.mails(date(2026, 7, 21))
    corrected = Letter.objects.get(program=story.program, predecessor=first)
    assert corrected.content["headline"][1].replace("\u00a0", " ") == (
        "Have it done before August 4, 2026."
    )
    assert corrected.content["paragraphs"][0] == (
        f"This letter takes the place of our letter {first.number}. That one was mailed too late"
        " for the days it names."
    )
    notice = Notice.objects.get(program=story.program, rung="second-notice")
    assert notice.left_on == date(2026, 7, 21)
    for day in (date(2026, 8, 3), date(2026, 8, 4)):
        story.runs(day)
    assert story.lines()[-1] == "2026-08-04 shutoff-order prepared"


def test_a_notice_in_advance_mailed_late_stands_for_it_names_the_law_s_day() -> None:
    # Oro Valley: the notice names the due date; mailed two days late the bytes stand, and what
    # follows the due date waits two days (by 1 May at the latest, left 3 May): 18 June.
    story = Story("oro-valley-az")
    story.stands("S1", ("passed", date(2025, 6, 15)))
    story.runs(date(2026, 5, 1))
    story.mails(date(2026, 5, 3))
    letter = Letter.objects.get(program=story.program)
    assert (letter.state, letter.ended_reason) == ("left", "")
    story.runs(date(2026, 5, 31))
    story.mails(date(2026, 5, 31))
    story.runs(date(2026, 6, 17))
    story.runs(date(2026, 6, 18))
    assert Notice.objects.filter(program=story.program, rung="overdue").exists()
    assert Notice.objects.get(program=story.program, rung="overdue").owed_on == date(2026, 6, 18)


def test_letters_are_composed_for_the_day_the_office_mails_them() -> None:
    # Three days of work from composing to mailing: composed Thursday 16 July 2026 for Tuesday the
    # 21st: it names 21 July + 14 = 4 August. Mailed on the 20th, the 14 days remain.
    story = placer()
    set_mailing_lag(story.program, days=3, hand=Hand(by="A. Clerk", at=AT))
    story.program.refresh_from_db()
    story.runs(date(2026, 6, 16))
    story.mails(date(2026, 6, 16))
    story.runs(date(2026, 7, 16))
    story.mails(date(2026, 7, 20))
    final = Letter.objects.get(program=story.program, kind="final")
    assert (final.mailing_on, final.left_on) == (date(2026, 7, 21), date(2026, 7, 20))
    assert "August 4, 2026" in final.content["headline"][1].replace("\u00a0", " ")
    assert final.ended_reason == ""
    story.runs(date(2026, 8, 3))
    assert story.lines()[-1] == "2026-08-03 shutoff-order prepared"
