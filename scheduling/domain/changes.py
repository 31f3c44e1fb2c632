"""A change of rule or of hazard mid-cycle: what is open and coming follows from its day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TypedDict

from scheduling.domain.course import Course, Draft
from scheduling.domain.events import open_without_dates
from scheduling.domain.obligations import ClosedHow, Origin
from scheduling.domain.passes import coming_now, draft_of, window_of
from scheduling.domain.regimes import Coming, opens_before
from scheduling.domain.rulebook import (
    EVERYTHING,
    Attributes,
    CycleRule,
    EventRule,
    Match,
    RepeatRule,
    Rulebook,
    Source,
)
from scheduling.domain.workdays import in_days


def take_change(course: Course, *, on: date, attributes: Attributes, rulebook: Rulebook) -> None:
    """Let a new rulebook or new attributes hold from a day.

    An earlier due date is floored at that day + the transition days of the rulebook in
    force. Closed obligations keep what they had. Example: yearly becomes half-yearly on
    2025-10-01, last pass 2025-03-04, due 2026-03-04: 2025-09-04 is floored to 2025-10-31.
    """
    before = (course.rule, course.repeat, course.is_asked)
    course.follow(rulebook=rulebook, attributes=attributes)
    if course.current is not None:
        course.current.rulebook = rulebook.label
    now = (course.rule, course.repeat, course.is_asked)
    if course.removed_on is not None or before == now:
        return
    if _deciding(before) == _deciding(now):
        _rename(course, old=before[0])
        return
    if not course.is_asked:
        become_exempt(course, on=on)
    elif not before[2] and owe_first_again(course, rule=course.first_asked_by, on=on):
        pass
    elif course.rule is None:
        _forget_what_is_coming(course)
    elif before[0] is None and (course.current is None or not course.current.has_begun):
        become_subject(course, on=on)
    elif course.current is not None:
        _follow(course, course.rule, course.current, on=on)
    course.open_what_begins(on=on)


Asked = tuple[CycleRule | None, RepeatRule | None, bool]


def _deciding(asked: Asked) -> Asked:
    """Return what of the rules decides a date: not their names, words and whom else they catch."""
    cycle, repeat, is_asked = asked
    if cycle is not None:
        cycle = replace(cycle, priority=0, **_NAMELESS)
    return cycle, None if repeat is None else replace(repeat, **_NAMELESS), is_asked


class _Named(TypedDict):
    id: str
    citation: str
    source: Source
    match: Match


_NAMELESS: _Named = {"id": "", "citation": "", "source": Source(), "match": EVERYTHING}


def _rename(course: Course, *, old: CycleRule | None) -> None:
    """Let what is owed name the rule of today, whose dates are those of the old one."""
    draft, rule = course.current, course.rule
    if draft is None or rule is None or old is None or draft.rule != f"cycle {old.id}":
        return
    draft.rule, draft.citation = f"cycle {rule.id}", rule.citation


def become_exempt(course: Course, *, on: date) -> None:
    """Excuse what is open; what was only coming leaves no row."""
    if course.current is not None and course.current.is_open:
        why = f"nothing is asked of it from {on}"
        course.close_current(on=on, how=ClosedHow.EXCUSED, why=why)
    course.current = None


def _forget_what_is_coming(course: Course) -> None:
    """Keep what is open or waits for a return, where only events ask for more from now on."""
    if course.current is not None and not course.current.has_begun:
        course.current = None


def become_subject(course: Course, *, on: date) -> None:
    """Owe from now on, never sooner than the transition days."""
    coming = coming_now(course)
    if coming is None:
        open_without_dates(course, on=on, why=f"asked for from {on}")
        if course.current is not None:
            course.current.due_on = max(course.current.due_on, floor_of(course, on=on))
        return
    draft = draft_of(course, coming)
    draft.due_on = max(coming.due_on, floor_of(course, on=on))
    draft.opens_on = max(coming.opens_on, on)
    course.current = draft
    _say(course, coming=coming, due_on=draft.due_on, on=on)


def owe_first_again(course: Course, *, rule: EventRule | None, on: date) -> bool:
    """Ask again for the first test after an installation that was never done.

    Example: installed 2024-01-10, within 10 days, exempted 2024-03-01, included 2024-05-02:
    due 2024-06-01, with the 30 days of transition.
    """
    installed_on = course.installed_on
    never_done = course.is_asked and course.last_passed_on is None
    if rule is None or installed_on is None or not never_done:
        return False
    asked = course.days_on(installed_on, rule=rule)
    due = max(asked, floor_of(course, on=on))
    draft = course.asked_by(rule, origin=Origin.INSTALLED, since=installed_on, on=on, due=due)
    draft.event_due, draft.not_before = asked, due
    course.current = draft
    course.say(
        on=on,
        rule=rule.id,
        arithmetic=f"installed {installed_on} + {in_days(rule.days, is_working=rule.is_working)}"
        f" = {asked}, never done; asked for again from {on}: due {due}",
        citation=rule.citation,
    )
    return True


def _follow(course: Course, rule: CycleRule, draft: Draft, *, on: date) -> None:
    """Recalculate an open or coming obligation under the new rule."""
    coming = coming_now(course)
    if coming is None or draft.cycle_due is None:
        return
    wanted = coming.due_on if draft.event_due is None else min(coming.due_on, draft.event_due)
    if draft.not_before is not None:
        wanted = max(wanted, draft.not_before)
    if wanted < draft.due_on:
        wanted = max(wanted, min(draft.due_on, floor_of(course, on=on)))
    draft.cycle_due, draft.due_on = coming.cycle_due, wanted
    draft.window_on, draft.anniversary = window_of(rule, coming), coming.anniversary
    if draft.event_due is None:
        draft.rule, draft.citation = f"cycle {rule.id}", rule.citation
    if not draft.has_begun:
        draft.origin_on, draft.period = coming.counts_from, coming.cycle_due
        opens = opens_before(rule=rule, due_on=wanted, origin=on, cycle_due=coming.cycle_due)
        draft.opens_on = max(opens, on)
    _say(course, coming=coming, due_on=wanted, on=on)


def floor_of(course: Course, *, on: date) -> date:
    """Return the earliest due date that a change of a day may make."""
    return course.days_on(on, rule=course.rulebook.transition)


def _say(course: Course, *, coming: Coming, due_on: date, on: date) -> None:
    rule = course.rulebook.transition
    floored = (
        ""
        if due_on == coming.due_on
        else f"; in transition: {on} + {in_days(rule.days, is_working=rule.is_working)} at the"
        f" earliest, due {due_on}"
    )
    course.say(
        on=on,
        rule=rule.id,
        arithmetic=f"the rule changed on {on}: {coming.arithmetic}{floored}",
        citation=rule.citation,
    )
