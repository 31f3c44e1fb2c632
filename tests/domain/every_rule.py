"""The real replay asked the questions of the oracle for every kind of rule, from outside only."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, time
from itertools import zip_longest
from typing import Any

from registry.domain.kinds import AssemblyType, Hazard, Protects, ServiceKind
from scheduling.domain.cycles import Cycle, parse_cycle
from scheduling.domain.facts import Fact, FactKind, Hindrance
from scheduling.domain.ladders import Ladder, LeftRung, Rung, Trigger, rung_owed
from scheduling.domain.ledger import Ledger
from scheduling.domain.obligations import Obligation, ObligationKey
from scheduling.domain.replay import Left, replay
from scheduling.domain.rulebook import (
    NOT_TRANSCRIBED,
    Attributes,
    CountsAs,
    CycleRule,
    DaysRule,
    EventRule,
    ExemptRule,
    HindranceRule,
    Match,
    MonthDay,
    Regime,
    RepeatRule,
    Rulebook,
    SubjectKind,
    WorkKind,
)
from scheduling.domain.rules import in_order
from scheduling.domain.standing import standing
from scheduling.domain.timeline import AttributesFrom, RulebookFrom, Timeline
from tests.oracle.every.asking import Book, Rule, Thing
from tests.oracle.every.life import Story, as_known

CITED = "invented for this test"
_SHELF: dict[int, tuple[Book, Rulebook]] = {}


def real_answer(story: Story) -> dict[str, Any]:
    """The oracle's `answer`, from the real replay."""
    ledger = ledger_of(story)
    rows = [*ledger.obligations, *ledger.coming]
    named = standing(ledger, story.as_of).value
    return {
        "standing": named,
        "kind": ledger.kind if named not in ("removed", "exempt") else None,
        "open": {row.kind: dates(row) for row in rows if row.is_open},
        "coming": {row.kind: dates(row) for row in rows if row.is_coming},
        "closed": sorted(
            (row.kind, *dates(row), str(row.closed_on), row.closed_how.value)
            for row in rows
            if row.closed_how
        ),
    }


def dates(row: Obligation) -> tuple[str, str, str]:
    return str(row.opens_on), str(row.due_on), str(row.cure_by)


def ledger_of(story: Story, *, left: Left | None = None) -> Ledger:
    """What replay finds for a story."""
    learned = [noon(day) for day in story.learned]
    turns, changes = learned[: len(story.things) - 1], learned[len(story.things) - 1 :]
    timeline = Timeline(
        attributes=tuple(
            AttributesFrom(on=on, attributes=attributes(thing), recorded_at=at)
            for (on, thing), at in zip_longest(story.things, [None, *turns])
        ),
        rulebooks=tuple(
            RulebookFrom(on=on, rulebook=shelved(book), recorded_at=at)
            for (on, book), at in zip_longest(story.books, [None, *changes])
        ),
        recorded_on=story.recorded_on,
        holidays=story.holidays,
    )
    facts = [
        Fact(
            kind=FactKind(told.word),
            on=told.on,
            sequence=number,
            work=told.work,
            found_failed=told.found_failed,
            repaired_inside=told.found_failed,
            until=told.until,
            hindrance=Hindrance(told.hindrance) if told.hindrance else None,
            cause=told.cause,
            recorded_at=noon(told.recorded),
            withdrawn_at=noon(told.withdrawn) if told.withdrawn else None,
        )
        for number, told in enumerate(story.facts)
    ]
    return replay(
        timeline=timeline,
        facts=facts,
        left=left or {},
        as_of=story.as_of,
        known_at=noon(story.known) if story.known else None,
    )


def noon(day: date) -> datetime:
    """The one moment of a day at which everything is written down in these stories."""
    return datetime.combine(day, time(12), tzinfo=UTC)


def attributes(thing: Thing) -> Attributes:
    return Attributes(
        type=AssemblyType(thing["type"]) if thing["type"] else None,
        hazard=Hazard(thing["hazard"]),
        service=ServiceKind(thing["service"]),
        protects=Protects(thing["protects"]),
        use=thing["use"],
        is_residential=thing["residential"],
        has_chemicals=thing["chemicals"],
        runs_part_year=thing["part_year"],
        subject=SubjectKind(thing["subject"]),
    )


