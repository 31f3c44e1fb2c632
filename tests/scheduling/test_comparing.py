"""A comparison: the quick count equals reading every history, and nothing at all is written."""

from __future__ import annotations

import random
from collections import Counter
from datetime import date, timedelta
from typing import Any

import pytest
from django.apps import apps
from django.db import connection
from django.test.utils import CaptureQueriesContext

from registry.domain.kinds import AssemblyType, Hazard
from registry.models import Assembly, Program
from scheduling.domain.comparing import Comparison
from scheduling.domain.facts import FactKind
from scheduling.domain.replay import replay
from scheduling.domain.rulebook import Rulebook
from scheduling.domain.rulebook_text import read_rulebook
from scheduling.models import AssemblyState
from scheduling.queries import alike, comparing
from scheduling.queries.comparing import CannotCompareError, ask, compared, go_on
from scheduling.queries.rulebooks import books_of
from scheduling.queries.shapes import caught_by_rules, shapes_in
from scheduling.queries.shipped import shipped_rulebook, shipped_text
from scheduling.queries.sides import attributes_on, compare_histories
from scheduling.queries.subjects import subjects
from tests.scheduling.office import made_assembly, made_program, recorded, replayed

pytestmark = pytest.mark.django_db

TODAY = date(2025, 11, 25)
KINDS = [AssemblyType.RP, AssemblyType.DC, AssemblyType.PVB, AssemblyType.AVB]


def yearly_only() -> Rulebook:
    """The rolling rulebook without its half-yearly rule: high-hazard RPs come a year apart."""
    text = shipped_text("plain-rolling")
    before, rest = text.split('[[cycle]]\nid = "half-yearly"', 1)
    return read_rulebook(before + "[[cycle]]" + rest.split("[[cycle]]", 1)[1])


def a_registry(program: Program, *, number: int, seed: int) -> None:
    """Assemblies with all sorts of histories, replayed as of today."""
    rng = random.Random(seed)
    made = []
    for place in range(number):
        assembly = made_assembly(
            program,
            serial=f"C{place}",
            type_=rng.choice(KINDS),
            hazard=rng.choice([Hazard.HIGH, Hazard.LOW]),
        )
        made.append(assembly)
        a_history(assembly, rng)
    replayed(made, as_of=TODAY)


def a_history(assembly: Assembly, rng: random.Random) -> None:
    passed = TODAY - timedelta(days=rng.randrange(5, 500))
    story: list[tuple[FactKind, date]] = []
    if rng.random() < 0.7:
        story.append((FactKind.INSTALLED, passed - timedelta(days=rng.randrange(0, 900))))
    if rng.random() < 0.9:
        story.append((FactKind.PASSED, passed))
    later = passed + timedelta(days=rng.randrange(0, 60))
    if rng.random() < 0.3 and later <= TODAY:
        kinds = [FactKind.FAILED, FactKind.REPAIRED, FactKind.IDLED, FactKind.REMOVED]
        story.append((rng.choice(kinds), later))
    recorded(assembly, *story)


def by_histories(program: Program, draft: Rulebook) -> Comparison:
    """The same comparison with every history read, none counted by the database."""
    question, comparison = ask(program=program, draft=draft, effective_on=TODAY)
    ids = list(Assembly.objects.filter(program=program).values_list("pk", flat=True))
    compare_histories(program=program, assembly_ids=ids, books=question.books, into=comparison)
    comparison.done = len(ids)
    return comparison


def rows_of_everything() -> dict[str, list[tuple[Any, ...]]]:
    return {
        model._meta.label: list(model._default_manager.order_by("pk").values_list())
        for model in apps.get_models()
    }


@pytest.mark.parametrize(
    ("in_force", "draft"),
    [
        ("plain-rolling", "plain-season"),
        ("plain-rolling", "plain-anniversary"),
        ("plain-season", "plain-rolling"),
        ("plain-anniversary", "plain-rolling"),
    ],
)
def test_the_quick_count_equals_reading_every_history(in_force: str, draft: str) -> None:
    program = made_program(rulebook=in_force)
    a_registry(program, number=60, seed=4)
    book = shipped_rulebook(draft)
    quick = compared(program=program, draft=book, effective_on=TODAY)
    assert quick.to_json() == by_histories(program, book).to_json()


