"""What each other fact does: events, failures, idle times, extensions, removal."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

from scheduling.domain.course import Course, Draft
from scheduling.domain.facts import EVENTS, RETURNS, Fact, FactKind
from scheduling.domain.obligations import ClosedHow, Origin
from scheduling.domain.passes import set_coming, take_pass
from scheduling.domain.rulebook import EventRule

KEEPS_ANCHOR = frozenset({FactKind.INSTALLED, FactKind.REPAIRED, FactKind.RELOCATED})
"""Events whose first pass afterwards never moves the anchor of an anniversary."""


def take_fact(course: Course, fact: Fact) -> None:
    """Change the course as a fact asks.

    A fact after the removal counts for nothing and is told to a person; so is a pass
    before the installation.
    """
    if course.removed_on is not None:
        course.ask(
            f"{fact.kind} on {fact.on} lies after the removal on {course.removed_on}:"
            " it counts for nothing until a person settles which is right."
        )
        return
    if fact.kind is FactKind.PASSED:
        _passed(course, fact)
        return
    if fact.kind is not FactKind.INSTALLED and not _makes_its_own(course, fact):
        open_without_dates(course, on=fact.on, why=f"{fact.kind} {fact.on}")
    _TURNS.get(fact.kind, _nothing)(course, fact)


def _makes_its_own(course: Course, fact: Fact) -> bool:
    """Return whether the fact is an event that asks for a test where there is none yet."""
    return fact.kind in EVENTS - RETURNS and _event_rule(course, fact.kind) is not None


def open_without_dates(course: Course, *, on: date, why: str) -> None:
    """Open what is owed where no date is known, on the day of the first fact or recording."""
    rule = course.rulebook.no_date
    if course.rule is None or not course.is_without_dates:
        return
    due = on + timedelta(days=rule.days)
    course.current = Draft(
        origin=Origin.NO_DATE,
        origin_on=on,
        period=on,
        opens_on=on,
        due_on=due,
        prompts=[on],
        rule=rule.id,
        citation=rule.citation,
        rulebook=course.rulebook.label,
    )
    course.say(
        on=on,
        rule=rule.id,
        arithmetic=f"no date known; {why} + {rule.days} days = {due}",
        citation=rule.citation,
    )
    course.open_current(on=on)


def _nothing(course: Course, fact: Fact) -> None:
    """Take a fact that changes nothing by itself."""


def _passed(course: Course, fact: Fact) -> None:
    if course.has_installation and course.installed_on is None:
        course.warnings.append(
            f"passed on {fact.on} lies before the installation: kept as stated, it meets nothing."
        )
        return
    if fact.found_failed and not course.is_without_dates:
        _failed(course, fact)
    take_pass(course, fact)


def _failed(course: Course, fact: Fact) -> None:
    """Open what is coming, and set the day to cure by at the first uncured failure."""
    draft = course.current
    if draft is None:
        return
    if draft.failed_on is None:
        rule = course.rulebook.cure_rule(course.attributes)
        draft.failed_on = fact.on
        draft.cure_by = fact.on + timedelta(days=rule.days)
        course.say(
            on=fact.on,
            rule=rule.id,
            arithmetic=f"failed {fact.on} + {rule.days} days = {draft.cure_by} to cure by",
            citation=rule.citation,
        )
    _open_or_wait(course, origin=Origin.FAILED, on=fact.on)


def _open_or_wait(course: Course, *, origin: Origin, on: date) -> None:
    """Open the coming obligation; during an idle time it waits for the return to use."""
    draft = course.current
    if draft is None or draft.has_begun:
        return
    draft.spring_from(origin=origin, on=on)
    if course.idle_since is not None:
        draft.waits, draft.opens_on = True, min(draft.opens_on, on)
    else:
        course.open_current(on=on)


def _event_rule(course: Course, kind: FactKind) -> EventRule | None:
    if course.rule is None:
        return None
    return course.rulebook.event_rule(event=kind, kind=course.kind, attributes=course.attributes)


def _event(course: Course, fact: Fact) -> None:
    """Bring the test forward after an event, or make one of its own where there is none."""
    if fact.kind in KEEPS_ANCHOR:
        course.keeps_anchor = True
    rule = _event_rule(course, fact.kind)
    if rule is None:
        return
    due = fact.on + timedelta(days=rule.days)
    course.say(
        on=fact.on,
        rule=rule.id,
        arithmetic=f"{fact.kind} {fact.on} + {rule.days} days = {due}",
        citation=rule.citation,
    )
    if course.current is None:
        _own(course, fact=fact, rule=rule, due=due)
    else:
        _bring_forward(course, course.current, on=fact.on, due=due, rule=rule)
    _open_or_wait(course, origin=Origin(fact.kind.value), on=fact.on)


def _own(course: Course, *, fact: Fact, rule: EventRule, due: date) -> None:
    course.current = Draft(
        origin=Origin(fact.kind.value),
        origin_on=fact.on,
        period=fact.on,
        opens_on=fact.on,
        due_on=due,
        event_due=due,
        prompts=[fact.on],
        rule=rule.id,
        citation=rule.citation,
        rulebook=course.rulebook.label,
    )


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


def _installed(course: Course, fact: Fact) -> None:
    course.installed_on = fact.on
    course.anchor = fact.on
    _event(course, fact)
    if course.current is None:
        set_coming(course, on=fact.on)


def _returned(course: Course, fact: Fact) -> None:
    """Take up what was suspended: open what waited, then a test on return or days of grace."""
    was_idle = course.idle_since is not None
    course.idle_since = None
    draft = course.current
    if not was_idle or draft is None:
        return
    if draft.waits or draft.opens_on <= fact.on:
        course.open_current(on=fact.on)
    if _event_rule(course, fact.kind) is not None:
        _event(course, fact)
    else:
        _give_grace(course, draft, on=fact.on)


def _give_grace(course: Course, draft: Draft, *, on: date) -> None:
    rule = course.rulebook.grace
    grace = on + timedelta(days=rule.days)
    if grace <= draft.due_on:
        return
    course.say(
        on=on,
        rule=rule.id,
        arithmetic=f"due {draft.due_on}, but not before back in use {on} + {rule.days} days"
        f" = {grace}",
        citation=rule.citation,
    )
    draft.due_on = draft.not_before = grace


def _idled(course: Course, fact: Fact) -> None:
    if course.idle_since is None:
        course.idle_since = fact.on


def _extended(course: Course, fact: Fact) -> None:
    """Move the due date to the day of the extension; never back to courtesy once overdue."""
    draft = course.current
    if draft is None or fact.until is None or fact.until <= draft.due_on:
        course.ask(
            f"extended on {fact.on} until {fact.until}: it moves no due date later. Give a"
            " later day, or withdraw it."
        )
        return
    draft.courtesy_is_over = draft.courtesy_is_over or draft.due_on < fact.on
    course.say(
        on=fact.on,
        rule="extension",
        arithmetic=f"due {draft.due_on} extended to {fact.until}",
        citation="A person's decision, recorded with its reason",
    )
    draft.due_on = draft.not_before = fact.until


def _removed(course: Course, fact: Fact) -> None:
    """Excuse what is open; what was only coming leaves no row."""
    if course.current is not None and course.current.is_open:
        course.close_current(on=fact.on, how=ClosedHow.EXCUSED, why=f"removed {fact.on}")
    course.current = None
    course.removed_on = fact.on


_TURNS: dict[FactKind, Callable[[Course, Fact], None]] = {
    FactKind.INSTALLED: _installed,
    FactKind.RESUMED: _returned,
    FactKind.REOCCUPIED: _returned,
    FactKind.DEWINTERISED: _returned,
    FactKind.RELOCATED: _event,
    FactKind.INCIDENT: _event,
    FactKind.REPAIRED: _event,
    FactKind.FAILED: _failed,
    FactKind.EXTENDED: _extended,
    FactKind.IDLED: _idled,
    FactKind.REMOVED: _removed,
}
