"""Replay: from dated facts and rules to obligations, without a clock and without memory."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime

from scheduling.domain.changes import take_change
from scheduling.domain.course import Course
from scheduling.domain.facts import DayOfFacts, Fact, FactKind, days_of_facts, facts_known
from scheduling.domain.ladders import LeftRung, acts_on
from scheduling.domain.ledger import Ledger
from scheduling.domain.obligations import Obligation, ObligationKey
from scheduling.domain.rulebook import Attributes, Rulebook, WorkKind
from scheduling.domain.timeline import Timeline, known_entries
from scheduling.domain.turns import open_without_dates, take_fact

Left = Mapping[ObligationKey, Sequence[LeftRung]]
"""The rungs that left, for each obligation."""

TESTED = frozenset({FactKind.PASSED, FactKind.FAILED})


def replay(
    *,
    timeline: Timeline,
    facts: Iterable[Fact],
    left: Left,
    as_of: date,
    known_at: datetime | None = None,
) -> Ledger:
    """Return what is and was owed of a subject, as of a day and as known at a moment.

    The order of `facts` does not matter. Three questions have answers: now; day D as now
    known (`as_of` D); day D as then known (`as_of` D, `known_at` the end of D).
    Example: installed 2024-03-01, passed 2024-03-04 under a yearly rolling rule: one
    obligation met, the next due 2025-03-04.
    """
    known = [fact for fact in facts_known(facts=facts, known_at=known_at) if fact.on <= as_of]
    changes = _changes(timeline=timeline, as_of=as_of, known_at=known_at)
    rulebook = changes[-1][2]
    courses = [
        _walked(work=work, timeline=timeline, facts=known, changes=changes, as_of=as_of)
        for work in rulebook.kinds
    ]
    return _ledger(courses=courses, rulebook=rulebook, left=left, as_of=as_of)


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
    as_of: date,
) -> Course:
    """Walk through the days of one kind of work up to the day asked about."""
    _, attributes, rulebook = changes[0]
    mine = [fact for fact in facts if fact.kind not in TESTED or fact.work in work.met_by]
    course = Course(
        work=work,
        rulebook=rulebook,
        attributes=attributes,
        rule=rulebook.cycle_rule(kind=work.name, attributes=attributes),
        has_installation=any(fact.kind is FactKind.INSTALLED for fact in mine),
    )
    days = {day.on: day for day in days_of_facts(mine)}
    changed = {on: (shape, book) for on, shape, book in changes[1:]}
    marks = {timeline.recorded_on} if timeline.recorded_on <= as_of else set()
    for on in sorted(days.keys() | changed.keys() | marks):
        _open_by(course, on=on)
        if on in changed:
            shape, book = changed[on]
            take_change(course, on=on, attributes=shape, rulebook=book)
        _take_day(course, days.get(on), on=on, is_recorded=on == timeline.recorded_on)
    _open_by(course, on=as_of)
    return course


def _take_day(course: Course, day: DayOfFacts | None, *, on: date, is_recorded: bool) -> None:
    if day is not None:
        for warning in day.warnings:
            course.ask(warning)
        for fact in day.facts:
            take_fact(course, fact)
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


def _ledger(*, courses: Sequence[Course], rulebook: Rulebook, left: Left, as_of: date) -> Ledger:
    main = courses[0]
    _say_exempt(main, on=as_of)
    opened: list[Obligation] = []
    coming: list[Obligation] = []
    for course in courses:
        is_idle = course.idle_since is not None
        opened += [d.frozen(kind=course.kind, is_idle=is_idle) for d in course.closed]
        if course.current is not None:
            obligation = course.current.frozen(kind=course.kind, is_idle=is_idle)
            (opened if obligation.is_open else coming).append(obligation)
    if len(courses) > 1:
        opened.sort(key=lambda o: (o.opens_on, o.closed_on or date.max))
    return Ledger(
        as_of=as_of,
        kind=main.kind,
        kinds=tuple(course.kind for course in courses),
        obligations=tuple(opened),
        coming=tuple(coming),
        next_actions=_next_actions(
            rulebook=rulebook, obligations=[*opened, *coming], left=left, as_of=as_of
        ),
        reasons=tuple(reason for course in courses for reason in course.reasons),
        warnings=tuple(dict.fromkeys(said for course in courses for said in course.warnings)),
        questions=tuple(dict.fromkeys(said for course in courses for said in course.questions)),
        installed_on=main.installed_on,
        last_passed_on=main.last_passed_on,
        removed_on=main.removed_on,
        idle_since=main.idle_since if main.removed_on is None else None,
        is_exempt=main.rule is None,
    )


def _say_exempt(course: Course, *, on: date) -> None:
    rule = course.rulebook.exempt_rule(kind=course.kind, attributes=course.attributes)
    if rule is not None:
        said = f"nothing is asked of a {course.attributes.type}"
        course.say(on=on, rule=rule.id, arithmetic=said, citation=rule.citation)


def _next_actions(
    *, rulebook: Rulebook, obligations: Iterable[Obligation], left: Left, as_of: date
) -> dict[ObligationKey, date]:
    """Return the first day each obligation asks for something: its opening, or a rung."""
    found: dict[ObligationKey, date] = {}
    for obligation in obligations:
        gone = left.get(obligation.key, ())
        on = acts_on(ladder=rulebook.ladder, obligation=obligation, left=gone, as_of=as_of)
        if on is not None:
            found[obligation.key] = on
    return found