def shelved(book: Book) -> Rulebook:
    """The real rulebook of a made one; each is made once."""
    if id(book) not in _SHELF:
        _SHELF[id(book)] = (book, real_book(book))
    return _SHELF[id(book)][1]


def real_book(book: Book) -> Rulebook:
    return Rulebook(
        name=book["name"],
        title=book["name"],
        method="usc10",
        method_citation=CITED,
        kinds=tuple(work_kind(kind) for kind in book["kinds"]),
        cycles=in_order(cycle_rule(rule, f"cycle {n}") for n, rule in enumerate(book["cycles"])),
        events=tuple(event_rule(rule, f"event {n}") for n, rule in enumerate(book["events"])),
        exempt=tuple(
            ExemptRule(id=f"exempt {n}", citation=CITED, match=match(rule), kind=rule["kind"])
            for n, rule in enumerate(book["exempt"])
        ),
        cures=tuple(days_rule(rule, f"cure {n}") for n, rule in enumerate(book["cures"])),
        grace=single(book, "grace"),
        no_date=single(book, "no_date"),
        transition=single(book, "transition"),
        repeats=tuple(repeat_rule(rule, f"repeat {n}") for n, rule in enumerate(book["repeats"])),
        hindrances=tuple(hindrance(r, f"untested {n}") for n, r in enumerate(book["hindrances"])),
        ladder=Ladder(tuple(real_rung(rung) for rung in book["rungs"])),
    )


def real_rung(rung: Rule) -> Rung:
    return Rung(
        key=rung["key"],
        trigger=Trigger(rung["trigger"]),
        citation=CITED,
        offset_days=rung["days"],
        after=rung.get("after"),
        gap_days=rung.get("gap", 0),
        is_working=rung["working"],
        presumed_days=rung.get("presumed", 0),
        latest_left_days=rung.get("latest"),
        repeat=repeated(rung),
        without_day=rung.get("without_day", False),
        is_skippable=rung.get("skippable", False),
        kinds=tuple(rung["kinds"]),
        match=match(rung),
    )


def repeated(rung: Rule) -> Cycle | None:
    """`again` days after it last left, `times` in all."""
    if "again" not in rung:
        return None
    return Cycle(freq="DAILY", interval=rung["again"], count=rung.get("times"))


def real_leavings(story: Story, kind: str, runs: Iterable[date]) -> list[tuple[str, date, bool]]:
    """What the real ladder lets leave over the runs, for the open obligation of a kind."""
    ledger = ledger_of(story)
    row = ledger.open_of(kind)
    left: list[LeftRung] = []
    return [
        found
        for today in runs
        if row and (found := one_leaves(story, ledger, row=row, left=left, today=today))
    ]


def one_leaves(
    story: Story, ledger: Ledger, *, row: Obligation, left: list[LeftRung], today: date
) -> tuple[str, date, bool] | None:
    """Let the rung that is owed leave: its name, the day, whether too late."""
    ladder = book_of(story).ladder_for(kind=row.kind, attributes=ledger.attributes)
    step = rung_owed(ladder=ladder, obligation=row, left=left, today=today, holidays=story.holidays)
    if step is None:
        return None
    left.append(LeftRung(rung=step.rung.key, left_on=today, occurrence=step.occurrence))
    return step.rung.key, today, bool(step.warning)


def book_of(story: Story) -> Rulebook:
    """The rulebook in force on the day asked about, as then known."""
    known = as_known(story).books
    return shelved([each for n, (on, each) in enumerate(known) if not n or on <= story.as_of][-1])


