"""Replay: from dated facts and rules to obligations, without a clock and without memory."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from itertools import chain

from scheduling.domain.changes import take_change
from scheduling.domain.course import Course
from scheduling.domain.facts import DayOfFacts, Fact, FactKind, days_of_facts, facts_known
from scheduling.domain.interruptions import keep_holds
from scheduling.domain.ladders import LeftRung
from scheduling.domain.ledger import Ledger
from scheduling.domain.next_actions import first_action
from scheduling.domain.obligations import Obligation, ObligationKey
from scheduling.domain.reasons import Reason, nothing_asked
from scheduling.domain.rulebook import SURVEY, Attributes, Rulebook, SubjectKind, WorkKind
from scheduling.domain.timeline import Timeline, known_entries
from scheduling.domain.turns import open_without_dates, take_fact
from scheduling.domain.workdays import ONE_DAY, Holidays

Left = Mapping[ObligationKey, Sequence[LeftRung]]
"""The rungs that left, for each obligation."""

Targets = Mapping[ObligationKey, date]
"""The day a test is wanted, from levelling: courtesy rungs count from it."""

NO_TARGETS: Targets = {}

OF_A_WORK = frozenset({FactKind.PASSED, FactKind.FAILED, FactKind.UNTESTABLE, FactKind.EASED})
"""Facts that concern only the kinds of work that they name."""


def replay(
    *,
    timeline: Timeline,
    facts: Iterable[Fact],
    left: Left,
    as_of: date,
    known_at: datetime | None = None,
    targets: Targets = NO_TARGETS,
) -> Ledger:
    """Return what is and was owed of a subject, as of a day and as known at a moment.

    The order of `facts` does not matter. Three questions have answers: now; day D as now
    known (`as_of` D); day D as then known (`as_of` D, `known_at` the end of D).
    Example: installed 2024-03-01, passed 2024-03-04 under a yearly rolling rule: one
    obligation met, the next due 2025-03-04.
    """
    known = [fact for fact in facts_known(facts=facts, known_at=known_at) if fact.on <= as_of]
    changes = _changes(timeline=timeline, as_of=as_of, known_at=known_at)
    _, attributes, rulebook = changes[-1]
    begins = _began_on(facts=known, recorded_on=timeline.recorded_on)
    courses = [
        _walked(
            work=work, timeline=timeline, facts=known, changes=changes, begins=begins, as_of=as_of
        )
        for work in _works(changes, subject=attributes.subject)
    ]
    if not courses:
        return _nothing_asked(rulebook=rulebook, attributes=attributes, as_of=as_of)
    steered = _Steered(left=left, targets=targets, as_of=as_of, holidays=timeline.holidays)
    return _ledger(courses=courses, steered=steered)


def _began_on(*, facts: Sequence[Fact], recorded_on: date) -> date:
    """Return the first day on which something is known: the first fact, or the recording.

    A pass before the installation on record meets nothing, and begins nothing.
    """
    installed = min((fact.on for fact in facts if fact.kind is FactKind.INSTALLED), default=None)
    begun = [
        fact.on
        for fact in facts
        if installed is None or fact.kind is not FactKind.PASSED or fact.on >= installed
    ]
    return min([*begun, recorded_on])


def _works(changes: Sequence[Change], *, subject: SubjectKind) -> list[WorkKind]:
    """Return the kinds of work of a subject: today's, then those an earlier rulebook asked for."""
    found: dict[str, WorkKind] = {}
    for _, _, rulebook in reversed(changes):
        for work in rulebook.kinds_of(subject):
            found.setdefault(work.name, work)
    return list(found.values())


def _nothing_asked(*, rulebook: Rulebook, attributes: Attributes, as_of: date) -> Ledger:
    """Return the ledger of a subject of which the rulebook has no kind of work."""
    said = f"the rulebook asks no work of a {attributes.subject}"
    return Ledger(
        as_of=as_of,
        kind="",
        obligations=(),
        coming=(),
        next_actions={},
        reasons=(Reason(as_of, f"{rulebook.label}: kinds", said, rulebook.title),),
        is_exempt=True,
    )


