"""Everything the page of one assembly shows: obligations, tests, letters, facts, as of a day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from typing import Any, Final

from django.db.models import Q

from notices.models import LetterNotice, Notice
from registry.domain.kinds import AssemblyType
from registry.models import Assembly
from reports.drawing.history import (
    DrawnFact,
    DrawnLetter,
    DrawnObligation,
    DrawnReading,
    DrawnTest,
    History,
)
from reports.models import FieldTest
from reports.wording.rungs import RungShown, rung_of
from scheduling.domain.facts import FactKind
from scheduling.models import Fact

SHOWN_READING: Final = {
    AssemblyType.RP: "relief",
    AssemblyType.RPDA: "relief",
    AssemblyType.RPDA_II: "relief",
    AssemblyType.DC: "check1",
    AssemblyType.DCDA: "check1",
    AssemblyType.DCDA_II: "check1",
    AssemblyType.PVB: "air_inlet",
    AssemblyType.SVB: "air_inlet",
}
"""The reading a timeline shows for each type; the table below it holds them all."""

SHOWN_WORDS: Final = {
    "relief": "relief valve opened at",
    "check1": "check 1 held at",
    "air_inlet": "air inlet opened at",
}


@dataclass(frozen=True, kw_only=True)
class TestRow:
    """One tested fact: its report where there is one, its verdict in a word, its readings."""

    on: date
    report: FieldTest | None
    fact: Fact | None
    mark: str
    word: str
    readings: list[str]


@dataclass(frozen=True, kw_only=True)
class LetterRow:
    """One notice with the letter that carries it."""

    notice: Notice
    letter_id: int | None
    rung: RungShown
    on: date
    how: str
    is_prepared: bool


def facts_of(assembly: Assembly, *, as_of: date, known_at: datetime | None) -> list[Fact]:
    """Facts by a day, newest first; withdrawn ones too, for the page strikes them through."""
    found = Fact.objects.filter(assembly=assembly, on__lte=as_of)
    if known_at is not None:
        found = found.filter(recorded_at__lte=known_at)
    return list(found.order_by("-on", "-pk"))


def reports_of(assembly: Assembly, *, as_of: date, known_at: datetime | None) -> list[FieldTest]:
    """Field tests by a day, newest first."""
    found = FieldTest.objects.filter(assembly=assembly, tested_on__lte=as_of)
    if known_at is not None:
        found = found.filter(recorded_at__lte=known_at)
    return list(found.select_related("tester").order_by("-tested_on", "-pk")[:60])


def letters_of(assembly: Assembly, *, as_of: date, rungs: dict[str, RungShown]) -> list[LetterRow]:
    """Notices recorded by a day with their newest letter, newest first. Two queries."""
    notices = list(
        Notice.objects.filter(
            Q(recorded_on__lte=as_of) | Q(left_on__lte=as_of), assembly=assembly
        ).order_by("-recorded_on", "-left_on", "-pk")[:80]
    )
    carried = LetterNotice.objects.filter(notice__in=[one.pk for one in notices])
    letters = {one.notice_id: one for one in carried.select_related("letter").order_by("pk")}
    return [_letter_row(one, letters.get(one.pk), as_of=as_of, rungs=rungs) for one in notices]


def _letter_row(
    notice: Notice, carried: LetterNotice | None, *, as_of: date, rungs: dict[str, RungShown]
) -> LetterRow:
    has_left = notice.left_on is not None and notice.left_on <= as_of
    letter = carried.letter if carried else None
    how = "recorded, no letter yet"
    if notice.sent_in_error_on:
        how = "sent in error: a correction removed its cause"
    elif notice.withdrawn_on:
        how = f"withdrawn: {notice.withdrawn_reason}"
    elif notice.is_brought_along:
        how = "left before the office came here, as stated; no copy is kept"
    elif has_left and letter:
        how = letter.left_how or f"left by {letter.channel}"
    elif letter:
        how = "prepared, waits for a signature" if letter.is_order else f"{letter.state}"
        how = "waits for release" if letter.needs_release and how == "composed" else how
    return LetterRow(
        notice=notice,
        letter_id=letter.pk if letter else None,
        rung=rung_of(notice.rung, rungs),
        on=notice.left_on if has_left and notice.left_on else notice.recorded_on,
        how=how,
        is_prepared=not has_left,
    )


def reading_names(tests: Sequence[FieldTest]) -> list[str]:
    """The readings that any of the tests recorded, in the order of the report, at most six."""
    wanted = ("check1", "relief", "check2", "check2_tight", "air_inlet", "check")
    return [name for name in wanted if any(final_readings(test).get(name) for test in tests)]


def final_readings(test: FieldTest) -> dict[str, str]:
    """The readings after repair where there was one, else as found."""
    return {**dict(test.initial), **{k: v for k, v in dict(test.final).items() if v}}


def test_rows(
    *, facts: Sequence[Fact], reports: Sequence[FieldTest], names: Sequence[str]
) -> list[TestRow]:
    """Reports, and tested facts that came without a report, newest first."""
    reported = {report.fact_id for report in reports if report.fact_id}
    rows = [_report_row(report, names=names) for report in reports]
    rows += [
        _stated_row(fact, names=names)
        for fact in facts
        if fact.kind in {FactKind.PASSED, FactKind.FAILED} and fact.pk not in reported
    ]
    return sorted(rows, key=lambda row: row.on, reverse=True)


def _report_row(report: FieldTest, *, names: Sequence[str]) -> TestRow:
    mark, word = verdict_words(report)
    readings = final_readings(report)
    return TestRow(
        on=report.tested_on,
        report=report,
        fact=None,
        mark=mark,
        word=word,
        readings=[str(readings.get(name) or "") for name in names],
    )


def verdict_words(report: FieldTest) -> tuple[str, str]:
    """The mark and the words of a report's verdict, e.g. `Passes, does not count`."""
    if not report.counts:
        word = {"pass": "Passes", "fail": "Fails", "incomplete": "Incomplete"}.get(
            report.outcome, "Not judged"
        )
        mark = "not-counting" if report.outcome == "pass" else _mark_of(report.outcome)
        return mark, f"{word}, does not count"
    if report.outcome == "pass":
        repaired = report.as_found == "fail" and bool(report.final)
        return "passes", "Passed after repair" if repaired else "Passed"
    return _mark_of(report.outcome), {"fail": "Failed", "incomplete": "Incomplete"}.get(
        report.outcome, "Not judged"
    )


