"""Rulebooks of every kind of rule, made at random but never contradictory; facts for them."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from hypothesis import strategies as st

from registry.domain.kinds import AssemblyType, Hazard, Protects, ServiceKind
from scheduling.domain.cycles import parse_cycle
from scheduling.domain.facts import EVENTS, Fact, FactKind, Hindrance
from scheduling.domain.gaps import Gap, Part, Waiver
from scheduling.domain.ladders import Ladder
from scheduling.domain.rulebook import (
    EVERYTHING,
    Attributes,
    Credentials,
    CycleRule,
    DaysRule,
    EventRule,
    ExemptRule,
    HindranceRule,
    Mark,
    Match,
    MonthDay,
    ProtectionRule,
    Provision,
    RatioRule,
    Regime,
    RepeatRule,
    ReportRule,
    Rulebook,
    Source,
    SubjectKind,
    TesterTerm,
    Topic,
    WorkKind,
)
from scheduling.domain.rules import CountsAs
from scheduling.domain.rungs import Recipient, Rung, Trigger

WORKS = ("test", "internal inspection", "forward-flow test")
DAYS = st.integers(0, 60)
WORDS = st.text(st.characters(codec="utf-8"), min_size=1, max_size=20).filter(
    lambda word: bool(word.strip())
)
EVERY = st.sampled_from(
    ["FREQ=YEARLY", "FREQ=MONTHLY;INTERVAL=6", "FREQ=MONTHLY;INTERVAL=30", "FREQ=WEEKLY;INTERVAL=9"]
).map(parse_cycle)
SOURCES = st.builds(
    Source,
    number=st.just("") | WORDS,
    transcribed_on=st.none() | st.dates(date(1900, 1, 1), date(2200, 12, 31)),
    mark=st.sampled_from(Mark),
)
NARROW = st.builds(
    Match,
    types=st.frozensets(st.sampled_from(AssemblyType), min_size=1),
    hazards=st.frozensets(st.sampled_from([Hazard.HIGH, Hazard.LOW])),
    services=st.frozensets(st.sampled_from(ServiceKind)),
    protects=st.frozensets(st.sampled_from(Protects)),
    uses=st.frozensets(st.sampled_from(["hospital", "car wash"])),
    residential=st.none() | st.booleans(),
    chemicals=st.none() | st.booleans(),
    detector=st.none() | st.booleans(),
    part_year=st.none() | st.booleans(),
)
MATCHES = st.just(EVERYTHING) | NARROW
MONTH_DAYS = st.builds(MonthDay, st.integers(1, 12), st.integers(1, 31))


@st.composite
def cycles(
    draw: st.DrawFn, *, name: str, match: Match = EVERYTHING, kind: str = "test"
) -> CycleRule:
    """A cycle of any regime."""
    regime = draw(st.sampled_from(Regime))
    is_season, is_anniversary = regime is Regime.SEASON, regime is Regime.ANNIVERSARY
    return CycleRule(
        id=name,
        kind=kind,
        match=match,
        regime=regime,
        cycle=parse_cycle("FREQ=YEARLY;BYMONTH=5;BYMONTHDAY=31") if is_season else draw(EVERY),
        opens_days=0 if is_season else draw(DAYS),
        early_days=draw(DAYS) if is_anniversary else 0,
        late_days=draw(DAYS) if is_anniversary else 0,
        cap=draw(st.none() | EVERY),
        cap_days=draw(st.sampled_from([0, 0, 365])),
        month_end=not is_season and draw(st.booleans()),
        season_opens=draw(MONTH_DAYS) if is_season else None,
        credit_from=draw(MONTH_DAYS) if is_season else None,
        citation=draw(WORDS),
        source=draw(SOURCES),
    )


@st.composite
def rulebooks(draw: st.DrawFn) -> Rulebook:
    """A whole rulebook with rules of every kind."""

    def said() -> dict[str, object]:
        return {"citation": draw(WORDS), "source": draw(SOURCES), "match": draw(MATCHES)}

    def days(name: str, match: Match = EVERYTHING) -> DaysRule:
        return DaysRule(
            id=name,
            days=draw(DAYS),
            is_working=draw(st.booleans()),
            citation=draw(WORDS),
            source=draw(SOURCES),
            match=match,
        )

    topic = draw(st.sampled_from(Topic))
    within = draw(st.none() | st.integers(1, 60))
    to_be_heard = (within or 0) if topic is Topic.HEARING else 0
    narrow = draw(st.lists(NARROW, max_size=2, unique=True))
    own = [draw(cycles(name=f"own {n}", match=match)) for n, match in enumerate(narrow)]
    others = [draw(cycles(name=f"other {work}", kind=work)) for work in WORKS[1:]]
    events = draw(st.lists(st.sampled_from(sorted(EVENTS)), max_size=4))
    return Rulebook(
        name="generated",
        title=draw(WORDS),
        method="usc10",
        method_citation=draw(WORDS),
        effective_on=draw(st.none() | st.just(date(2020, 2, 29))),
        kinds=(
            *(WorkKind(name=work, met_by=(work,)) for work in WORKS),
            WorkKind(name="survey", met_by=("survey",), subject=SubjectKind.PREMISES),
            WorkKind(name="protection", met_by=("protection",), subject=SubjectKind.PREMISES),
        ),
        cycles=(
            *own,
            draw(cycles(name="rest")),
            *others,
            draw(cycles(name="surveyed", kind="survey")),
        ),
        events=tuple(
            EventRule(
                id=f"event {n}",
                event=event,
                days=draw(DAYS),
                is_working=draw(st.booleans()),
                idle_months=draw(st.sampled_from([0, 3, 12])),
                kind=draw(st.sampled_from([*WORKS, "protection"])),
                **said(),  # type: ignore[arg-type]
            )
            for n, event in enumerate(events)
        ),
        exempt=(
            ExemptRule(
                id="exempt",
                match=Match(types=frozenset({AssemblyType.AG})),
                citation=draw(WORDS),
                source=draw(SOURCES),
            ),
        ),
        cures=(days("high", Match(hazards=frozenset({Hazard.HIGH}))), days("other")),
        grace=days("grace"),
        no_date=days("no date"),
        transition=days("transition"),
        repeats=(
            RepeatRule(id="repeat", failures=1, of_last=2, every=draw(EVERY), **said()),  # type: ignore[arg-type]
        ),
        reports=(
            ReportRule(
                id="report",
                days=draw(DAYS),
                is_working=draw(st.booleans()),
                about=draw(st.frozensets(st.sampled_from(FactKind), max_size=3)),
                **said(),  # type: ignore[arg-type]
            ),
        ),
        hindrances=(
            HindranceRule(
                id="hindrance",
                hindrances=draw(st.frozensets(st.sampled_from(Hindrance))),
                counts_as=draw(st.sampled_from(CountsAs)),
                **said(),  # type: ignore[arg-type]
            ),
        ),
        protections=(
            ProtectionRule(
                id="protection",
                allowed=draw(st.frozensets(st.sampled_from(AssemblyType), min_size=1)),
                **said(),  # type: ignore[arg-type]
            ),
        ),
        ratios=(RatioRule(id="ratio", share=Decimal("0.90"), chase_days=90, **said()),),  # type: ignore[arg-type]
        provisions=(
            Provision(
                id="provision",
                topic=topic,
                words=draw(WORDS),
                days=within,
                by=("hand", "posted at the door") if topic is Topic.SECOND_MEANS else (),
                **said(),  # type: ignore[arg-type]
            ),
        ),
        credentials=Credentials(
            gauge_months=12,
            citation=draw(WORDS),
            source=draw(SOURCES),
            tester=draw(st.none() | st.builds(TesterTerm, months=DAYS, citation=WORDS)),
        ),
        ladder=draw(ladders(to_be_heard=to_be_heard)),
        gap_list=(Gap(name="a gap", part=Part.PROVISION, what=draw(WORDS), match=draw(MATCHES)),),
        waivers=draw(
            st.just(())
            | st.tuples(
                st.builds(
                    Waiver,
                    gap=st.just("a gap"),
                    by=WORDS,
                    on=st.just(date(2026, 1, 1)),
                    reason=WORDS,
                )
            )
        ),
    )


@st.composite
def ladders(draw: st.DrawFn, *, to_be_heard: int) -> Ladder:
    """A ladder with a statutory notice in advance, courtesy, gaps, and one of its own kind.

    `to_be_heard`: the days within which a hearing is asked for, before any order.
    """
    return Ladder(
        (
            Rung(key="prompted", trigger=Trigger.PROMPTED, citation=draw(WORDS)),
            Rung(
                key="advance",
                trigger=Trigger.DUE,
                offset_days=-45,
                latest_left_days=draw(st.none() | st.integers(-45, -1)),
                is_required=True,
                citation=draw(WORDS),
                source=draw(SOURCES),
            ),
            Rung(
                key="courtesy",
                trigger=Trigger.DUE,
                offset_days=-15,
                is_skippable=True,
                citation=draw(WORDS),
                recipients=tuple(draw(st.lists(st.sampled_from(Recipient), max_size=3))),
            ),
            Rung(key="repair", trigger=Trigger.FAILED, citation=draw(WORDS)),
            Rung(
                key="overdue",
                trigger=Trigger.DUE,
                offset_days=1,
                is_working=draw(st.booleans()),
                citation=draw(WORDS),
            ),
            Rung(
                key="order",
                trigger=Trigger.DUE,
                offset_days=1,
                after="overdue",
                gap_days=draw(DAYS) + (to_be_heard + 1 if to_be_heard else 0),
                presumed_days=draw(st.integers(0, 5)),
                is_working=draw(st.booleans()),
                is_order=True,
                needs_release=True,
                match=draw(MATCHES),
                channel="certified",
                also_by=("phone",),
                citation=draw(WORDS),
            ),
            Rung(
                key="inspect",
                trigger=Trigger.DUE,
                offset_days=1,
                kinds=("internal inspection",),
                citation=draw(WORDS),
            ),
        )
    )


FACTS = st.lists(
    st.builds(
        Fact,
        kind=st.sampled_from(FactKind),
        on=st.dates(date(2019, 1, 1), date(2026, 12, 31))
        | st.sampled_from([date(2024, 2, 29), date(2023, 5, 31), date(2024, 12, 31)]),
        work=st.sampled_from([*WORKS, "test", "survey", "protection"]),
        found_failed=st.booleans(),
        repaired_inside=st.booleans(),
        until=st.none() | st.dates(date(2019, 1, 1), date(2026, 12, 31)),
        hindrance=st.none() | st.sampled_from(Hindrance),
    ),
    max_size=14,
)
SUBJECTS = st.builds(
    Attributes,
    type=st.sampled_from(AssemblyType),
    hazard=st.sampled_from(Hazard),
    service=st.sampled_from(ServiceKind),
    is_residential=st.none() | st.booleans(),
    has_chemicals=st.none() | st.booleans(),
    use=st.sampled_from(["", "Hospital", "bakery"]),
) | st.builds(Attributes, subject=st.just(SubjectKind.PREMISES))
HOLIDAYS = st.frozensets(st.dates(date(2019, 1, 1), date(2027, 1, 1)), max_size=10)
