"""What a pass does under each regime: which obligation it meets, and what comes next."""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache

from scheduling.domain.course import Course, Draft
from scheduling.domain.facts import Fact
from scheduling.domain.obligations import ClosedHow, Origin
from scheduling.domain.regimes import Coming, coming_of, opens_before, season_of
from scheduling.domain.rulebook import CycleRule, Regime


def take_pass(course: Course, fact: Fact) -> None:
    """Let a pass meet what it meets, and set what comes next.

    Example (rolling, one year): open and due 2025-03-04, passed 2025-02-20: closed met
    that day, next due 2026-02-20.
    """
    rule, day = course.rule, fact.on
    if fact.repaired_inside:
        course.keeps_anchor = True
    _count_round(course, fact)
    stays = False
    if rule is None:
        _move_anchor_without_rule(course, day)
        course.close_current(on=day, how=ClosedHow.MET, why=_passed(day))
    elif rule.regime is Regime.ROLLING:
        course.close_current(on=day, how=ClosedHow.MET, why=_passed(day))
    elif rule.regime is Regime.ANNIVERSARY:
        _pass_anniversary(course, rule, day)
    else:
        stays = _pass_season(course, rule, day)
    course.excused = None
    course.first_passed_on = course.first_passed_on or day
    course.last_passed_on = day
    course.keeps_anchor = False
    if not stays:
        set_coming(course, on=day)
        course.open_what_begins(on=day)
    elif rule is not None and (rule.cap or rule.cap_days or course.repeat):
        _cap_anew(course, rule, on=day)


def _cap_anew(course: Course, rule: CycleRule, *, on: date) -> None:
    """Count a cap of the season that stays owed from the pass of a day."""
    coming, draft = coming_now(course), course.current
    if coming is None or draft is None or coming.cycle_due != draft.cycle_due:
        return
    due = coming.due_on if draft.not_before is None else max(coming.due_on, draft.not_before)
    if due == draft.due_on:
        return
    draft.due_on, draft.opens_on = due, coming.opens_on
    said = f"cycle {rule.id}"
    course.say(on=on, rule=said, arithmetic=coming.said, citation=rule.citation)


@lru_cache(maxsize=16384)
def _passed(day: date) -> str:
    return f"passed {day}"


def _count_round(course: Course, fact: Fact) -> None:
    """Keep whether the round that this pass ends had failed as found."""
    draft = course.current
    has_failed = draft is not None and draft.failed_on is not None
    course.rounds_failed.append(has_failed or fact.found_failed)


def set_coming(course: Course, *, on: date) -> None:
    """Put the next obligation of the cycle in place of whatever was coming."""
    coming = coming_now(course)
    if coming is None:
        course.current = None
        return
    draft = course.current = draft_of(course, coming)
    course.say(on=on, rule=draft.rule, arithmetic=coming.said, citation=draft.citation)
    if course.repeat is not None:
        _say_tightened(course, on=on)


def _say_tightened(course: Course, *, on: date) -> None:
    rule = course.tightened_by
    if rule is None:
        return
    last = course.rounds_failed[-rule.of_last :]
    said = (
        f"{sum(last)} of the last {len(last)} rounds failed: at the latest"
        f" {rule.every.words} after the last pass"
    )
    course.say(on=on, rule=rule.id, arithmetic=said, citation=rule.citation)


def coming_now(course: Course) -> Coming | None:
    """Return what the cycle asks next of the subject as it stands."""
    if course.rule is None:
        return None
    tightened_by = course.tightened_by
    return coming_of(
        rule=course.rule,
        anchor=course.anchor,
        last_passed_on=course.last_passed_on,
        installed_on=course.installed_on,
        tightened_to=tightened_by.every if tightened_by is not None else None,
        met_through=course.met_through,
    )


def draft_of(course: Course, coming: Coming) -> Draft:
    """Return the coming obligation of the cycle in force."""
    rule = course.rule
    assert rule is not None
    return Draft(
        origin=Origin.CYCLE,
        origin_on=coming.counts_from,
        period=coming.cycle_due,
        opens_on=coming.opens_on,
        due_on=coming.due_on,
        cycle_due=coming.cycle_due,
        window_on=window_of(rule, coming),
        anniversary=coming.anniversary,
        rule=f"cycle {rule.id}",
        citation=rule.citation,
        rulebook=course.label,
    )