Change = tuple[date, Attributes, Rulebook]


def _changes(*, timeline: Timeline, as_of: date, known_at: datetime | None) -> list[Change]:
    """Return the days on which attributes or rulebook change, with what holds from then."""
    shapes = known_entries(entries=timeline.attributes, as_of=as_of, known_at=known_at)
    books = known_entries(entries=timeline.rulebooks, as_of=as_of, known_at=known_at)
    attributes, rulebook = shapes[0].attributes, books[0].rulebook
    changes: list[Change] = [(date.min, attributes, rulebook)]
    later = {entry.on for entry in shapes[1:]} | {entry.on for entry in books[1:]}
    for on in sorted(later):
        attributes = next((s.attributes for s in reversed(shapes) if s.on <= on), attributes)
        rulebook = next((b.rulebook for b in reversed(books) if b.on <= on), rulebook)
        changes.append((on, attributes, rulebook))
    return changes


def _walked(
    *,
    work: WorkKind,
    timeline: Timeline,
    facts: Sequence[Fact],
    changes: Sequence[Change],
    begins: date,
    as_of: date,
) -> Course:
    """Walk through the days of one kind of work up to the day asked about."""
    _, attributes, rulebook = changes[0]
    mine = _facts_for(work, facts=facts)
    course = Course(
        work=work,
        rulebook=rulebook,
        attributes=attributes,
        has_installation=any(fact.kind is FactKind.INSTALLED for fact in mine),
        holidays=timeline.holidays,
        rounds_failed=list(timeline.rounds_failed),
    )
    course.follow(rulebook=rulebook, attributes=attributes)
    days = {day.on: day for day in days_of_facts(mine)}
    changed = {on: (shape, book) for on, shape, book in changes[1:]}
    marks = {timeline.recorded_on} if timeline.recorded_on <= as_of else set()
    known_on = _began_on(facts=mine, recorded_on=timeline.recorded_on)
    for on in sorted(days.keys() | changed.keys() | marks):
        if on in changed:
            _open_by(course, on=on - ONE_DAY)
            shape, book = changed[on]
            if on <= begins or on < known_on:  # it begins under it: nothing changes
                course.follow(rulebook=book, attributes=shape)
            else:
                take_change(course, on=on, attributes=shape, rulebook=book)
        _open_by(course, on=on)
        _take_day(course, days.get(on), on=on, is_recorded=on == timeline.recorded_on)
        keep_holds(course)
    _open_by(course, on=as_of)
    return course


def _facts_for(work: WorkKind, *, facts: Sequence[Fact]) -> list[Fact]:
    """Return the facts a kind of work follows: of the tests those that meet it, as of its kind.

    Two reports of one day that meet one kind are so one pass of it. A hazard assessment is a
    survey made, and so meets a re-survey.
    """
    return [_for_kind(work, fact=fact) for fact in facts if _concerns(work, fact=fact)]


def _concerns(work: WorkKind, *, fact: Fact) -> bool:
    return fact.kind not in OF_A_WORK or fact.work in work.met_by


def _for_kind(work: WorkKind, *, fact: Fact) -> Fact:
    """Return the fact as one of this kind; unchanged where it says nothing of any."""
    if fact.kind is FactKind.ASSESSED and SURVEY in work.met_by:
        return replace(fact, kind=FactKind.PASSED, work=work.name)
    if fact.kind in OF_A_WORK and fact.work != work.name:
        return replace(fact, work=work.name)
    return fact


def _take_day(course: Course, day: DayOfFacts | None, *, on: date, is_recorded: bool) -> None:
    if day is not None:
        for warning in day.warnings:
            course.ask(warning)
        for fact in day.facts:
            take_fact(course, fact)
            keep_holds(course)
    elif is_recorded and not course.has_installation:
        open_without_dates(course, on=on, why=f"recorded {on}")


