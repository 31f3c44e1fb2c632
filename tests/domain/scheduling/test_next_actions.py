"""The next day an obligation is looked at is never too late, whatever has left, told or not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations

import pytest

from scheduling.domain.ladders import Ladder, LeftRung, Rung, Trigger, acts_on
from scheduling.domain.next_actions import first_action
from scheduling.domain.obligations import Obligation, ObligationKey, Origin
from tests.domain.scheduling.histories import book

ON = date(2025, 3, 10)
OWED = Obligation(
    key=ObligationKey("test", Origin.CYCLE, date(2024, 1, 10), date(2025, 1, 10)),
    opens_on=date(2024, 11, 11),
    due_on=date(2025, 1, 10),
    is_open=True,
    rule="cycle yearly",
    citation="c",
    rulebook="b",
)


def rung(key: str, trigger: Trigger, days: int) -> Rung:
    return Rung(key=key, trigger=trigger, citation="c", offset_days=days)


def looked_at(
    ladder: Ladder, obligation: Obligation, left: Sequence[LeftRung] | None
) -> date | None:
    return first_action(ladder=ladder, obligation=obligation, left=left, as_of=ON, holidays=())


def test_a_repair_notice_long_gone_does_not_hold_back_what_is_owed_today() -> None:
    """The failure was first recorded for 27 February, then corrected to 8 March. The repair notice,
    ten days after it, left on 9 March; the overdue notice is owed on 10 March, not on the 18th."""
    ladder = Ladder((rung("repair", Trigger.FAILED, 10), rung("overdue", Trigger.DUE, 1)))
    failed = OWED._replace(failed_on=date(2025, 3, 8), cure_by=date(2025, 3, 9))
    gone = (LeftRung(rung="repair", left_on=date(2025, 3, 9)),)
    assert acts_on(ladder=ladder, obligation=failed, left=gone, as_of=ON) == date(2025, 3, 10)
    assert acts_on(ladder=ladder, obligation=failed, left=(), as_of=ON) == date(2025, 3, 18)
    assert looked_at(ladder, failed, None) == date(2025, 3, 10)
    assert looked_at(ladder, failed, ()) == date(2025, 3, 18)


def test_a_rung_without_a_day_that_a_person_sent_does_not_end_the_ladder() -> None:
    """Its day is not transcribed, so it never leaves by itself; the next waits for it."""
    hearing = replace(rung("hearing", Trigger.DUE, 0), without_day=True)
    final = replace(rung("final", Trigger.DUE, 90), after="hearing", gap_days=14)
    ladder = Ladder((hearing, final))
    gone = (LeftRung(rung="hearing", left_on=date(2025, 3, 1)),)
    # 10 January + 90 days = 10 April
    assert acts_on(ladder=ladder, obligation=OWED, left=gone, as_of=ON) == date(2025, 4, 10)
    assert looked_at(ladder, OWED, ()) is None
    assert looked_at(ladder, OWED, None) == date(2025, 4, 10)


@pytest.mark.parametrize("name", ["plain-rolling", "plain-anniversary", "plain-season"])
@pytest.mark.parametrize("failed_on", [None, date(2025, 2, 20)])
def test_whatever_left_the_day_told_without_it_is_no_later(
    name: str, failed_on: date | None
) -> None:
    ladder = book(name).ladder
    cure_by = failed_on and failed_on + timedelta(days=21)
    for moved in (0, 40, 90):
        due_on = OWED.due_on + timedelta(days=moved)
        obligation = OWED._replace(due_on=due_on, failed_on=failed_on, cure_by=cure_by)
        unknown = looked_at(ladder, obligation, None)
        for number in range(len(ladder.rungs) + 1):
            for keys in combinations([one.key for one in ladder.rungs], number):
                gone = [
                    LeftRung(rung=key, left_on=ON - timedelta(days=60 - 5 * place))
                    for place, key in enumerate(keys)
                ]
                known = acts_on(ladder=ladder, obligation=obligation, left=gone, as_of=ON)
                assert known is None or (unknown is not None and unknown <= known), gone
