"""Each kind of rule, read from its table of TOML."""

from __future__ import annotations

from collections.abc import Collection
from typing import TypedDict

from registry.domain.kinds import AssemblyType, Hazard, Protects, ServiceKind
from scheduling.domain.facts import EVENTS, FactKind, Hindrance
from scheduling.domain.gaps import Gap, Part, Waiver
from scheduling.domain.matching import Match, SubjectKind
from scheduling.domain.rulebook_table import Table
from scheduling.domain.rules import (
    TEST,
    CountsAs,
    Credentials,
    CycleRule,
    DaysRule,
    EventRule,
    ExemptRule,
    HindranceRule,
    MonthDay,
    ProtectionRule,
    Provision,
    RatioRule,
    Regime,
    RepeatRule,
    ReportRule,
    TesterTerm,
    Topic,
    WorkKind,
)
from scheduling.domain.sources import Mark, Source


class _Common(TypedDict):
    """What every rule has."""

    id: str
    citation: str
    source: Source
    match: Match


def _common(table: Table) -> _Common:
    return {
        "id": table.text("id"),
        "citation": table.text("citation"),
        "source": source(table),
        "match": match(table),
    }


def source(table: Table) -> Source:
    """Read where a rule comes from."""
    return Source(
        number=table.words_or_empty("number"),
        transcribed_on=table.day_or_none("transcribed"),
        mark=table.one_of("mark", Mark) if table.has("mark") else Mark.UNMARKED,
    )


def match(table: Table) -> Match:
    """Read whom a rule catches."""
    return Match(
        types=table.some_of("types", AssemblyType),
        hazards=table.some_of("hazards", Hazard),
        services=table.some_of("services", ServiceKind),
        protects=table.some_of("protects", Protects),
        uses=frozenset(use.strip().casefold() for use in table.words("uses")),
        residential=table.flag_or_none("residential"),
        chemicals=table.flag_or_none("chemicals"),
        detector=table.flag_or_none("detector"),
        part_year=table.flag_or_none("part_year"),
    )


def kind(table: Table) -> WorkKind:
    """Read a kind of obligation."""
    return table.done(
        WorkKind(
            name=table.text("name"),
            met_by=table.words("met_by"),
            subject=table.one_of("subject", SubjectKind, SubjectKind.ASSEMBLY),
        )
    )


def cycle_rule(table: Table, *, missing: Collection[Part] = ()) -> CycleRule:
    """Read how often a kind of work comes round; what a gap names may be left out."""
    regime = table.one_of("regime", Regime)
    is_season = regime is Regime.SEASON
    is_anniversary = regime is Regime.ANNIVERSARY
    opens = 0 if Part.OPENING in missing else None
    early = 0 if Part.WINDOW in missing else None
    may_lack_credit = Part.CREDIT in missing and not table.has("credit_from")
    return table.done(
        CycleRule(
            **_common(table),
            kind=table.text("kind", TEST),
            regime=regime,
            cycle=table.cycle("every"),
            priority=table.days("priority", 0),
            opens_days=0 if is_season else table.days("opens_days", opens),
            early_days=table.days("early_days", early) if is_anniversary else 0,
            late_days=table.days("late_days", 0) if is_anniversary else 0,
            cap=table.cycle_or_none("cap"),
            cap_days=table.days("cap_days", 0),
            month_end=False if is_season else table.flag("month_end"),
            season_opens=_month_day(table, "season_opens") if is_season else None,
            credit_from=(
                _month_day(table, "credit_from") if is_season and not may_lack_credit else None
            ),
        )
    )


def _month_day(table: Table, key: str) -> MonthDay:
    word = table.text(key)
    month, dash, day = word.partition("-")
    if not (dash and month.isdecimal() and day.isdecimal()):
        raise table.error(f'{key} = {word!r} is no day of a year: write it as "03-01".')
    if not (1 <= int(month) <= 12 and 1 <= int(day) <= 31):
        raise table.error(f'{key} = {word!r} is no day of a year: write it as "03-01".')
    return MonthDay(int(month), int(day))


