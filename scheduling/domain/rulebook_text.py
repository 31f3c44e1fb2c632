"""A rulebook as TOML, read strictly: a slip is told by rule and mend, never guessed over."""

from __future__ import annotations

import tomllib
from functools import partial

from scheduling.domain import rule_tables as tables
from scheduling.domain.ladders import Ladder
from scheduling.domain.rulebook import NOT_TRANSCRIBED, Credentials, DaysRule, Part, Rulebook
from scheduling.domain.rulebook_checks import faults_of
from scheduling.domain.rulebook_table import RulebookError, Table, all_of
from scheduling.domain.rules import in_order
from scheduling.domain.rung_tables import rung

__all__ = ["RulebookError", "draft_faults", "read_draft", "read_rulebook"]


def read_rulebook(text: str) -> Rulebook:
    """Return the rulebook written in TOML; raise RulebookError for what cannot be meant.

    Unknown keys, recurrences outside the whitelist, rules without a citation, ladders
    that run backwards and subjects without a rule are refused. What is not transcribed is
    named by a [[gap]]: with one, a rulebook is read, but not put in force.
    """
    rulebook = read_draft(text)
    faults = faults_of(rulebook)
    if faults:
        raise RulebookError(" ".join(faults))
    return rulebook


def read_draft(text: str) -> Rulebook:
    """Return what the tables say, contradictory or not; raise RulebookError for a slip in one."""
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise RulebookError(f"This is no TOML: {error}.") from error
    return _rulebook(Table(where="rulebook", cells=raw))


def draft_faults(rulebook: Rulebook) -> list[str]:
    """Return what keeps a draft from being a rulebook, a sentence each; empty when nothing does."""
    return faults_of(rulebook)


def _rulebook(table: Table) -> Rulebook:
    gaps = all_of(table.tables("gap", named_by="name"), tables.gap)
    missing = {gap.part for gap in gaps}
    method = _method(table, may_lack=Part.METHOD in missing)
    return table.done(
        Rulebook(
            name=table.text("name"),
            title=table.text("title"),
            place=table.words_or_empty("place"),
            effective_on=table.day_or_none("effective_on"),
            method=method.words_or_empty("name"),
            method_citation=method.text("citation"),
            method_source=method.done(tables.source(method)),
            kinds=all_of(table.tables("kind", named_by="name"), tables.kind),
            cycles=in_order(
                all_of(
                    table.tables("cycle", named_by="id"),
                    partial(tables.cycle_rule, missing=missing),
                )
            ),
            events=all_of(table.tables("event", named_by="id"), tables.event_rule),
            exempt=all_of(table.tables("exempt", named_by="id"), tables.exempt_rule),
            cures=all_of(table.tables("cure", named_by="id"), tables.days_rule),
            repeats=all_of(table.tables("repeat", named_by="id"), tables.repeat_rule),
            reports=all_of(table.tables("report", named_by="id"), tables.report_rule),
            hindrances=all_of(table.tables("hindrance", named_by="id"), tables.hindrance_rule),
            protections=all_of(table.tables("protection", named_by="id"), tables.protection_rule),
            ratios=all_of(table.tables("ratio", named_by="id"), tables.ratio_rule),
            provisions=all_of(table.tables("provision", named_by="id"), tables.provision),
            grace=_days(table, "grace", may_lack=Part.GRACE in missing),
            no_date=_days(table, "no_date", may_lack=Part.NO_DATE in missing),
            transition=_days(table, "transition", may_lack=Part.TRANSITION in missing),
            ladder=Ladder(all_of(table.tables("rung", named_by="key"), rung)),
            credentials=_credentials(table, may_lack=Part.GAUGE in missing),
            gap_list=gaps,
            waivers=all_of(table.tables("waiver", named_by="gap"), tables.waiver),
        )
    )


def _method(table: Table, *, may_lack: bool) -> Table:
    if may_lack and not table.has("method"):
        return Table(where="[method]", cells={"citation": "not transcribed"})
    method = table.table("method")
    if not method.has("name"):
        raise method.error('name is missing: write name = "usc10".')
    return method


def _days(table: Table, key: str, *, may_lack: bool) -> DaysRule:
    """Read a number of days; where a gap says that it is not transcribed it may be left out."""
    if may_lack and not table.has(key):
        return NOT_TRANSCRIBED
    return tables.days_rule(table.table(key))


def _credentials(table: Table, *, may_lack: bool) -> Credentials:
    if may_lack and not table.has("credentials"):
        return Credentials()
    found = table.table("credentials")
    if not may_lack and not found.has("gauge_months"):
        raise found.error("gauge_months is missing: write gauge_months = 12.")
    return tables.credentials(found)
