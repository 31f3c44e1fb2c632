"""What assemblies share with others is stored by replay, forgotten with each fact, and checked."""

from __future__ import annotations

import random
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta

import pytest

from registry.domain.kinds import AssemblyType, Hazard
from registry.models import Assembly, HazardAssessment, Program, Question
from scheduling.actions.facts import NewFact, record_facts, withdraw_facts
from scheduling.actions.likenesses import fill_likeness, mend_likeness
from scheduling.actions.replaying import replay_assemblies
from scheduling.domain.facts import Fact as DomainFact
from scheduling.domain.facts import FactKind
from scheduling.domain.likeness import (
    HISTORY_COUNTS,
    Likeness,
    likeness_of,
    rounds_in,
    rounds_of,
)
from scheduling.domain.replay import replay
from scheduling.models import AssemblyState, Fact, Obligation
from scheduling.queries.rulebooks import books_of
from scheduling.queries.subjects import subjects
from tests.scheduling.office import made_assembly, made_program, recorded, replayed

pytestmark = pytest.mark.django_db

TODAY = date(2025, 11, 25)
AT = datetime(2025, 11, 25, 12, tzinfo=UTC)
UNTIL = frozenset({FactKind.EXTENDED, FactKind.HELD})
LATER = [FactKind.PASSED, FactKind.FAILED, FactKind.REPAIRED, FactKind.EXTENDED, FactKind.HELD,
         FactKind.IDLED, FactKind.RESUMED, FactKind.REMOVED, FactKind.ASSESSED,
         FactKind.EXEMPTED, FactKind.RELOCATED]  # fmt: skip


def stored(program: Program) -> dict[int, tuple[str, int | None]]:
    """The likeness and rounds of what is owed of each assembly."""
    rows = Obligation.objects.filter(program=program, closed_on__isnull=True)
    return {pk: (words, rounds) for pk, words, rounds in
            rows.values_list("assembly_id", "likeness", "rounds")}  # fmt: skip


def worked_out(program: Program) -> dict[int, tuple[str, int | None]]:
    """The same by a replay of everything."""
    ids = list(Assembly.objects.filter(program=program).values_list("pk", flat=True))
    found = {}
    for one in subjects(program=program, assembly_ids=ids, rulebooks=books_of(program).dated):
        ledger = replay(timeline=one.timeline, facts=one.facts, left={}, as_of=TODAY)
        if not any(o.closed_on is None for o in (*ledger.obligations, *ledger.coming)):
            continue
        alike = likeness_of(shapes=one.timeline.attributes, facts=one.facts, ledger=ledger)
        found[one.assembly_id] = (
            (alike.words, rounds_of(one.facts)) if alike else ("", HISTORY_COUNTS)
        )
    return found


def told_apart(found: dict[int, tuple[str, int | None]]) -> dict[int, tuple[str, int | None]]:
    """The same without what tells whether replay was asked for what has no likeness."""
    return {pk: (words, rounds if words else None) for pk, (words, rounds) in found.items()}


def passed_twice(program: Program, serial: str, *, passed: date) -> Assembly:
    made = made_assembly(program, serial=serial, type_=AssemblyType.DC, hazard=Hazard.LOW)
    before = passed - timedelta(days=360)
    recorded(made, (FactKind.INSTALLED, before), (FactKind.PASSED, before),
             (FactKind.PASSED, passed))  # fmt: skip
    return made


def one_fact(rng: random.Random, assembly: Assembly) -> NewFact:
    kind = rng.choice(LATER)
    on = TODAY - timedelta(days=rng.randrange(0, 260))
    until = on + timedelta(days=200) if kind in UNTIL else None
    return NewFact(assembly_id=assembly.pk, kind=kind, on=on, until=until, source="load")


def test_whatever_happens_the_stored_likeness_is_that_of_a_replay() -> None:
    """Facts recorded and withdrawn in any order, replayed or not yet replayed in between."""
    program = made_program()
    rng = random.Random(11)
    made = [passed_twice(program, f"L{n}", passed=TODAY - timedelta(days=200)) for n in range(12)]
    replayed(made, as_of=TODAY)
    assert all(words for words, _ in stored(program).values())
    for _ in range(40):
        assembly = rng.choice(made)
        if rng.random() < 0.7:
            record_facts(
                program=program, facts=[one_fact(rng, assembly)], recorded_at=AT, by="a test"
            )
        else:
            there = Fact.objects.filter(assembly=assembly, withdrawn_at__isnull=True, by="a test")
            ids = list(there.values_list("pk", flat=True)[:1])
            withdraw_facts(program=program, fact_ids=ids, at=AT, reason="typed wrongly", by="x")
        true, kept = worked_out(program), stored(program)
        assert all(not words or true[pk] == (words, rounds) for pk, (words, rounds) in kept.items())
        if rng.random() < 0.5:
            replay_assemblies(program=program, assembly_ids=[assembly.pk], as_of=TODAY)
    replay_assemblies(program=program, assembly_ids=None, as_of=TODAY)
    assert stored(program) == worked_out(program)
    assert any(words for words, _ in stored(program).values())
    assert not all(words for words, _ in stored(program).values())