def event_rule(table: Table) -> EventRule:
    """Read what an event asks for."""
    event = table.one_of("event", FactKind)
    if event not in EVENTS:
        known = ", ".join(sorted(EVENTS))
        raise table.error(f"event = {event.value!r} asks for no test: use one of {known}.")
    return table.done(
        EventRule(
            **_common(table),
            event=event,
            kind=table.text("kind", TEST),
            days=table.days("days"),
            is_working=table.flag("is_working"),
            idle_months=table.days("idle_months", 0),
        )
    )


def exempt_rule(table: Table) -> ExemptRule:
    """Read of whom a kind of work is not asked."""
    return table.done(ExemptRule(**_common(table), kind=table.text("kind", TEST)))


def days_rule(table: Table) -> DaysRule:
    """Read a number of days for a purpose."""
    return table.done(
        DaysRule(**_common(table), days=table.days("days"), is_working=table.flag("is_working"))
    )


def repeat_rule(table: Table) -> RepeatRule:
    """Read how much more often it is after repeat failures."""
    return table.done(
        RepeatRule(
            **_common(table),
            failures=table.days("failures"),
            of_last=table.days("of_last"),
            every=table.cycle("every"),
            kind=table.text("kind", TEST),
        )
    )


def report_rule(table: Table) -> ReportRule:
    """Read how soon a report is in."""
    return table.done(
        ReportRule(
            **_common(table),
            days=table.days("days"),
            is_working=table.flag("is_working"),
            about=table.some_of("about", FactKind),
        )
    )


def hindrance_rule(table: Table) -> HindranceRule:
    """Read what "could not be tested" counts as."""
    return table.done(
        HindranceRule(
            **_common(table),
            hindrances=table.some_of("hindrances", Hindrance),
            counts_as=table.one_of("counts_as", CountsAs),
        )
    )


def protection_rule(table: Table) -> ProtectionRule:
    """Read which types protect well enough."""
    allowed = table.some_of("allowed", AssemblyType)
    return table.done(ProtectionRule(**_common(table), allowed=allowed))


def ratio_rule(table: Table) -> RatioRule:
    """Read the share to be tested in a calendar year."""
    share, chase_days = table.share("share"), table.days("chase_days")
    return table.done(RatioRule(**_common(table), share=share, chase_days=chase_days))


def provision(table: Table) -> Provision:
    """Read a rule in words."""
    return table.done(
        Provision(
            **_common(table),
            topic=table.one_of("topic", Topic),
            words=table.text("words"),
            days=table.days("days") if table.has("days") else None,
            is_working=table.flag("is_working"),
            by=table.words("by"),
        )
    )


def credentials(table: Table) -> Credentials:
    """Read how long calibrations and certificates hold."""
    has_gauge = table.has("gauge_months")
    return table.done(
        Credentials(
            gauge_months=table.days("gauge_months") if has_gauge else 0,
            citation=table.text("citation") if has_gauge else "not transcribed",
            source=source(table),
            tester=tester_term(table.table("tester")) if table.has("tester") else None,
        )
    )


def tester_term(table: Table) -> TesterTerm:
    """Read how long a tester's certificate holds."""
    return table.done(
        TesterTerm(
            months=table.days("months"), citation=table.text("citation"), source=source(table)
        )
    )


def gap(table: Table) -> Gap:
    """Read what is not transcribed."""
    return table.done(
        Gap(
            name=table.text("name"),
            part=table.one_of("part", Part),
            what=table.words_or_empty("what"),
            kind=table.text("kind", TEST),
            match=match(table),
            events=table.some_of("events", FactKind),
        )
    )


def waiver(table: Table) -> Waiver:
    """Read a person's decision to do without."""
    return table.done(
        Waiver(
            gap=table.text("gap"),
            by=table.text("by"),
            on=table.day("on"),
            reason=table.text("reason"),
        )
    )
