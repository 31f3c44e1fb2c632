"""A change of rule or of hazard mid-cycle: what is open and coming follows from its day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TypedDict

from scheduling.domain.course import Asking, Course, Draft
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
    elif not before[2]:
        owe_again(course, first=course.first_asked_by, on=on)
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
    """Excuse what is open; what was only coming leaves no row.

    What was owed, waiting for a return to use too, is kept in mind for the day it is asked again.
    """
    if course.current is not None and course.current.has_begun:
        course.excused = replace(course.current)
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


def owe_again(course: Course, *, first: EventRule | None, on: date) -> None:
    """Owe what is asked for again from a day: the first test, else the cycle; and what was excused.

    What an event had asked for, an extension and a failure that no pass has cured stand as they
    stood, but no due date and no day to cure by lies before the days of transition. Example:
    failed 2024-03-01, to be cured by 2024-03-22, exempted 2024-03-05, included 2024-05-02: failed
    and open again, to be cured by 2024-06-01 at the earliest.
    """
    is_first = owe_first_again(course, rule=first, on=on)
    if not is_first and course.rule is not None:
        become_subject(course, on=on)
    excused, course.excused = course.excused, None
    if excused is None or not course.is_asked:
        return
    if excused.event_due is not None and not is_first:
        _ask_again(course, excused, on=on)
    _take_up(course, excused, on=on)


def _ask_again(course: Course, excused: Draft, *, on: date) -> None:
    """Ask again for what an event had asked for, where the cycle asks for nothing sooner."""
    asked = excused.event_due
    if asked is None:
        return
    due = max(asked, floor_of(course, on=on))
    draft = course.current
    if draft is None or draft.origin is Origin.NO_DATE:
        draft = _anew(course, excused, on=on, due=due)
        course.current = draft
    elif due >= draft.due_on:
        due = draft.due_on
    else:
        draft.rule, draft.citation = excused.rule, excused.citation
        draft.prompts = [on]
    draft.due_on = draft.not_before = due
    draft.event_due = asked
    _open_anew(draft, excused, on=on)
    course.say(
        on=on,
        rule=excused.rule,
        arithmetic=f"due {asked} when it was excused, and not done since; asked for again from"
        f" {on}: due {due}",
        citation=excused.citation,
    )


def _anew(course: Course, excused: Draft, *, on: date, due: date) -> Draft:
    """Return what was excused as work that no cycle asks for."""
    return course.asked_by(
        Asking(excused.rule, excused.citation),
        origin=excused.origin,
        since=excused.origin_on,
        on=on,
        due=due,
    )


def _open_anew(draft: Draft, excused: Draft, *, on: date) -> None:
    if excused.origin is not Origin.CYCLE:
        draft.origin, draft.origin_on, draft.period = excused.origin, excused.origin_on, on
    draft.opens_on = on


def _take_up(course: Course, excused: Draft, *, on: date) -> None:
    """Let an extension and a failure stand that no pass has ended."""
    draft = course.current
    if draft is None and excused.failed_on is not None:
        due = max(excused.due_on, floor_of(course, on=on))
        draft = _anew(course, excused, on=on, due=due)
        course.current = draft
    if draft is None:
        return
    if excused.not_before is not None:
        draft.not_before = max(excused.not_before, draft.not_before or excused.not_before)
        draft.due_on = max(draft.due_on, excused.not_before)
    if excused.failed_on is not None:
        _fail_again(course, draft, excused, on=on)


def _fail_again(course: Course, draft: Draft, excused: Draft, *, on: date) -> None:
    draft.failed_on = excused.failed_on
    if draft.opens_on > on:
        _open_anew(draft, excused, on=on)
    if excused.cure_by is None:
        return
    draft.cure_by = max(excused.cure_by, floor_of(course, on=on))
    course.say(
        on=on,
        rule=excused.rule,
        arithmetic=f"failed {excused.failed_on}, no pass since; asked for again from {on}: to be"
        f" cured by {draft.cure_by}",
        citation=excused.citation,
    )


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
    draft = course.asked_by(
        Asking.of(rule), origin=Origin.INSTALLED, since=installed_on, on=on, due=due
    )
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
