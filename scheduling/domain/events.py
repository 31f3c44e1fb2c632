"""Events that ask for work: they bring it forward, or make one of its own where there is none."""

from __future__ import annotations

from datetime import date

from scheduling.domain.course import Asking, Course, Draft
from scheduling.domain.cycles import add_months
from scheduling.domain.facts import EVENTS, RETURNS, Fact, FactKind
from scheduling.domain.obligations import Origin
from scheduling.domain.rules import EventRule
from scheduling.domain.workdays import in_days

KEEPS_ANCHOR = frozenset({FactKind.INSTALLED, FactKind.REPAIRED, FactKind.RELOCATED})
"""Events whose first pass afterwards never moves the anchor of an anniversary."""


def take_event(course: Course, fact: Fact, rule: EventRule | None = None) -> None:
    """Bring the work forward after an event, or make one of its own where there is none.

    Example: repaired 2025-03-04, within 10 days: due 2025-03-14 where it was due later.
    """
    if fact.kind in KEEPS_ANCHOR:
        course.keeps_anchor = True
    rule = rule or event_rule_for(course, fact)
    if rule is None:
        return
    asked = course.days_on(fact.on, rule=rule)
    due = course.held(asked)
    course.say(
        on=fact.on,
        rule=rule.id,
        arithmetic=f"{fact.kind} {fact.on} + {in_days(rule.days, is_working=rule.is_working)}"
        f" = {asked}{'' if due == asked else f', held to {due}'}",
        citation=rule.citation,
    )
    if course.current is None:
        _own(course, fact=fact, rule=rule, due=due)
    else:
        _bring_forward(course, course.current, on=fact.on, due=due, rule=rule)
    open_or_wait(course, origin=Origin(fact.kind.value), on=fact.on)


def event_rule_for(
    course: Course, fact: Fact, *, idle_since: date | None = None
) -> EventRule | None:
    """Return the rule that asks for work after an event, or None.

    Of a return to use: the first whose idle time was exceeded. Longer than 3 months from
    15 January is from 16 April on.
    """
    if not course.is_asked:
        return None
    rules = course.rulebook.event_rules(
        event=fact.kind, kind=course.kind, attributes=course.attributes
    )
    return next((rule for rule in rules if _was_long_enough(rule, fact, idle_since)), None)


def _was_long_enough(rule: EventRule, fact: Fact, idle_since: date | None) -> bool:
    if rule.idle_months == 0:
        return True
    return idle_since is not None and fact.on > add_months(idle_since, rule.idle_months)


def makes_its_own(course: Course, fact: Fact) -> bool:
    """Return whether the fact is an event that asks for work where there is none yet."""
    return fact.kind in EVENTS - RETURNS and event_rule_for(course, fact) is not None


def open_or_wait(course: Course, *, origin: Origin, on: date) -> None:
    """Open the coming obligation; during an idle time it waits for the return to use."""
    draft = course.current
    if draft is None or draft.has_begun:
        return
    draft.spring_from(origin=origin, on=on)
    if course.idle_since is not None:
        draft.waits, draft.opens_on = True, min(draft.opens_on, on)
    else:
        course.open_current(on=on)


def _own(course: Course, *, fact: Fact, rule: EventRule, due: date) -> None:
    origin = Origin(fact.kind.value)
    draft = course.asked_by(Asking.of(rule), origin=origin, since=fact.on, on=fact.on, due=due)
    draft.event_due = due
    course.current = draft


def _bring_forward(course: Course, draft: Draft, *, on: date, due: date, rule: EventRule) -> None:
    draft.event_due = due if draft.event_due is None else min(draft.event_due, due)
    moves = due < draft.due_on
    if (moves or not draft.has_begun) and on not in draft.prompts:
        draft.prompts.append(on)
    if moves:
        course.say(
            on=on,
            rule=rule.id,
            arithmetic=f"due moves from {draft.due_on} to the earlier {due}",
            citation=rule.citation,
        )
        draft.due_on, draft.not_before = due, None
        draft.rule, draft.citation = rule.id, rule.citation


def open_without_dates(course: Course, *, on: date, why: str) -> None:
    """Open what is owed where no date is known, on the day of the first fact or recording."""
    rule = course.rulebook.no_date
    if course.rule is None or not course.is_without_dates:
        return
    if not rule.is_given:
        course.ask(
            "no date is known, and the rulebook does not say when it is due then: enter the"
            " installation or the last pass."
        )
        return
    due = course.days_on(on, rule=rule)
    course.current = course.asked_by(
        Asking.of(rule), origin=Origin.NO_DATE, since=on, on=on, due=due
    )
    course.say(
        on=on,
        rule=rule.id,
        arithmetic=f"no date known; {why} + {in_days(rule.days, is_working=rule.is_working)}"
        f" = {due}",
        citation=rule.citation,
    )
    if course.idle_since is None:
        course.open_current(on=on)
    else:
        course.current.waits = True
