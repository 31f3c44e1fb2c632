"""The real replay asked the questions of the oracle for every kind of rule, from outside only."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from registry.domain.kinds import AssemblyType, Hazard, Protects, ServiceKind
from scheduling.domain.cycles import Cycle, parse_cycle
from scheduling.domain.facts import Fact, FactKind, Hindrance
from scheduling.domain.ladders import Ladder, LeftRung, Rung, Trigger, rung_owed
from scheduling.domain.ledger import Ledger
from scheduling.domain.obligations import Obligation
from scheduling.domain.replay import replay
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
from scheduling.domain.standing import standing
from scheduling.domain.timeline import AttributesFrom, RulebookFrom, Timeline
from tests.oracle.every.asking import Book, Rule, Thing
from tests.oracle.every.life import Story

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


def ledger_of(story: Story) -> Ledger:
    """What replay finds for a story."""
    timeline = Timeline(
        attributes=tuple(AttributesFrom(on=on, attributes=attributes(t)) for on, t in story.things),
        rulebooks=tuple(RulebookFrom(on=on, rulebook=shelved(book)) for on, book in story.books),
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
        )
        for number, told in enumerate(story.facts)
    ]
    return replay(timeline=timeline, facts=facts, left={}, as_of=story.as_of)


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
        cycles=tuple(cycle_rule(rule, f"cycle {n}") for n, rule in enumerate(book["cycles"])),
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
        without_day=rung.get("without_day", False),
        is_skippable=rung.get("skippable", False),
        kinds=tuple(rung["kinds"]),
        match=match(rung),
    )


def real_leavings(story: Story, kind: str, runs: Iterable[date]) -> list[tuple[str, date]]:
    """What the real ladder lets leave over the runs, for the open obligation of a kind."""
    ledger = ledger_of(story)
    row = ledger.open_of(kind)
    if row is None:
        return []
    book = shelved(
        [each for n, (on, each) in enumerate(story.books) if not n or on <= story.as_of][-1]
    )
    ladder = book.ladder_for(kind=kind, attributes=ledger.attributes)
    left: list[LeftRung] = []
    for today in runs:
        step = rung_owed(
            ladder=ladder, obligation=row, left=left, today=today, holidays=story.holidays
        )
        if step:
            left.append(LeftRung(rung=step.rung.key, left_on=today, occurrence=step.occurrence))
    return [(each.rung, each.left_on) for each in left]


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