def _open_by(course: Course, *, on: date) -> None:
    """Open what is coming when its day has come; during an idle time it waits."""
    draft = course.current
    if draft is None or draft.is_open or draft.opens_on > on:
        return
    if course.idle_since is None:
        course.open_current(on=draft.opens_on)
    else:
        draft.waits = True


@dataclass(frozen=True, slots=True, kw_only=True)
class _Steered:
    """What decides a rung besides the obligation: what left, the targets, the day, closed days."""

    left: Left
    targets: Targets
    as_of: date
    holidays: Holidays

    def aimed(self, obligation: Obligation) -> Obligation:
        """Return the obligation with its target, while it is not closed."""
        target_on = self.targets.get(obligation.key)
        if target_on is None or obligation.closed_on is not None:
            return obligation
        return obligation._replace(target_on=target_on)


def _ledger(*, courses: Sequence[Course], steered: _Steered) -> Ledger:
    as_of = steered.as_of
    main = next((course for course in courses if course.is_asked), courses[0])
    _say_exempt(main, on=as_of)
    opened: list[Obligation] = []
    coming: list[Obligation] = []
    for course in courses:
        owed = course.obligations()
        for obligation in map(steered.aimed, owed) if steered.targets else owed:
            (coming if obligation.is_coming else opened).append(obligation)
    if len(courses) > 1:
        opened.sort(key=lambda o: (o.opens_on, o.closed_on or date.max))
    return Ledger(
        as_of=as_of,
        kind=main.kind,
        kinds=tuple(course.kind for course in courses),
        obligations=tuple(opened),
        coming=tuple(coming),
        next_actions=_next_actions(courses, obligations=[*opened, *coming], steered=steered),
        reasons=tuple(chain.from_iterable(course.reasons for course in courses)),
        warnings=tuple(dict.fromkeys(said for course in courses for said in course.warnings)),
        questions=tuple(dict.fromkeys(said for course in courses for said in course.questions)),
        installed_on=main.installed_on,
        last_passed_on=main.last_passed_on,
        removed_on=main.removed_on,
        idle_since=main.idle_since if main.removed_on is None else None,
        review_on=main.review_on if main.removed_on is None else None,
        is_exempt=not main.is_asked,
        gap=_gap_of(main),
        attributes=main.attributes,
        holidays=steered.holidays,
    )


def _say_exempt(course: Course, *, on: date) -> None:
    """Say why nothing is asked: by a rule, or because the rulebook does not say."""
    rule = course.rulebook.exempt_rule(kind=course.kind, attributes=course.attributes)
    if rule is not None:
        said = nothing_asked(course.attributes.type)
        course.say(on=on, rule=rule.id, arithmetic=said, citation=rule.citation)
    elif name := _gap_of(course):
        said = f"the rulebook does not say how often: {name}"
        course.say(on=on, rule="not transcribed", arithmetic=said, citation="not transcribed")


def _gap_of(course: Course) -> str:
    """Return the name of the gap where the subject's cycle would stand, or nothing."""
    if course.is_asked or course.exempted_since is not None:
        return ""
    kind, attributes = course.kind, course.attributes
    if course.rulebook.exempt_rule(kind=kind, attributes=attributes) is not None:
        return ""
    gap = course.rulebook.cycle_gap(kind=kind, attributes=attributes)
    return "" if gap is None else gap.name


def _next_actions(
    courses: Sequence[Course], *, obligations: Iterable[Obligation], steered: _Steered
) -> dict[ObligationKey, date]:
    """Return the first day each obligation asks for something: its opening, or a rung."""
    ladders = {
        course.kind: course.rulebook.ladder_for(kind=course.kind, attributes=course.attributes)
        for course in courses
    }
    found: dict[ObligationKey, date] = {}
    for obligation in obligations:
        if obligation.closed_on is not None:
            continue
        on = first_action(
            ladder=ladders[obligation.kind],
            obligation=obligation,
            left=steered.left.get(obligation.key),
            as_of=steered.as_of,
            holidays=steered.holidays,
        )
        if on is not None:
            found[obligation.key] = on
    return found
