"""What is stored is what replay finds, and a row keeps its id while its key survives."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from itertools import count
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pytest_django import DjangoAssertNumQueries

from registry.domain.kinds import AssemblyType, Hazard
from registry.models import Assembly, HazardAssessment, Program
from scheduling.actions.adoption import AdoptionError, ensure_rulebooks, put_in_force
from scheduling.actions.facts import FactError, NewFact, record_facts, withdraw_facts
from scheduling.actions.opening import open_obligations
from scheduling.actions.replaying import replay_assemblies
from scheduling.domain.decisions import NEEDS_AN_END
from scheduling.domain.facts import FactKind
from scheduling.domain.obligations import ClosedHow, ObligationKey
from scheduling.domain.standing import Standing, standing
from scheduling.models import AssemblyState, Obligation, Rulebook
from scheduling.queries.obligations import as_domain, key_of
from scheduling.queries.rulebooks import NoRulebookError, books_of, rulebook_in_force
from scheduling.queries.shipped import UnknownRulebookError, shipped_names
from scheduling.queries.standings import explain_assembly, ledger_of, standing_rows
from tests.scheduling.office import RECORDED, made_assembly, made_program, recorded, replayed

NUMBERS = count()
pytestmark = pytest.mark.django_db

TODAY = date(2025, 11, 25)
NOON = datetime(2025, 11, 25, 12, tzinfo=UTC)


@pytest.fixture
def program() -> Program:
    return made_program()


@pytest.fixture
def assembly(program: Program) -> Assembly:
    return made_assembly(program)


def dates_stored(assembly: Assembly) -> list[tuple[Any, ...]]:
    rows = Obligation.objects.filter(assembly=assembly).exclude(closed_how="superseded")
    return sorted(
        (key_of(row), row.opens_on, row.due_on, row.cure_by, row.closed_on, row.closed_how)
        for row in rows
    )


def dates_replayed(assembly: Assembly, *, as_of: date) -> list[tuple[Any, ...]]:
    ledger = ledger_of(assembly=assembly, as_of=as_of)
    return sorted(
        (o.key, o.opens_on, o.due_on, o.cure_by, o.closed_on, o.closed_how or "")
        for o in (*ledger.obligations, *ledger.coming)
    )


def only(assembly: Assembly, **wanted: Any) -> Obligation:
    return Obligation.objects.get(assembly=assembly, **wanted)


def test_a_pass_stores_what_was_met_and_what_is_coming(assembly: Assembly) -> None:
    recorded(assembly, (FactKind.INSTALLED, date(2025, 3, 1)), (FactKind.PASSED, date(2025, 3, 4)))
    tally = replayed([assembly], as_of=TODAY)
    assert (tally.assemblies, tally.created) == (1, 2)
    met, coming = Obligation.objects.filter(assembly=assembly).order_by("due_on")
    assert (met.due_on, met.closed_on, met.closed_how) == (
        date(2025, 3, 11),
        date(2025, 3, 4),
        ClosedHow.MET,
    )
    assert (coming.opens_on, coming.due_on, coming.opened_on) == (
        date(2026, 1, 3),  # 60 days before
        date(2026, 3, 4),  # one year after the last pass
        None,
    )
    assert coming.next_action_on == date(2026, 1, 3)


def test_replaying_again_changes_nothing(assembly: Assembly) -> None:
    recorded(assembly, (FactKind.INSTALLED, date(2025, 3, 1)), (FactKind.PASSED, date(2025, 3, 4)))
    replayed([assembly], as_of=TODAY)
    before = list(Obligation.objects.order_by("pk").values())
    tally = replayed([assembly], as_of=TODAY)
    assert (tally.created, tally.updated, tally.superseded, tally.dropped) == (0, 0, 0, 0)
    assert list(Obligation.objects.order_by("pk").values()) == before


def test_an_open_obligation_keeps_its_id_and_its_opening_when_a_failure_arrives(
    assembly: Assembly,
) -> None:
    recorded(assembly, (FactKind.PASSED, date(2024, 12, 20)))
    replayed([assembly], as_of=TODAY)
    assert open_obligations(program=assembly.program, as_of=TODAY) == 1
    before = only(assembly)
    recorded(assembly, (FactKind.FAILED, TODAY))
    replayed([assembly], as_of=TODAY)
    after = only(assembly)
    assert after.pk == before.pk
    assert after.opened_on == TODAY
    assert after.failed_on == TODAY
    assert after.cure_by == TODAY + timedelta(days=21)  # low hazard


def test_a_coming_obligation_brought_forward_keeps_its_row(assembly: Assembly) -> None:
    recorded(assembly, (FactKind.PASSED, date(2025, 10, 1)))
    replayed([assembly], as_of=TODAY)
    coming = only(assembly)
    recorded(assembly, (FactKind.REPAIRED, TODAY))
    replayed([assembly], as_of=TODAY)
    opened = only(assembly)
    assert opened.pk == coming.pk
    assert key_of(opened).origin == "repaired"
    assert (opened.opens_on, opened.due_on) == (TODAY, date(2025, 12, 5))
    assert opened.prompts == ["2025-11-25"]


def test_a_correction_that_removes_the_origin_supersedes_and_links(assembly: Assembly) -> None:
    wrong = recorded(assembly, (FactKind.PASSED, date(2024, 11, 1)))
    replayed([assembly], as_of=TODAY)
    open_obligations(program=assembly.program, as_of=TODAY)
    old = only(assembly)
    recorded(assembly, (FactKind.PASSED, date(2024, 11, 8)))
    withdraw_facts(
        program=assembly.program,
        fact_ids=[wrong[0].pk],
        at=NOON,
        reason="the wrong day was typed",
        by="clerk",
    )
    tally = replayed([assembly], as_of=TODAY)
    old.refresh_from_db()
    assert tally.superseded == 1
    assert (old.closed_how, old.closed_on) == (ClosedHow.SUPERSEDED, TODAY)
    assert old.successor is not None
    assert old.successor.due_on == date(2025, 11, 8)
    assert old.successor.closed_on is None


def test_a_key_that_comes_back_revives_its_row(assembly: Assembly) -> None:
    right = recorded(assembly, (FactKind.PASSED, date(2024, 11, 1)))
    replayed([assembly], as_of=TODAY)
    open_obligations(program=assembly.program, as_of=TODAY)
    first = only(assembly)
    doubled = recorded(assembly, (FactKind.PASSED, date(2024, 11, 8)))
    replayed([assembly], as_of=TODAY)
    withdraw_facts(
        program=assembly.program, fact_ids=[doubled[0].pk], at=NOON, reason="twice", by="clerk"
    )
    replayed([assembly], as_of=TODAY)
    first.refresh_from_db()
    assert (first.closed_on, first.closed_how, first.successor) == (None, "", None)
    assert dates_stored(assembly) == dates_replayed(assembly, as_of=TODAY)
    assert right[0].withdrawn_at is None


def test_withdrawing_a_fact_equals_never_having_had_it(program: Program) -> None:
    one, other = made_assembly(program, serial="A1"), made_assembly(program, serial="A2")
    for each in (one, other):
        recorded(each, (FactKind.INSTALLED, date(2023, 5, 1)), (FactKind.PASSED, date(2024, 5, 1)))
    wrong = recorded(one, (FactKind.FAILED, date(2024, 9, 1)), (FactKind.IDLED, date(2024, 10, 1)))
    replayed([one, other], as_of=TODAY)
    withdraw_facts(
        program=program, fact_ids=[fact.pk for fact in wrong], at=NOON, reason="another", by="me"
    )
    replayed([one, other], as_of=TODAY)
    assert dates_stored(one) == dates_stored(other)


def test_an_idle_assembly_opens_nothing_until_it_is_back_in_use(assembly: Assembly) -> None:
    recorded(assembly, (FactKind.PASSED, date(2024, 6, 1)), (FactKind.IDLED, date(2024, 7, 1)))
    replayed([assembly], as_of=TODAY)
    assert open_obligations(program=assembly.program, as_of=TODAY) == 0
    assert only(assembly).next_action_on is None
    recorded(assembly, (FactKind.RESUMED, TODAY))
    replayed([assembly], as_of=TODAY)
    assert open_obligations(program=assembly.program, as_of=TODAY) == 1
    row = only(assembly)
    assert (row.opens_on, row.due_on) == (TODAY, date(2025, 12, 5))  # ten days' grace


def test_opening_is_by_stored_dates_and_only_once(program: Program) -> None:
    assembly = made_assembly(program)
    recorded(assembly, (FactKind.PASSED, date(2025, 3, 4)))
    replayed([assembly], as_of=date(2025, 11, 25))
    assert open_obligations(program=program, as_of=date(2026, 1, 2)) == 0
    assert open_obligations(program=program, as_of=date(2026, 1, 3)) == 1
    assert open_obligations(program=program, as_of=date(2026, 1, 3)) == 0
    assert as_domain(only(assembly)).is_open


def test_a_removed_assembly_keeps_no_coming_row(assembly: Assembly) -> None:
    recorded(assembly, (FactKind.PASSED, date(2025, 3, 4)))
    replayed([assembly], as_of=TODAY)
    recorded(assembly, (FactKind.REMOVED, TODAY))
    tally = replayed([assembly], as_of=TODAY)
    assert tally.dropped == 1
    assert not Obligation.objects.filter(assembly=assembly).exists()
    assert AssemblyState.objects.get(assembly=assembly).removed_on == TODAY


def test_a_raised_hazard_shortens_the_cycle_no_sooner_than_in_thirty_days(
    program: Program,
) -> None:
    assembly = made_assembly(program, type_=AssemblyType.RP, hazard=Hazard.HIGH)
    for on, hazard in ((date(2024, 1, 2), Hazard.LOW), (date(2025, 11, 1), Hazard.HIGH)):
        HazardAssessment.objects.create(
            premises=assembly.premises,
            assembly=assembly,
            assessed_on=on,
            hazard=hazard,
            recorded_at=RECORDED,
        )
    recorded(assembly, (FactKind.PASSED, date(2025, 3, 4)))
    replayed([assembly], as_of=TODAY)
    # low: 2026-03-04; high: 2025-09-04, floored at 2025-11-01 + 30 days
    assert only(assembly).due_on == date(2025, 12, 1)


def test_a_rulebook_put_in_force_later_moves_open_and_coming_only(program: Program) -> None:
    assembly = made_assembly(program)
    recorded(assembly, (FactKind.INSTALLED, date(2024, 3, 1)), (FactKind.PASSED, date(2025, 9, 4)))
    replayed([assembly], as_of=TODAY)
    met = Obligation.objects.get(assembly=assembly, closed_how="met")
    put_in_force(program=program, name="plain-season", effective_on=date(2025, 10, 1), at=RECORDED)
    replayed([assembly], as_of=TODAY)
    coming = only(assembly, closed_on=None)
    assert coming.due_on == date(2026, 5, 31)
    assert coming.rulebook.name == "plain-season"
    met.refresh_from_db()
    assert met.rulebook.name == "plain-rolling"
    assert rulebook_in_force(program=program, on=date(2025, 9, 30)).name == "plain-rolling"
    assert rulebook_in_force(program=program, on=date(2025, 10, 1)).name == "plain-season"


def test_rulebooks_are_loaded_once_and_a_changed_text_is_a_new_edition(program: Program) -> None:
    ensure_rulebooks()
    assert Rulebook.objects.count() == len(shipped_names()) == 24
    row = Rulebook.objects.get(name="plain-rolling")
    row.sha256 = "another"
    row.save()
    ensure_rulebooks()
    assert list(
        Rulebook.objects.filter(name="plain-rolling").values_list("edition", flat=True)
    ) == [1, 2]
    put_in_force(program=program, name="plain-rolling", effective_on=TODAY, at=NOON)
    labels = books_of(program).row_ids
    assert set(labels) == {"plain-rolling", "plain-rolling (edition 2)"}


def test_a_rulebook_with_gaps_is_refused_and_the_gaps_are_listed(program: Program) -> None:
    Rulebook.objects.filter(name="plain-season").update(gaps=["the ladder", "cure days"])
    with pytest.raises(AdoptionError, match="the ladder; cure days"):
        put_in_force(program=program, name="plain-season", effective_on=TODAY)


def test_an_unknown_rulebook_is_refused_with_those_there_are(program: Program) -> None:
    with pytest.raises(UnknownRulebookError, match="plain-anniversary, plain-rolling"):
        put_in_force(program=program, name="nowhere", effective_on=TODAY)


def test_a_program_without_a_rulebook_says_what_to_do() -> None:
    bare = Program.objects.create(code="bare", name="Bare", created_at=RECORDED)
    with pytest.raises(NoRulebookError, match="adopt one first"):
        replay_assemblies(program=bare, assembly_ids=None, as_of=TODAY)


@pytest.mark.parametrize(
    ("fact", "field"),
    [
        (NewFact(assembly_id=0, kind=FactKind.PASSED, on=date(1899, 12, 31)), "on"),
        (
            NewFact(
                assembly_id=0,
                kind=FactKind.EXTENDED,
                on=date(2025, 5, 2),
                until=date(2025, 5, 1),
            ),
            "until",
        ),
        (NewFact(assembly_id=0, kind=FactKind.HELD, on=date(2025, 5, 2)), "until"),
        (NewFact(assembly_id=0, kind=FactKind.PASSED, on=date(2026, 6, 2)), "on"),
        (NewFact(assembly_id=0, kind=FactKind.PASSED, on=date(2025, 5, 1)), "assembly"),
    ],
)
def test_a_fact_that_cannot_be_kept_is_refused_whole(
    program: Program, assembly: Assembly, fact: NewFact, field: str
) -> None:
    good = NewFact(assembly_id=assembly.pk, kind=FactKind.PASSED, on=date(2025, 5, 1))
    with pytest.raises(FactError) as refused:
        record_facts(
            program=program,
            facts=[good, fact],
            recorded_at=NOON,
            by="clerk",
            today=date(2026, 6, 1),
        )
    assert refused.value.field == field
    assert assembly.facts.count() == 0


@pytest.mark.parametrize("source", ["person", "stated"])
def test_facts_given_together_are_held_against_each_other(
    program: Program, assembly: Assembly, source: str
) -> None:
    """A person's pass before the installation given with it; a sheet's is kept as stated."""
    facts = [
        NewFact(assembly_id=assembly.pk, kind=kind, on=on, source=source)
        for kind, on in (
            (FactKind.INSTALLED, date(2025, 5, 2)),
            (FactKind.PASSED, date(2025, 5, 1)),
        )
    ]
    if source == "stated":
        record_facts(program=program, facts=facts, recorded_at=NOON, by="clerk")
        assert assembly.facts.count() == 2
        return
    told = "passed on 2025-05-01 lies before the installation on 2025-05-02: correct one"
    with pytest.raises(FactError, match=told):
        record_facts(program=program, facts=facts, recorded_at=NOON, by="clerk")
    assert assembly.facts.count() == 0


def test_a_fact_about_another_programs_assembly_is_refused(assembly: Assembly) -> None:
    other = made_program(code="other")
    fact = NewFact(assembly_id=assembly.pk, kind=FactKind.PASSED, on=date(2025, 5, 1))
    with pytest.raises(FactError, match="not of program other"):
        record_facts(program=other, facts=[fact], recorded_at=NOON, by="clerk")
    replay_assemblies(program=other, assembly_ids=[assembly.pk], as_of=TODAY)
    assert not Obligation.objects.exists()


def test_day_d_as_now_known_and_as_then_known(assembly: Assembly) -> None:
    recorded(assembly, (FactKind.PASSED, date(2024, 3, 4)))
    late = datetime(2025, 10, 1, 9, tzinfo=UTC)
    recorded(assembly, (FactKind.PASSED, date(2025, 2, 20)), at=late)
    day = date(2025, 6, 1)
    now_known = explain_assembly(assembly=assembly, as_of=day)
    then_known = explain_assembly(
        assembly=assembly, as_of=day, known_at=datetime(2025, 6, 1, 23, tzinfo=UTC)
    )
    assert (now_known.standing, now_known.due_on) == (Standing.GOOD, date(2026, 2, 20))
    assert (then_known.standing, then_known.due_on) == (Standing.OVERDUE, date(2025, 3, 4))


def test_standings_are_read_in_one_query_and_agree_with_replay(
    program: Program, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    several = [made_assembly(program, serial=f"A{n}") for n in range(4)]
    recorded(several[0], (FactKind.PASSED, date(2025, 3, 4)))
    recorded(several[1], (FactKind.PASSED, date(2024, 3, 4)))
    recorded(several[2], (FactKind.PASSED, date(2025, 3, 4)), (FactKind.FAILED, date(2025, 6, 1)))
    replayed(several, as_of=TODAY)
    for day in (TODAY, date(2026, 2, 1), date(2026, 3, 5)):
        with django_assert_num_queries(1):
            rows = list(standing_rows(program=program, as_of=day))
        for row, each in zip(rows, several, strict=True):
            ledger = ledger_of(assembly=each, as_of=day)
            assert row.standing == standing(ledger, day)
            assert (row.opens_on, row.due_on) == (
                (ledger.current.opens_on, ledger.current.due_on) if ledger.current else (None, None)
            )


def test_standings_of_an_earlier_day_are_replayed_as_of_it(program: Program) -> None:
    assembly = made_assembly(program)
    recorded(assembly, (FactKind.PASSED, date(2024, 3, 4)), (FactKind.PASSED, date(2025, 4, 4)))
    replayed([assembly], as_of=TODAY)
    row = next(iter(standing_rows(program=program, as_of=date(2025, 4, 1))))
    assert (row.standing, row.due_on) == (Standing.OVERDUE, date(2025, 3, 4))


def test_replaying_more_assemblies_takes_no_more_queries(program: Program) -> None:
    counts = []
    for _ in range(2):
        added = [made_assembly(program, serial=f"A{next(NUMBERS)}") for _ in range(6)]
        for each in added:
            recorded(each, (FactKind.INSTALLED, date(2023, 5, 1)), (FactKind.PASSED, TODAY))
        with CaptureQueriesContext(connection) as queries:
            replay_assemblies(program=program, assembly_ids=None, as_of=TODAY)
        counts.append(len(queries))
    assert counts[1] <= counts[0]


def test_keys_read_back_from_their_stored_words() -> None:
    key = ObligationKey.from_texts(kind="test", origin="no date:2025-11-25", period="2025-11-25")
    assert (key.origin_text, key.period_text) == ("no date:2025-11-25", "2025-11-25")


WORDS = [kind for kind in FactKind if kind not in (*NEEDS_AN_END, FactKind.ASSESSED)]


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    told=st.lists(
        st.tuples(st.sampled_from(WORDS), st.dates(date(2022, 1, 1), date(2026, 6, 1))),
        max_size=8,
    ),
    rulebook=st.sampled_from(["plain-rolling", "plain-anniversary", "plain-season"]),
    days=st.lists(st.dates(date(2023, 1, 1), date(2026, 12, 31)), min_size=1, max_size=4),
    withdrawn=st.sets(st.integers(0, 7), max_size=3),
)
@pytest.mark.django_db(transaction=False)
def test_stored_equals_replayed_whatever_arrives_and_is_withdrawn(
    told: list[tuple[FactKind, date]], rulebook: str, days: list[date], withdrawn: set[int]
) -> None:
    """Facts arrive one by one, days pass and open what is due, some facts are withdrawn."""
    assembly = made_assembly(made_program(code=f"p{next(NUMBERS)}", rulebook=rulebook))
    program = assembly.program
    facts = []
    for number, fact in enumerate(told):
        facts += recorded(assembly, fact)
        day = days[number % len(days)]
        replayed([assembly], as_of=day)
        open_obligations(program=program, as_of=day)
    gone = [facts[number].pk for number in withdrawn if number < len(facts)]
    withdraw_facts(program=program, fact_ids=gone, at=NOON, reason="wrong", by="clerk")
    last = max(days)
    replayed([assembly], as_of=last)
    assert dates_stored(assembly) == dates_replayed(assembly, as_of=last)
    mine = Obligation.objects.filter(assembly=assembly)
    assert mine.filter(closed_on=None).count() <= 1
    for row in mine.filter(closed_how="superseded"):
        assert row.opened_on is not None
