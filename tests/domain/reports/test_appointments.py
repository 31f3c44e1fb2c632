"""What is to be said about a visit, and how in time: each case by hand."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from notices.catalogues import words_in
from reports.domain.appointment_letters import AppointmentLetter, at_clock
from reports.domain.appointments import Standing, ToldBy, ToSay, to_say

NOW = datetime(2026, 11, 25, 20, tzinfo=UTC)
MADE, CHANGED, OFF = AppointmentLetter.MADE, AppointmentLetter.CHANGED, AppointmentLetter.OFF


def visit(hours: float, *, tester: str = "T. Vell") -> Standing:
    starts = NOW + timedelta(hours=hours)
    return Standing(starts, starts + timedelta(minutes=30), tester)


@pytest.mark.parametrize(
    ("holds", "told", "has_email", "said"),
    [
        (visit(24 * 7), None, True, ToSay(MADE, ToldBy.EMAIL, must_call=False)),
        (visit(24 * 7), None, False, ToSay(MADE, ToldBy.POST, must_call=False)),
        # Four days ahead no letter is counted on: a person calls.
        (visit(24 * 4), None, False, ToSay(MADE, ToldBy.CALL, must_call=True)),
        (visit(24), None, True, ToSay(MADE, ToldBy.EMAIL, must_call=False)),
        (visit(24 * 7), visit(24 * 7), True, None),
        (visit(24 * 8), visit(24 * 7), True, ToSay(CHANGED, ToldBy.EMAIL, must_call=False)),
        (visit(24 * 7, tester="O. Fenn"), visit(24 * 7), True,
         ToSay(CHANGED, ToldBy.EMAIL, must_call=False)),
        # The nearer of both times decides: who waits tomorrow must hear it today.
        (visit(24 * 8), visit(40), True, ToSay(CHANGED, ToldBy.EMAIL, must_call=True)),
        (visit(40), visit(24 * 8), True, ToSay(CHANGED, ToldBy.EMAIL, must_call=True)),
        (visit(24 * 8), visit(40), False, ToSay(CHANGED, ToldBy.CALL, must_call=True)),
        (None, visit(24 * 8), True, ToSay(OFF, ToldBy.EMAIL, must_call=False)),
        (None, visit(40), True, ToSay(OFF, ToldBy.EMAIL, must_call=True)),
        # Over: nothing is said any more.
        (None, visit(-1), True, None),
        (visit(-1), None, True, None),
        (None, None, True, None),
    ],
)  # fmt: skip
def test_what_is_said_and_how(
    holds: Standing | None, told: Standing | None, has_email: bool, said: ToSay | None
) -> None:
    assert to_say(now=NOW, holds=holds, told=told, has_email=has_email) == said


@pytest.mark.parametrize(
    ("hour", "english", "spanish"),
    [
        (0, "Tuesday, December 1, 2026, at 12:05 am",
         "martes 1 de diciembre de 2026 a las 12:05 de la mañana"),
        (10, "Tuesday, December 1, 2026, at 10:05 am",
         "martes 1 de diciembre de 2026 a las 10:05 de la mañana"),
        (12, "Tuesday, December 1, 2026, at 12:05 pm",
         "martes 1 de diciembre de 2026 a las 12:05 de la tarde"),
        (13, "Tuesday, December 1, 2026, at 1:05 pm",
         "martes 1 de diciembre de 2026 a las 1:05 de la tarde"),
    ],
)  # fmt: skip
def test_days_and_times_in_both_languages(hour: int, english: str, spanish: str) -> None:
    moment = datetime(2026, 12, 1, hour, 5, tzinfo=UTC)
    for language, wanted in (("en", english), ("es", spanish)):
        said = at_clock(moment, words=words_in(language)).replace("\u00a0", " ")
        assert said == wanted
