"""One assembly on one day: rung by rung whether a letter was owed, and what became of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Q

from notices.actions.day import is_live_on
from notices.models import LetterNotice, Notice
from notices.queries.left_then import left_then
from notices.queries.pacing import was_held
from registry.models import Assembly
from registry.moments import end_of_day
from scheduling.domain.ladder_account import RungAccount, RungVerdict, account
from scheduling.domain.ledger import Ledger
from scheduling.domain.obligations import Obligation
from scheduling.domain.reasons import Reason
from scheduling.domain.standing import Standing, standing
from scheduling.models import DayRun, Fact
from scheduling.queries.rulebooks import books_of
from scheduling.queries.standings import ledger_of


@dataclass(frozen=True, slots=True, kw_only=True)
class RungThatDay:
    """A rung on the day with the notice recorded for it and the letter that carried it."""

    account: RungAccount
    notice: Notice | None
    letter_id: int | None
    letter_number: str
    became: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LetterDay:
    """Why a letter was or was not owed for an assembly on a day, as was then known."""

    day: date
    standing: Standing
    obligation: Obligation | None
    rungs: tuple[RungThatDay, ...]
    said: str
    reasons: tuple[Reason, ...]
    known: tuple[Fact, ...]
    learned_later: tuple[Fact, ...]
    withdrawn_later: tuple[Fact, ...]
    standing_now_known: Standing
    due_now_known: date | None

    @property
    def has_changed(self) -> bool:
        """Whether what was learned since makes the day another one."""
        due = self.obligation.due_on if self.obligation else None
        return (self.standing, due) != (self.standing_now_known, self.due_now_known)


def letter_day(*, assembly: Assembly, day: date) -> LetterDay:
    """Return the account of a day, as known at its end. Raises NoRulebookError.

    Rungs that left on the day itself stand as owed that day, with the letter beside them.
    """
    program = assembly.program
    known_at = end_of_day(program, day)
    assert known_at is not None
    before = left_then(assembly=assembly, by=day - timedelta(days=1), known_on=day)
    ledger = ledger_of(assembly=assembly, as_of=day, known_at=known_at, left=before)
    current, ladder = ledger.current, books_of(program).current(day).ladder
    left = before.get(current.key, ()) if current else ()
    days = ledger.holidays
    accounts = (
        account(ladder=ladder, obligation=current, left=left, day=day, holidays=days)
        if current
        else []
    )
    notices = _notices(assembly, day=day)
    rungs = tuple(_with_letter(one, notices=notices, day=day) for one in accounts)
    now = ledger_of(assembly=assembly, as_of=day)
    facts = list(Fact.objects.filter(assembly=assembly, on__lte=day).order_by("on", "pk"))
    return LetterDay(
        day=day,
        standing=standing(ledger, day),
        obligation=current,
        rungs=rungs,
        said=_said(rungs, ledger=ledger, assembly=assembly, day=day),
        reasons=ledger.reasons,
        known=tuple(fact for fact in facts if _stood(fact, known_at=known_at)),
        learned_later=tuple(
            fact for fact in facts if fact.recorded_at > known_at and fact.withdrawn_at is None
        ),
        withdrawn_later=tuple(
            fact
            for fact in facts
            if _stood(fact, known_at=known_at) and fact.withdrawn_at is not None
        ),
        standing_now_known=standing(now, day),
        due_now_known=now.current.due_on if now.current else None,
    )


def _stood(fact: Fact, *, known_at: datetime) -> bool:
    stands = fact.withdrawn_at is None or fact.withdrawn_at > known_at
    return fact.recorded_at <= known_at and stands


def _notices(assembly: Assembly, *, day: date) -> dict[str, tuple[Notice, LetterNotice | None]]:
    """The newest notice of each rung that was on record by the day, with its newest letter."""
    notices = list(
        Notice.objects.filter(
            Q(recorded_on__lte=day) | Q(left_on__lte=day, is_brought_along=False),
            assembly=assembly,
        ).order_by("recorded_on", "left_on", "pk")
    )
    carried = LetterNotice.objects.filter(notice__in=[one.pk for one in notices])
    letters = {one.notice_id: one for one in carried.select_related("letter").order_by("pk")}
    return {one.rung: (one, letters.get(one.pk)) for one in notices}


def _with_letter(
    one: RungAccount, *, notices: dict[str, tuple[Notice, LetterNotice | None]], day: date
) -> RungThatDay:
    notice, carried = notices.get(one.rung, (None, None))
    if one.verdict not in {RungVerdict.LEFT, RungVerdict.OWED}:
        notice, carried = None, None
    return RungThatDay(
        account=one,
        notice=notice,
        letter_id=carried.letter_id if carried else None,
        letter_number=carried.letter.number if carried else "",
        became=_became(notice, day=day),
    )


def _became(notice: Notice | None, *, day: date) -> str:
    if notice is None:
        return ""
    if notice.is_brought_along:
        return "left before the office came here, as stated"
    if notice.left_on is not None and notice.left_on == day:
        return "left that day"
    if notice.left_on is not None and notice.left_on < day:
        return f"left {notice.left_on}"
    if notice.withdrawn_on is not None and notice.withdrawn_on <= day:
        return f"withdrawn {notice.withdrawn_on}: {notice.withdrawn_reason}"
    return f"recorded {notice.recorded_on}, not left by then"


def _said(rungs: Sequence[RungThatDay], *, ledger: Ledger, assembly: Assembly, day: date) -> str:
    """Whether a letter was owed that day, in one sentence with the reason."""
    owed = next((one for one in rungs if one.account.verdict is RungVerdict.OWED), None)
    if owed is None:
        return _none_owed(rungs, ledger=ledger, day=day)
    name = owed.account.rung.replace("-", " ")
    if owed.notice is not None:
        return f"A {name} letter was owed and {owed.became}."
    if not is_live_on(assembly.program, day=day):
        return f"A {name} letter was owed, but the program was not live."
    if was_held(assembly.program, on=day):
        return f"A {name} letter was owed, but all letters were held."
    run = DayRun.objects.filter(program=assembly.program, as_of=day).first()
    if run is None:
        return f"A {name} letter was owed, but the day was not run: it is owed again."
    return f"A {name} letter was owed and not recorded: it waited for another day’s letters."


def _none_owed(rungs: Sequence[RungThatDay], *, ledger: Ledger, day: date) -> str:
    current = ledger.current
    if current is None:
        return f"No letter was owed: nothing was owed ({standing(ledger, day).value})."
    if current.is_suspended:
        return "No letter was owed: the assembly was idle."
    if not current.is_open:
        return f"No letter was owed: what comes next opens {current.opens_on}."
    comes = [one.account for one in rungs if one.account.verdict is RungVerdict.COMES]
    dated = [(one.on, one) for one in comes if one.on is not None]
    if dated:
        on, first = min(dated, key=lambda pair: pair[0])
        name = first.rung.replace("-", " ")
        return f"No letter was owed: the next, {name}, comes {on} ({first.why})."
    return "No letter was owed: no rung was left to come."