def test_a_state_shares_the_likeness_of_what_is_owed() -> None:
    program = made_program()
    made = passed_twice(program, "S1", passed=date(2025, 3, 4))
    replayed([made], as_of=TODAY)
    words = stored(program)[made.pk][0]
    assert words == AssemblyState.objects.get(assembly=made).likeness
    assert Likeness.of(words).last_passed_on == date(2025, 3, 4)
    assert Likeness.of(words).words == words


def test_a_fact_is_forgotten_at_once_though_nobody_replays() -> None:
    """A load that is killed between its facts and their replay leaves no likeness behind."""
    program = made_program()
    made = passed_twice(program, "F1", passed=date(2025, 3, 4))
    replayed([made], as_of=TODAY)
    failed = NewFact(assembly_id=made.pk, kind=FactKind.FAILED, on=date(2025, 10, 1), source="load")
    record_facts(program=program, facts=[failed], recorded_at=AT, by="a test")
    assert stored(program) == {made.pk: ("", None)}
    assert AssemblyState.objects.get(assembly=made).likeness == ""


def test_rows_changed_past_the_program_lose_their_likeness_the_next_day() -> None:
    program = made_program()
    made = [passed_twice(program, f"N{n}", passed=date(2025, 3, 4)) for n in range(4)]
    replayed(made, as_of=TODAY)
    assert mend_likeness(program=program, on=TODAY) == 0
    Assembly.objects.filter(pk=made[0].pk).update(type=AssemblyType.RP)
    Fact.objects.create(program=program, assembly=made[1], kind="failed", on=date(2025, 6, 1),
                        source="stated", recorded_at=AT)  # fmt: skip
    Fact.objects.create(program=program, assembly=made[2], kind="assessed", on=date(2025, 6, 1),
                        source="stated", recorded_at=AT)  # fmt: skip
    assert mend_likeness(program=program, on=TODAY) == 2
    assert {pk for pk, (words, _) in stored(program).items() if words} == {
        made[2].pk, made[3].pk}  # fmt: skip
    assert Question.objects.filter(program=program, kind="likeness").count() == 1
    assert mend_likeness(program=program, on=TODAY) == 0


PastTheProgram = Callable[[Assembly], object]


def told(kind: str, on: date, **detail: object) -> PastTheProgram:
    """A fact written past the program."""
    return lambda made: Fact.objects.create(
        program=made.program, assembly=made, kind=kind, on=on, source="stated", detail=detail,
        recorded_at=AT,
    )  # fmt: skip


def unsaid(made: Assembly) -> None:
    """The last pass withdrawn past the program."""
    Fact.objects.filter(assembly=made, on=date(2025, 3, 4)).update(withdrawn_at=AT)


def was_high(made: Assembly) -> None:
    """A finding of another hazard before, written past the program."""
    for on, hazard in ((date(2024, 5, 1), Hazard.HIGH), (date(2024, 9, 1), Hazard.LOW)):
        HazardAssessment.objects.create(
            premises=made.premises, assembly=made, assessed_on=on, hazard=hazard, recorded_at=AT
        )


def was_other(made: Assembly) -> None:
    """A dated change of type, written past the program."""
    change = {"until": "2024-09-01", "recorded_at": AT.isoformat(), "type": AssemblyType.RP}
    Assembly.objects.filter(pk=made.pk).update(was=[change])


def other_row(made: Assembly) -> None:
    """A likeness of what is owed that is not that of the state."""
    row = Obligation.objects.get(assembly=made, closed_on__isnull=True)
    row.likeness = row.likeness.replace("2025-03-04", "2025-03-05")
    row.save()