def real_letters(story: Story, runs: Iterable[date]) -> list[tuple[str, str, date, bool]]:
    """What leaves when the day is run now and then while the facts of a story happen."""
    left: dict[ObligationKey, list[LeftRung]] = {}
    found = []
    for today in runs:
        now = replace(story, as_of=today, known=None)
        ledger = ledger_of(now, left=left)
        for row in ledger.obligations:
            gone = left.setdefault(row.key, [])
            one = one_leaves(now, ledger, row=row, left=gone, today=today)
            if one:
                assert ledger.next_actions[row.key] <= today
                found.append((row.kind, *one))
    return sorted(found, key=lambda each: (each[2], each[0]))


def work_kind(kind: Rule) -> WorkKind:
    return WorkKind(
        name=kind["name"], met_by=tuple(kind["met_by"]), subject=SubjectKind(kind["subject"])
    )


def match(rule: Rule) -> Match:
    who = rule.get("who", {})
    return Match(
        types=frozenset(AssemblyType(each) for each in who.get("type", ())),
        hazards=frozenset(Hazard(each) for each in who.get("hazard", ())),
        services=frozenset(ServiceKind(each) for each in who.get("service", ())),
        protects=frozenset(Protects(each) for each in who.get("protects", ())),
        uses=frozenset(who.get("use", ())),
        residential=only(who.get("residential")),
        chemicals=only(who.get("chemicals")),
        detector=only(who.get("detector")),
        part_year=only(who.get("part_year")),
    )


def only(values: list[bool] | None) -> bool | None:
    return values[0] if values else None


def span(every: tuple[str, int]) -> Cycle:
    unit, number = every
    if unit == "days":
        # the whitelist ends at 120: so many days are a product of weeks and days
        return Cycle(freq="DAILY", interval=number)
    if number % 12 == 0:
        return parse_cycle(f"FREQ=YEARLY;INTERVAL={number // 12}")
    return parse_cycle(f"FREQ=MONTHLY;INTERVAL={number}")


def cycle_rule(rule: Rule, name: str) -> CycleRule:
    recurrence = span(rule["every"])
    if rule["regime"] == "season":
        month, day = rule["ends"]
        recurrence = parse_cycle(f"FREQ=YEARLY;BYMONTH={month};BYMONTHDAY={day}")
    cap = rule.get("cap")
    return CycleRule(
        id=name,
        citation=CITED,
        match=match(rule),
        kind=rule["kind"],
        priority=rule.get("priority", 0),
        regime=Regime(rule["regime"]),
        cycle=recurrence,
        opens_days=rule["opens_days"],
        early_days=rule["early"],
        late_days=rule["late"],
        month_end=rule["month_end"],
        cap=span(cap) if cap and cap[0] == "months" else None,
        cap_days=cap[1] if cap and cap[0] == "days" else 0,
        season_opens=MonthDay(*rule["opens"]) if "opens" in rule else None,
        credit_from=MonthDay(*rule["credit_from"]) if "credit_from" in rule else None,
    )


def event_rule(rule: Rule, name: str) -> EventRule:
    return EventRule(
        id=name,
        citation=CITED,
        match=match(rule),
        kind=rule["kind"],
        event=FactKind(rule["event"]),
        days=rule["days"],
        is_working=rule["working"],
        idle_months=rule.get("idle_months", 0),
    )


def days_rule(rule: Rule, name: str) -> DaysRule:
    return DaysRule(
        id=name,
        citation=CITED,
        match=match(rule),
        days=rule["days"],
        is_working=rule["working"],
    )


def single(book: Book, name: str) -> DaysRule:
    rules = book[name]
    return days_rule(rules[0], name) if rules else NOT_TRANSCRIBED


def repeat_rule(rule: Rule, name: str) -> RepeatRule:
    return RepeatRule(
        id=name,
        citation=CITED,
        match=match(rule),
        kind=rule["kind"],
        failures=rule["failures"],
        of_last=rule["of_last"],
        every=span(rule["every"]),
    )


def hindrance(rule: Rule, name: str) -> HindranceRule:
    return HindranceRule(
        id=name,
        citation=CITED,
        match=match(rule),
        hindrances=frozenset(Hindrance(each) for each in rule["hindrances"]),
        counts_as=CountsAs(rule["counts_as"]),
    )
