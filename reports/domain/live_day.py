"""What became of a planned visit on its day, and when such a visit can be tried again."""

from __future__ import annotations

from datetime import date, timedelta
from enum import StrEnum


class VisitOutcome(StrEnum):
    """What a tester or dispatcher says of a visit once its time has come."""

    DONE = "done"
    NOBODY = "nobody there"
    NO_ACCESS = "no access"
    TO_RETURN = "to return"


MEANS = {
    VisitOutcome.DONE: "tested; a replan leaves it where it is",
    VisitOutcome.NOBODY: "the customer was not there as arranged",
    VisitOutcome.NO_ACCESS: "locked, buried, blocked: what was in the way is said",
    VisitOutcome.TO_RETURN: "failed or unfinished: the tester has to come again",
}


def again_from(outcome: VisitOutcome, *, on: date) -> date | None:
    """The first day a visit is planned again; None where it is done.

    Nobody there on a Tuesday: from Wednesday, when somebody has called. To return the same day is a
    person's word, by one more visit.
    """
    return None if outcome is VisitOutcome.DONE else on + timedelta(days=1)