@pytest.mark.parametrize(
    "act",
    [
        told("idled", date(2024, 6, 1)),
        told("removed", date(2024, 6, 1)),
        told("passed", date(2025, 4, 1)),
        told("held", date(2024, 6, 1), until="2024-07-01"),
        unsaid,
        was_high,
        was_other,
        other_row,
    ],
)
def test_what_is_changed_past_the_program_is_found_whenever_it_happened(
    act: PastTheProgram,
) -> None:
    program = made_program()
    made = [passed_twice(program, f"D{n}", passed=date(2025, 3, 4)) for n in range(3)]
    replayed(made, as_of=TODAY)
    act(made[1])
    elsewhere = next(  # a day on which none of them has its turn
        day for day in (TODAY + timedelta(days=n) for n in range(9))
        if day.toordinal() % 100 not in {one.pk % 100 for one in made}
    )  # fmt: skip
    assert mend_likeness(program=program, on=elsewhere) == 1
    assert {pk for pk, (words, _) in stored(program).items() if not words} == {made[1].pk}
    assert mend_likeness(program=program, on=elsewhere) == 0


def test_what_no_statement_finds_has_its_turn_within_a_hundred_days() -> None:
    """A failure written into an early round changes how the rounds ended, and nothing else."""
    program = made_program()
    made = passed_twice(program, "H1", passed=date(2025, 3, 4))
    replayed([made], as_of=TODAY)
    told("failed", date(2025, 3, 1))(made)
    turn = next(
        day for day in (TODAY + timedelta(days=n) for n in range(100))
        if day.toordinal() % 100 == made.pk % 100
    )  # fmt: skip
    assert mend_likeness(program=program, on=turn + timedelta(days=1)) == 0
    assert mend_likeness(program=program, on=turn) == 1
    assert stored(program) == {made.pk: ("", None)}


def test_each_run_fills_in_some_of_what_is_empty_and_asks_nobody_twice() -> None:
    """As after the update that brought likenesses: all are empty, and nobody replays."""
    program = made_program()
    made = [passed_twice(program, f"E{n}", passed=date(2025, 3, 4)) for n in range(5)]
    recorded(made[3], (FactKind.FAILED, date(2025, 10, 1)))
    replayed(made, as_of=TODAY)
    full = stored(program)
    states = list(AssemblyState.objects.order_by("pk").values("pk", "likeness"))
    assert full == worked_out(program)
    assert not full[made[3].pk][0]
    Obligation.objects.update(likeness="", rounds=None)
    AssemblyState.objects.update(likeness="")
    assert fill_likeness(program=program, on=TODAY, most=2) == 2
    assert {pk for pk, (words, _) in stored(program).items() if words} == {
        made[0].pk, made[1].pk}  # fmt: skip
    assert [fill_likeness(program=program, on=TODAY, most=2) for _ in range(3)] == [2, 1, 0]
    assert stored(program) == full
    assert list(AssemblyState.objects.order_by("pk").values("pk", "likeness")) == states


def test_a_row_whose_dates_are_not_those_of_a_replay_is_not_filled_in() -> None:
    program = made_program()
    made = passed_twice(program, "W1", passed=date(2025, 3, 4))
    replayed([made], as_of=TODAY)
    Obligation.objects.filter(closed_on__isnull=True).update(
        likeness="", rounds=None, due_on=date(2026, 4, 4)
    )
    assert fill_likeness(program=program, on=TODAY) == 1
    assert stored(program) == {made.pk: ("", HISTORY_COUNTS)}


def test_rounds_are_told_newest_first() -> None:
    """Passed, failed and passed, passed, found failing: of the last three the first and third."""
    days = [date(2020 + n, 5, 1) for n in range(5)]
    facts = [
        DomainFact(kind=FactKind.INSTALLED, on=date(2020, 4, 1)),
        DomainFact(kind=FactKind.PASSED, on=days[0]),
        DomainFact(kind=FactKind.FAILED, on=days[1]),
        DomainFact(kind=FactKind.REPAIRED, on=days[1] + timedelta(days=1)),
        DomainFact(kind=FactKind.PASSED, on=days[1] + timedelta(days=2)),
        DomainFact(kind=FactKind.PASSED, on=days[2]),
        DomainFact(kind=FactKind.PASSED, on=days[3], found_failed=True, repaired_inside=True),
    ]
    pattern = rounds_of(facts)
    assert pattern == 0b0101
    assert rounds_in(pattern, last=3) == (True, False, True)
    twice = [*facts, DomainFact(kind=FactKind.PASSED, on=days[2], work="inspection")]
    assert rounds_of(twice) is None
