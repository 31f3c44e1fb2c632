"""A rulebook written as TOML that reads back equal; what is as usual is left out."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum

from scheduling.domain.gaps import Gap, Waiver
from scheduling.domain.matching import EVERYTHING, Match, SubjectKind
from scheduling.domain.rulebook import Rulebook
from scheduling.domain.rules import (
    TEST,
    Credentials,
    CycleRule,
    DaysRule,
    EventRule,
    ExemptRule,
    HindranceRule,
    ProtectionRule,
    Provision,
    RatioRule,
    Regime,
    RepeatRule,
    ReportRule,
    Rule,
    WorkKind,
)
from scheduling.domain.rungs import Rung
from scheduling.domain.sources import Source
from scheduling.domain.toml_cells import Cells, lines_of, table_of


def write_rulebook(rulebook: Rulebook) -> str:
    """Return the rulebook as TOML; `read_rulebook` of it gives an equal rulebook."""
    head: Cells = {
        "name": rulebook.name,
        "title": rulebook.title,
        "place": rulebook.place,
        "effective_on": rulebook.effective_on,
    }
    parts = ["\n".join(lines_of(head)), *_single_tables(rulebook), *_lists(rulebook)]
    return "\n\n".join(part for part in parts if part) + "\n"


def _single_tables(rulebook: Rulebook) -> Iterable[str]:
    if rulebook.method:
        source = _source(rulebook.method_source)
        method: Cells = {"name": rulebook.method, "citation": rulebook.method_citation}
        yield table_of("[method]", method | source)
    for name, rule in (
        ("grace", rulebook.grace),
        ("no_date", rulebook.no_date),
        ("transition", rulebook.transition),
    ):
        if rule.is_given:
            yield table_of(f"[{name}]", _days(rule))
    yield from _credentials(rulebook.credentials)


def _credentials(credentials: Credentials) -> Iterable[str]:
    if credentials.is_given:
        cells: Cells = {
            "gauge_months": credentials.gauge_months,
            "citation": credentials.citation,
        }
        yield table_of("[credentials]", cells | _source(credentials.source))
    if credentials.tester is not None:
        tester = credentials.tester
        cells = {"months": tester.months, "citation": tester.citation}
        yield table_of("[credentials.tester]", cells | _source(tester.source))


def _lists(rulebook: Rulebook) -> Iterable[str]:
    named: list[tuple[str, Iterable[Cells]]] = [
        ("kind", map(_kind, rulebook.kinds)),
        ("exempt", map(_exempt, rulebook.exempt)),
        ("cycle", map(_cycle, rulebook.cycles)),
        ("repeat", map(_repeat, rulebook.repeats)),
        ("event", map(_event, rulebook.events)),
        ("cure", map(_days, rulebook.cures)),
        ("report", map(_report, rulebook.reports)),
        ("hindrance", map(_hindrance, rulebook.hindrances)),
        ("protection", map(_protection, rulebook.protections)),
        ("ratio", map(_ratio, rulebook.ratios)),
        ("provision", map(_provision, rulebook.provisions)),
        ("rung", map(_rung, rulebook.ladder.rungs)),
        ("gap", map(_gap, rulebook.gap_list)),
        ("waiver", map(_waiver, rulebook.waivers)),
    ]
    for name, tables in named:
        for cells in tables:
            yield table_of(f"[[{name}]]", cells)


def _source(source: Source) -> Cells:
    return {
        "number": source.number,
        "mark": source.mark.value,
        "transcribed": source.transcribed_on,
    }


def _match(match: Match) -> Cells:
    if match == EVERYTHING:
        return {}
    said: Cells = {
        name: value
        for name, value in (
            ("residential", match.residential),
            ("chemicals", match.chemicals),
            ("detector", match.detector),
            ("part_year", match.part_year),
        )
        if value is not None
    }
    return {
        "types": frozenset[StrEnum](match.types),
        "hazards": frozenset[StrEnum](match.hazards),
        "services": frozenset[StrEnum](match.services),
        "protects": frozenset[StrEnum](match.protects),
        "uses": match.uses,
    } | {f"?{name}": value for name, value in said.items()}


def _rule(rule: Rule, cells: Cells) -> Cells:
    name: Cells = {"id": rule.id}
    cited: Cells = {"citation": rule.citation}
    return name | _match(rule.match) | cells | cited | _source(rule.source)


def _kind(kind: WorkKind) -> Cells:
    subject = "" if kind.subject is SubjectKind.ASSEMBLY else kind.subject.value
    return {"name": kind.name, "met_by": kind.met_by, "subject": subject}


def _of_kind(kind: str) -> str:
    return "" if kind == TEST else kind


def _cycle(rule: CycleRule) -> Cells:
    opens: Cells = {} if rule.regime is Regime.SEASON else {"opens_days": rule.opens_days}
    early: Cells = {"early_days": rule.early_days} if rule.regime is Regime.ANNIVERSARY else {}
    cells: Cells = {
        "kind": _of_kind(rule.kind),
        "regime": rule.regime.value,
        "every": rule.cycle,
        "priority": rule.priority or None,
        "late_days": rule.late_days or None,
        "cap": rule.cap,
        "cap_days": rule.cap_days or None,
        "month_end": rule.month_end,
        "season_opens": rule.season_opens,
        "credit_from": rule.credit_from,
    }
    return _rule(rule, cells | opens | early)


def _repeat(rule: RepeatRule) -> Cells:
    cells: Cells = {
        "kind": _of_kind(rule.kind),
        "failures": rule.failures,
        "of_last": rule.of_last,
        "every": rule.every,
    }
    return _rule(rule, cells)


def _event(rule: EventRule) -> Cells:
    cells: Cells = {
        "event": rule.event.value,
        "kind": _of_kind(rule.kind),
        "days": rule.days,
        "is_working": rule.is_working,
        "idle_months": rule.idle_months or None,
    }
    return _rule(rule, cells)


def _exempt(rule: ExemptRule) -> Cells:
    return _rule(rule, {"kind": _of_kind(rule.kind)})


def _days(rule: DaysRule) -> Cells:
    return _rule(rule, {"days": rule.days, "is_working": rule.is_working})


def _report(rule: ReportRule) -> Cells:
    about = frozenset[StrEnum](rule.about)
    return _rule(rule, {"about": about, "days": rule.days, "is_working": rule.is_working})


def _hindrance(rule: HindranceRule) -> Cells:
    hindrances = frozenset[StrEnum](rule.hindrances)
    return _rule(rule, {"hindrances": hindrances, "counts_as": rule.counts_as.value})


def _protection(rule: ProtectionRule) -> Cells:
    return _rule(rule, {"allowed": frozenset[StrEnum](rule.allowed)})


def _ratio(rule: RatioRule) -> Cells:
    return _rule(rule, {"share": rule.share, "chase_days": rule.chase_days})


def _provision(rule: Provision) -> Cells:
    cells: Cells = {
        "topic": rule.topic.value,
        "words": rule.words,
        "days": rule.days,
        "is_working": rule.is_working,
        "by": rule.by,
    }
    return _rule(rule, cells)


def _rung(rung: Rung) -> Cells:
    cells: Cells = {
        "key": rung.key,
        "trigger": rung.trigger.value,
        "offset_days": rung.offset_days or None,
        "after": rung.after,
        "gap_days": rung.gap_days or None,
        "is_working": rung.is_working,
        "presumed_days": rung.presumed_days or None,
        "from_delivery": rung.from_delivery,
        "repeat": rung.repeat,
        "latest_left_days": rung.latest_left_days,
        "without_day": rung.without_day,
        "is_skippable": rung.is_skippable,
        "is_required": rung.is_required,
        "needs_release": rung.needs_release,
        "is_order": rung.is_order,
        "channel": "" if rung.channel == "mail" else rung.channel,
        "also_by": rung.also_by,
        "recipients": tuple(each.value for each in rung.recipients),
        "letter": rung.letter,
        "languages": rung.languages,
        "kinds": rung.kinds,
    }
    cited: Cells = {"citation": rung.citation}
    return cells | _match(rung.match) | cited | _source(rung.source)


def _gap(gap: Gap) -> Cells:
    cells: Cells = {
        "name": gap.name,
        "part": gap.part.value,
        "what": gap.what,
        "kind": _of_kind(gap.kind),
    }
    return cells | _match(gap.match) | {"events": frozenset[StrEnum](gap.events)}


def _waiver(waiver: Waiver) -> Cells:
    return {"gap": waiver.gap, "by": waiver.by, "on": waiver.on, "reason": waiver.reason}