def test_histories_are_read_only_where_the_last_pass_does_not_say_all(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    program = made_program()
    plain = made_assembly(program, serial="P1")
    recorded(plain, (FactKind.PASSED, date(2025, 3, 4)))
    repaired = made_assembly(program, serial="R1")
    story = (FactKind.PASSED, date(2025, 3, 4)), (FactKind.REPAIRED, date(2025, 11, 20))
    recorded(repaired, *story)
    replayed([plain, repaired], as_of=TODAY)
    read: list[int] = []

    def heard(*, assembly_ids: list[int], **rest: Any) -> None:
        read.extend(assembly_ids)
        compare_histories(assembly_ids=assembly_ids, **rest)

    monkeypatch.setattr(comparing, "compare_histories", heard)
    compared(program=program, draft=yearly_only(), effective_on=TODAY)
    assert read == [repaired.pk]


def test_many_that_stand_alike_are_replayed_once(monkeypatch: pytest.MonkeyPatch) -> None:
    program = made_program()
    made = [made_assembly(program, serial=f"D{n}") for n in range(20)]
    for one in made:
        recorded(one, (FactKind.PASSED, date(2025, 3, 4)))
    replayed(made, as_of=TODAY)
    times = Counter[str]()
    real = replay

    def counted(**rest: Any) -> Any:
        times["replay"] += 1
        return real(**rest)

    monkeypatch.setattr(alike, "replay", counted)
    found = compared(program=program, draft=yearly_only(), effective_on=TODAY)
    assert (found.same, times["replay"]) == (20, 2)


def test_nothing_is_written() -> None:
    program = made_program()
    a_registry(program, number=40, seed=7)
    before = rows_of_everything()
    with CaptureQueriesContext(connection) as queries:
        compared(program=program, draft=shipped_rulebook("plain-season"), effective_on=TODAY)
    assert rows_of_everything() == before
    assert {query["sql"].split()[0] for query in queries.captured_queries} <= {
        *("SELECT", "SAVEPOINT", "RELEASE", "DECLARE", "FETCH", "CLOSE")
    }


def test_the_queries_follow_the_batches_not_the_assemblies() -> None:
    program = made_program()
    draft = yearly_only()
    counts = []
    for number in (3, 30):
        made = [made_assembly(program, serial=f"{number}-{n}") for n in range(number)]
        for one in made:
            recorded(one, (FactKind.PASSED, date(2025, 3, 4)))
        replayed(made, as_of=TODAY)
        with CaptureQueriesContext(connection) as found:
            compared(program=program, draft=draft, effective_on=TODAY)
        counts.append(len(found))
    assert counts[0] == counts[1]


def test_dates_move_as_worked_by_hand() -> None:
    """High-hazard RP, last pass 2025-08-01: half-yearly due 2026-02-01, yearly 2026-08-01.

    2026-02-01 to 2026-08-01: 28 + 31 + 30 + 31 + 30 + 31 = 181 days.
    """
    program = made_program()
    high = made_assembly(program, serial="H1", type_=AssemblyType.RP, hazard=Hazard.HIGH)
    recorded(high, (FactKind.PASSED, date(2025, 8, 1)))
    replayed([high], as_of=TODAY)
    found = compared(program=program, draft=yearly_only(), effective_on=TODAY)
    assert found.moved_by == {181: 1}
    assert (found.later, found.earlier, found.same) == (1, 0, 0)


def test_who_is_overdue_today_and_then_not_is_told() -> None:
    """Last pass 2025-03-04: half-yearly due 2025-09-04, past its day; yearly due 2026-03-04."""
    program = made_program()
    late = made_assembly(program, serial="L1", type_=AssemblyType.RP, hazard=Hazard.HIGH)
    recorded(late, (FactKind.PASSED, date(2025, 3, 4)))
    replayed([late], as_of=TODAY)
    found = compared(program=program, draft=yearly_only(), effective_on=TODAY)
    assert (found.overdue_now, found.overdue_then) == (1, 0)
    assert (found.overdue_no_more, found.overdue_at_once) == (1, 0)


def test_transition_days_keep_anybody_from_being_overdue_at_once() -> None:
    """Yearly due 2026-03-04 becomes half-yearly 2025-09-04, floored at 2025-11-25 + 30 days."""
    program = made_program()
    book = yearly_only()
    stricter = shipped_rulebook("plain-rolling")
    high = made_assembly(program, serial="H2", type_=AssemblyType.RP, hazard=Hazard.HIGH)
    recorded(high, (FactKind.PASSED, date(2025, 3, 4)))
    in_force_by_hand(program, book)
    replayed([high], as_of=TODAY)
    found = compared(program=program, draft=stricter, effective_on=TODAY)
    assert found.moved_by == {(date(2025, 12, 25) - date(2026, 3, 4)).days: 1}
    assert found.overdue_at_once == 0


def in_force_by_hand(program: Program, book: Rulebook) -> None:
    """Put the yearly book in force instead of the shipped one."""
    from scheduling.models import Adoption

    row = Adoption.objects.get(program=program).rulebook
    text = shipped_text("plain-rolling")
    before, rest = text.split('[[cycle]]\nid = "half-yearly"', 1)
    row.pk, row.edition = None, 9
    row.text = before + "[[cycle]]" + rest.split("[[cycle]]", 1)[1]
    row.sha256 = "yearly"
    row.save()
    Adoption.objects.filter(program=program).update(rulebook=row)
    assert read_rulebook(row.text) == book


def test_a_comparison_goes_on_from_where_another_request_left_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(comparing, "BATCH", 7)
    program = made_program()
    a_registry(program, number=30, seed=11)
    draft = shipped_rulebook("plain-season")
    whole = compared(program=program, draft=draft, effective_on=TODAY)
    question, comparison = ask(program=program, draft=draft, effective_on=TODAY)
    steps = 0
    while not comparison.is_whole:
        next(go_on(question, comparison))
        again, _ = ask(program=program, draft=draft, effective_on=TODAY)
        again.last_id = question.last_id
        question, comparison = again, Comparison.from_state(comparison.state())
        steps += 1
    assert steps == 5
    assert comparison.to_json() == whole.to_json()


def test_the_shapes_counted_are_those_that_replay_reads() -> None:
    program = made_program()
    a_registry(program, number=20, seed=3)
    book = shipped_rulebook("plain-rolling")
    ids = list(Assembly.objects.filter(program=program).values_list("pk", flat=True))
    read = subjects(program=program, assembly_ids=ids, rulebooks=books_of(program).dated)
    removed = set(
        AssemblyState.objects.filter(removed_on__isnull=False).values_list("assembly_id", flat=True)
    )
    shapes = shapes_in(program)
    assert shapes == Counter(
        attributes_on(one, day=TODAY) for one in read if one.assembly_id not in removed
    )
    caught = caught_by_rules(rulebook=book, shapes=shapes)
    whole = sum(shapes.values())
    assert sum(n for (part, _), n in caught.items() if part in ("exempt", "cycle")) == whole


def test_a_day_before_the_stored_dates_hold_is_refused() -> None:
    program = made_program()
    a_registry(program, number=3, seed=1)
    with pytest.raises(CannotCompareError, match="as of 2025-11-25"):
        ask(program=program, draft=yearly_only(), effective_on=date(2025, 11, 24))
    with pytest.raises(CannotCompareError, match="outside 1900 to 2200: correct the year"):
        ask(program=program, draft=yearly_only(), effective_on=date(2300, 1, 1))


def test_the_forecast_counts_working_days_by_the_closed_days_of_the_program() -> None:
    program = made_program()
    Program.objects.filter(pk=program.pk).update(state="OR")
    program.refresh_from_db()
    question, _ = ask(program=program, draft=yearly_only(), effective_on=TODAY)
    books = question.books
    thanksgiving = date(2026, 11, 26)  # 5 U.S.C. 6103
    for closed in (books.holidays, books.forecast_now.holidays, books.forecast_then.holidays):
        assert thanksgiving in closed