def _mark_of(outcome: str) -> str:
    return {"fail": "fails", "incomplete": "incomplete", "pass": "passes"}.get(outcome, "refused")


def _stated_row(fact: Fact, *, names: Sequence[str]) -> TestRow:
    passed = fact.kind == FactKind.PASSED
    word = "Passed, as stated" if passed else "Failed, as stated"
    if fact.withdrawn_at:
        word = f"{word}; withdrawn"
    return TestRow(
        on=fact.on,
        report=None,
        fact=fact,
        mark="passes" if passed else "fails",
        word=word,
        readings=["" for _ in names],
    )


def history_of(
    assembly: Assembly,
    *,
    obligations: Sequence[dict[str, Any]],
    facts: Sequence[Fact],
    tests: Sequence[TestRow],
    letters: Sequence[LetterRow],
    says: str,
) -> History:
    """The plain values the timeline is drawn from."""
    shown = SHOWN_READING.get(AssemblyType(assembly.type), "")
    tested = {FactKind.PASSED.value, FactKind.FAILED.value}
    return History(
        obligations=tuple(_obligation(one) for one in obligations),
        tests=tuple(
            _test(row, shown)
            for row in reversed(tests)
            if row.mark in {"passes", "fails"} and not (row.fact and row.fact.withdrawn_at)
        ),
        letters=tuple(_flag(row) for row in reversed(letters) if not row.notice.withdrawn_on),
        facts=tuple(
            DrawnFact(on=fact.on, words=_fact_words(fact), is_withdrawn=bool(fact.withdrawn_at))
            for fact in facts
            if fact.kind not in tested or fact.withdrawn_at
        ),
        reading=_limit(tests, shown),
        says=says,
    )


def _obligation(one: dict[str, Any]) -> DrawnObligation:
    closed = one.get("closed_on")
    return DrawnObligation(
        opens_on=date.fromisoformat(one["opens_on"]),
        due_on=date.fromisoformat(one["due_on"]),
        closed_on=date.fromisoformat(closed) if closed else None,
        closed_how=one.get("closed_how") or "",
    )


def _test(row: TestRow, shown: str) -> DrawnTest:
    reading = final_readings(row.report).get(shown) if row.report else None
    return DrawnTest(on=row.on, passed=row.mark == "passes", reading=as_figure(reading))


def as_figure(text: object) -> Decimal | None:
    """A reading as a figure; None for words and blanks."""
    try:
        return Decimal(str(text)) if text not in (None, "") else None
    except InvalidOperation:
        return None


def _limit(tests: Sequence[TestRow], shown: str) -> DrawnReading | None:
    for row in tests:
        if row.report is None:
            continue
        parts = row.report.verdict or {}
        criteria = ((parts.get("final") or parts.get("initial")) or {}).get("criteria", [])
        for one in criteria:
            limit = as_figure(one.get("limit"))
            if one.get("name") == shown and limit is not None:
                return DrawnReading(
                    name=SHOWN_WORDS.get(shown, shown),
                    unit=row.report.unit,
                    limit=limit,
                    limit_words=f"limit: at least {limit}",
                )
    return None


def _flag(row: LetterRow) -> DrawnLetter:
    return DrawnLetter(
        on=row.on,
        rung=max(row.rung.step, 1),
        figure=row.rung.figure,
        is_grave=row.rung.is_grave,
        is_prepared=row.is_prepared,
    )


def _fact_words(fact: Fact) -> str:
    words = fact.kind
    what = str(fact.detail.get("words") or fact.detail.get("what") or "")
    return f"{words}: {what[:40]}" if what else words