def window_of(rule: CycleRule, coming: Coming) -> date | None:
    """Return the first day of an anniversary's window, which lies before the capped date."""
    if rule.regime is not Regime.ANNIVERSARY:
        return None
    return coming.due_on - timedelta(days=rule.window_days)


def _move_anchor_without_rule(course: Course, day: date) -> None:
    if course.anchor is None:
        course.anchor = day


def _pass_anniversary(course: Course, rule: CycleRule, day: date) -> None:
    """Meet the due date from its window on; an earlier pass becomes the new anchor.

    The first pass after installation, repair or relocation never moves the anchor.
    """
    draft = course.current
    if course.anchor is None:
        _anchor_without_installation(course, rule, day)
    if draft is None:
        return
    is_met = draft.window_on is not None and day >= draft.window_on
    if draft.cycle_due is None or is_met or course.keeps_anchor:
        _close_if_begun_or_met(course, draft, day, is_met=is_met)
        return
    course.anchor, course.met_through = day, None
    course.say(
        on=day,
        rule=f"cycle {rule.id}",
        arithmetic=f"pass {day} lies before the window of {draft.cycle_due} opens"
        f" ({draft.window_on}): the new anchor is {day}",
        citation=rule.citation,
    )
    if draft.has_begun:
        course.close_current(on=day, how=ClosedHow.MET, why=_passed(day))


def _anchor_without_installation(course: Course, rule: CycleRule, day: date) -> None:
    """Count from the pass before this one, as what is owed does, else from this first one."""
    course.anchor = course.last_passed_on or day
    course.say(
        on=day,
        rule=f"cycle {rule.id}",
        arithmetic=f"no installation on record: the first pass {course.anchor} is the anchor",
        citation=rule.citation,
    )


def _close_if_begun_or_met(course: Course, draft: Draft, day: date, *, is_met: bool) -> None:
    """Close what is owed, and remember an anniversary met: it is not asked again.

    Passed before its window it stays owed; one never opened leaves no row.
    """
    is_its_own = draft.cycle_due is None
    if is_met:
        course.met_through = draft.anniversary
    if is_met or is_its_own or draft.has_begun:
        course.close_current(on=day, how=ClosedHow.MET, why=_passed(day))


def _pass_season(course: Course, rule: CycleRule, day: date) -> bool:
    """Meet the season whose credit holds the pass; return True when what is coming stays."""
    credited = season_of(rule=rule, day=day)
    draft = course.current
    owed = draft.cycle_due if draft is not None else None
    if draft is not None and owed is None:
        course.close_current(on=day, how=ClosedHow.MET, why=_passed(day))
        _meet_in_its_own_row(course, rule, credited, day)
    elif draft is None or owed is None:
        _meet_in_its_own_row(course, rule, credited, day)
    elif owed == credited:
        course.close_current(on=day, how=ClosedHow.MET, why=_passed(day))
    elif owed < credited:
        if draft.is_open:
            why = f"passed {day}, which counts for the season due {credited}, not for {owed}"
            course.close_current(on=day, how=ClosedHow.MISSED, why=why)
        _meet_in_its_own_row(course, rule, credited, day)
    elif draft.has_begun:
        why = f"passed {day}; the season due {owed} stays owed"
        course.close_current(on=day, how=ClosedHow.MET, why=why)
    else:
        _meet_unless_met(course, rule, credited, day)
        return True
    return False


def _meet_unless_met(course: Course, rule: CycleRule, due: date, day: date) -> None:
    """Meet a season that no pass met before; what is coming after it stays as it is."""
    last = course.last_passed_on
    has_met = last is not None and season_of(rule=rule, day=last) == due
    if has_met or any(closed.period == due for closed in course.closed):
        return
    coming = course.current
    _meet_in_its_own_row(course, rule, due, day)
    course.current = coming


def _meet_in_its_own_row(course: Course, rule: CycleRule, due: date, day: date) -> None:
    """Open and close the season that a pass meets, a row of its own."""
    met = _season_met(rule, due, day)
    course.current = draft_of(course, met)
    course.close_current(on=day, how=ClosedHow.MET, why=met.arithmetic)


@lru_cache(maxsize=16384)
def _season_met(rule: CycleRule, due: date, day: date) -> Coming:
    return Coming(
        counts_from=due,
        due_on=due,
        cycle_due=due,
        opens_on=opens_before(rule=rule, due_on=due, origin=day),
        arithmetic=f"pass {day} counts for the season due {due}",
    )
