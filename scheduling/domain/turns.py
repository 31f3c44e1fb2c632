"""What each fact does to the course of one kind of work."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from scheduling.domain.course import Course
from scheduling.domain.events import (
    event_rule_for,
    makes_its_own,
    open_or_wait,
    open_without_dates,
    take_event,
)
from scheduling.domain.facts import Fact, FactKind
from scheduling.domain.interruptions import (
    keep_holds,
    take_exemption,
    take_extension,
    take_hold,
    take_idle,
    take_inclusion,
    take_restart,
    take_return,
    take_stop,
)
from scheduling.domain.obligations import ClosedHow, Origin
from scheduling.domain.passes import set_coming, take_pass
from scheduling.domain.rules import CountsAs
from scheduling.domain.workdays import in_days

__all__ = ["open_without_dates", "take_fact"]


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
    if fact.kind is not FactKind.INSTALLED and not makes_its_own(course, fact):
        open_without_dates(course, on=fact.on, why=f"{fact.kind} {fact.on}")
    _TURNS.get(fact.kind, _nothing)(course, fact)


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
        draft.failed_on = fact.on
        draft.cure_by = _cure_by(course, on=fact.on)
        keep_holds(course)
    open_or_wait(course, origin=Origin.FAILED, on=fact.on)


def _cure_by(course: Course, *, on: date) -> date | None:
    rule = course.rulebook.cure_rule(course.attributes)
    if not rule.is_given:
        course.ask(
            f"failed on {on}, and the rulebook does not say within how many days it is cured:"
            " a person sets the day."
        )
        return None
    cure_by = course.days_on(on, rule=rule)
    days = in_days(rule.days, is_working=rule.is_working)
    course.say(
        on=on,
        rule=rule.id,
        arithmetic=f"failed {on} + {days} = {cure_by} to cure by",
        citation=rule.citation,
    )
    return cure_by


def _untestable(course: Course, fact: Fact) -> None:
    """Take a visit on which it could not be tested for what the rulebook says it counts as."""
    if not course.is_asked:
        return
    what = fact.hindrance.value if fact.hindrance is not None else "no reason given"
    rule = course.rulebook.hindrance_rule(hindrance=fact.hindrance, attributes=course.attributes)
    if rule is None:
        course.ask(
            f"could not be tested on {fact.on} ({what}): the rulebook does not say what that"
            " counts as, so it counts for nothing until a person says."
        )
        return
    said = f"could not be tested {fact.on} ({what}): counts as {rule.counts_as.value}"
    course.say(on=fact.on, rule=rule.id, arithmetic=said, citation=rule.citation)
    if rule.counts_as is CountsAs.FAILED:
        _failed(course, fact)


def _installed(course: Course, fact: Fact) -> None:
    course.installed_on = fact.on
    course.anchor, course.met_through = fact.on, None
    course.first_asked_by = event_rule_for(course, fact)
    take_event(course, fact, rule=course.first_asked_by)
    if course.current is None:
        set_coming(course, on=fact.on)
        course.open_what_begins(on=fact.on)


def _removed(course: Course, fact: Fact) -> None:
    """Excuse what is open; what was only coming leaves no row."""
    if course.current is not None and course.current.is_open:
        course.close_current(on=fact.on, how=ClosedHow.EXCUSED, why=f"removed {fact.on}")
    course.current = None
    course.removed_on = fact.on


def _eased(course: Course, fact: Fact) -> None:
    """Excuse what is owed, for nothing asks for it any more; what waits leaves no row."""
    course.excused = None
    if course.current is not None and course.current.is_open:
        course.close_current(on=fact.on, how=ClosedHow.EXCUSED, why=fact.reason)
    course.current = None


_TURNS: dict[FactKind, Callable[[Course, Fact], None]] = {
    FactKind.INSTALLED: _installed,
    FactKind.RESUMED: take_return,
    FactKind.REOCCUPIED: take_return,
    FactKind.DEWINTERISED: take_return,
    FactKind.INCLUDED: take_inclusion,
    FactKind.RESTARTED: take_restart,
    FactKind.RELOCATED: take_event,
    FactKind.INCIDENT: take_event,
    FactKind.UNPROTECTED: take_event,
    FactKind.UNTESTABLE: _untestable,
    FactKind.REPAIRED: take_event,
    FactKind.FAILED: _failed,
    FactKind.EASED: _eased,
    FactKind.EXTENDED: take_extension,
    FactKind.HELD: take_hold,
    FactKind.STOPPED: take_stop,
    FactKind.IDLED: take_idle,
    FactKind.EXEMPTED: take_exemption,
    FactKind.REMOVED: _removed,
}
