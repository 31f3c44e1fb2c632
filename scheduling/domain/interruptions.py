"""What interrupts the course: idle times, extensions, holds, stopped clocks, exemptions."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from scheduling.domain.changes import become_exempt, owe_again
from scheduling.domain.course import Course, Draft
from scheduling.domain.events import event_rule_for, take_event
from scheduling.domain.facts import Fact, FactKind
from scheduling.domain.pauses import Pause
from scheduling.domain.rules import EventRule
from scheduling.domain.workdays import ONE_DAY, in_days

DECIDED = "A person's decision, recorded with its reason"


@dataclass(frozen=True, slots=True)
class _Return:
    """The end of an idle time, and what the rulebook asks for after it."""

    fact: Fact
    rule: EventRule | None


def take_return(course: Course, fact: Fact) -> None:
    """Take up what was suspended: open what waited, then a test on return or days of grace."""
    idle_since, course.idle_since = course.idle_since, None
    rule = event_rule_for(course, fact, idle_since=idle_since)
    if idle_since is None:
        _return_without_idle_time(course, _Return(fact, rule))
        return
    course.review_on = None
    draft = course.current
    if draft is not None and (draft.waits or draft.opens_on <= fact.on):
        course.open_current(on=fact.on)
    if rule is not None:
        take_event(course, fact, rule=rule)
    elif draft is not None:
        _give_grace(course, draft, on=fact.on)


def _return_without_idle_time(course: Course, back: _Return) -> None:
    """Of a plain return nothing follows; water turned on anew may ask for a test all the same."""
    if back.fact.kind is FactKind.RESUMED:
        return
    if back.rule is not None:
        take_event(course, back.fact, rule=back.rule)
        return
    rules = course.rulebook.event_rules(
        event=back.fact.kind, kind=course.kind, attributes=course.attributes
    )
    if course.is_asked and rules:
        course.ask(
            f"{back.fact.kind} on {back.fact.on}, and no day since which it was out of use is on"
            f" record: enter that day, for rule {rules[0].id} asks how long it was."
        )


def _give_grace(course: Course, draft: Draft, *, on: date) -> None:
    rule = course.rulebook.grace
    if not rule.is_given:
        return
    grace = course.days_on(on, rule=rule)
    if grace <= draft.due_on:
        return
    days = in_days(rule.days, is_working=rule.is_working)
    course.say(
        on=on,
        rule=rule.id,
        arithmetic=f"due {draft.due_on}, but not before back in use {on} + {days} = {grace}",
        citation=rule.citation,
    )
    draft.due_on = draft.not_before = grace


def take_idle(course: Course, fact: Fact) -> None:
    """Suspend what is owed; `until` is the day on which a person looks again.

    One put to idle while failed or overdue goes to a person.
    """
    if course.idle_since is not None:
        return
    course.idle_since = fact.on
    course.review_on = fact.until
    _tell_if_owed(course, fact, word="put to idle")


def _tell_if_owed(course: Course, fact: Fact, *, word: str) -> None:
    draft = course.current
    if draft is None or not draft.is_open:
        return
    if draft.failed_on is not None:
        owed = f"failed since {draft.failed_on}"
    elif draft.due_on < fact.on:
        owed = f"overdue since {draft.due_on}"
    else:
        return
    course.ask(
        f"{word} on {fact.on} while {owed}: a person confirms that it is shut off, or withdraws it."
    )


def take_exemption(course: Course, fact: Fact) -> None:
    """Ask nothing from now on, by a person's decision; `until` is the day to look again."""
    if course.exempted_since is not None:
        return
    _tell_if_owed(course, fact, word="exempted")
    course.exempted_since, course.review_on = fact.on, fact.until
    if not course.is_asked:
        return
    course.say(
        on=fact.on,
        rule="exemption",
        arithmetic=f"exempted from {fact.on}{_looked_at(fact.until)}",
        citation=DECIDED,
    )
    become_exempt(course, on=fact.on)
    course.follow(rulebook=course.rulebook, attributes=course.attributes)


def _looked_at(until: date | None) -> str:
    return "" if until is None else f", looked at again on {until}"


def take_inclusion(course: Course, fact: Fact) -> None:
    """End an exemption: what is owed from now on keeps the days of transition."""
    if course.exempted_since is None:
        return
    course.exempted_since = course.review_on = None
    course.follow(rulebook=course.rulebook, attributes=course.attributes)
    if course.is_asked:
        owe_again(course, first=_first_rule(course), on=fact.on)
    course.open_what_begins(on=fact.on)


def _first_rule(course: Course) -> EventRule | None:
    """Return the rule that asks for a first test today, else the one that asked for it."""
    if course.installed_on is None:
        return None
    installed = Fact(kind=FactKind.INSTALLED, on=course.installed_on)
    return event_rule_for(course, installed) or course.first_asked_by


def take_extension(course: Course, fact: Fact) -> None:
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
        citation=DECIDED,
    )
    draft.due_on = draft.not_before = fact.until


def take_hold(course: Course, fact: Fact) -> None:
    """Hold everything to the last day of the hold: no rung leaves, and nobody becomes overdue."""
    if fact.until is None or fact.until < fact.on:
        course.ask(
            f"held on {fact.on} until {fact.until}: a hold ends on a day after it begins. Give"
            " its last day, or withdraw it."
        )
        return
    course.holds.append((fact.on, fact.until))
    course.pauses.append(Pause(fact.on, fact.until + ONE_DAY))


def keep_holds(course: Course) -> None:
    """Move a due date, or a day to cure by, that falls into a hold to the hold's last day."""
    draft = course.current
    if draft is None or not course.holds:
        return
    for since, until in sorted(course.holds):
        if since <= draft.due_on < until:
            _say_held(course, what=f"due {draft.due_on}", since=since, until=until)
            draft.due_on = until
        if draft.cure_by is not None and since <= draft.cure_by < until:
            _say_held(course, what=f"to be cured by {draft.cure_by}", since=since, until=until)
            draft.cure_by = until


def _say_held(course: Course, *, what: str, since: date, until: date) -> None:
    said = f"{what}, held from {since} to {until}: {until}"
    course.say(on=since, rule="hold", arithmetic=said, citation=DECIDED)


def take_stop(course: Course, fact: Fact) -> None:
    """Stop the ladder's clock, as for an undeliverable letter or an objection; dates stay."""
    course.stopped_by |= {fact.cause}
    if not course.is_stopped:
        course.pauses.append(Pause(fact.on))


def take_restart(course: Course, fact: Fact) -> None:
    """End the stop of a cause; where none is left the clock runs again from this day on.

    The days between are not counted. Example: stopped 1 March by an objection and 5 March by a
    returned letter, the objection settled on 8 March: still stopped, by the letter.
    """
    course.stopped_by -= {fact.cause}
    if course.stopped_by:
        return
    course.pauses[:] = [
        Pause(pause.since, fact.on) if pause.ends is None else pause for pause in course.pauses
    ]
