"""Services that lack protection, and surveys of premises: histories worked by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from registry.domain.kinds import AssemblyType, Hazard, Protects, ServiceKind
from scheduling.domain.facts import Fact, FactKind
from scheduling.domain.matching import SubjectKind
from scheduling.domain.obligations import ClosedHow
from scheduling.domain.place_replay import Lived, Rules, replay_premises, replay_service
from scheduling.domain.places import Finding, Guard, GuardBefore, Place, Service, ServiceShape
from scheduling.domain.rulebook import Rulebook
from scheduling.domain.timeline import RulebookFrom
from tests.domain.scheduling.histories import START
from tests.domain.scheduling.places.atlas import NO_LADDER, TEST_KIND, YEARLY, place, rules
from tests.domain.scheduling.places.protection_rules import PRINTED, TABLES, WASHINGTON

RECORDED = date(2026, 3, 2)
"""The day the office entered the premises and its service."""

HIGH = Finding(on=RECORDED, hazard=Hazard.HIGH)
LOW = Finding(on=RECORDED, hazard=Hazard.LOW)


def guard(
    type_: str, *, since: str = "2026-03-02", until: str = "", isolates: bool = False
) -> Guard:
    """An assembly installed on a day, and taken out on another."""
    told = [Fact(kind=FactKind.INSTALLED, on=date.fromisoformat(since))]
    if until:
        told.append(Fact(kind=FactKind.REMOVED, on=date.fromisoformat(until)))
    return Guard(
        type=AssemblyType(type_),
        protects=Protects.ISOLATION if isolates else Protects.CONTAINMENT,
        hazard=Hazard.NOT_ASSESSED,
        recorded_on=date.fromisoformat(since),
        facts=tuple(told),
    )


def served(*guards: Guard, kind: str = "domestic", chemicals: bool | None = None) -> Service:
    """A service recorded 2 March 2026 with what stands on it."""
    shape = ServiceShape(on=date.min, kind=ServiceKind(kind), has_chemicals=chemicals)
    return Service(key=1, recorded_on=RECORDED, shapes=(shape,), guards=guards)


def lived(
    service: Service,
    *findings: Finding,
    as_of: str = "2026-06-30",
    known_at: datetime | None = None,
    book: Rulebook = PRINTED,
    use: str = "office",
    closed: str = "",
) -> Lived:
    """The history of one service of a premises."""
    place = Place(
        key=1,
        use=use,
        recorded_on=RECORDED,
        findings=findings,
        services=(service,),
        closed_on=date.fromisoformat(closed) if closed else None,
    )
    return replay_service(
        place=place,
        service=service,
        rules=Rules(rulebooks=(RulebookFrom(on=START, rulebook=book),)),
        as_of=date.fromisoformat(as_of),
        known_at=known_at,
    )


def said(found: Lived) -> list[str]:
    """Every obligation in one line: opens, due, and how it closed."""
    return [
        f"{one.opens_on} due {one.due_on}"
        + (f" {one.closed_how} {one.closed_on}" if one.closed_on else "")
        for one in found.ledger.obligations
    ]


def test_a_service_without_an_assembly_owes_protection_from_the_day_it_was_recorded() -> None:
    # 2 March + 30 days = 1 April
    assert said(lived(served(), HIGH)) == ["2026-03-02 due 2026-04-01"]


def test_what_nobody_assessed_is_treated_as_high_and_never_called_high() -> None:
    found = lived(served(guard("DC")))
    assert said(found) == ["2026-03-02 due 2026-04-01"]
    words = found.turns[0].lacks[0].words
    assert words == ("domestic: DC against a hazard not assessed; asked for: RP, RPDA or AG")
    assert "high" not in words


@pytest.mark.parametrize(
    ("kind", "chemicals", "type_", "finding", "use", "lacks"),
    [
        # WAC table 12: high asks for AG, RP or RPDA; low for those, DC or DCDA
        ("domestic", None, "RP", HIGH, "office", False),
        ("domestic", None, "RPDA", HIGH, "office", False),
        ("domestic", None, "AG", HIGH, "office", False),
        ("domestic", None, "DC", HIGH, "office", True),
        ("domestic", None, "PVB", HIGH, "office", True),
        ("domestic", None, "DC", LOW, "office", False),
        ("domestic", None, "DCDA", LOW, "office", False),
        ("domestic", None, "PVB", LOW, "office", True),
        # WAC table 13: a car wash always AG or RP, whatever was found of it
        ("domestic", None, "DC", LOW, "Car wash", True),
        ("domestic", None, "RP", LOW, "Car wash", False),
        # Conn. Gen. Stat. 19a-37a: a fire line without chemicals, and one with
        ("fire", False, "DC", HIGH, "office", False),
        ("fire", False, "DCDA", HIGH, "office", False),
        ("fire", True, "DCDA", LOW, "office", True),
        ("fire", True, "RPDA", LOW, "office", False),
        ("fire", None, "DC", LOW, "office", True),  # not recorded: the stricter
        # 30 TAC 344.50: irrigation
        ("irrigation", None, "PVB", HIGH, "office", True),
        ("irrigation", None, "RP", HIGH, "office", False),
        ("irrigation", None, "PVB", LOW, "office", False),
        ("irrigation", None, "AVB", LOW, "office", False),
    ],
)
def test_tables_in_print_say_what_protects_well_enough(
    kind: str, chemicals: bool | None, type_: str, finding: Finding, use: str, lacks: bool
) -> None:
    found = lived(served(guard(type_), kind=kind, chemicals=chemicals), finding, use=use)
    assert said(found) == (["2026-03-02 due 2026-04-01"] if lacks else [])


def test_an_assembly_installed_meets_it_on_its_day() -> None:
    found = lived(served(guard("RP", since="2026-03-20")), HIGH)
    assert said(found) == ["2026-03-02 due 2026-04-01 met 2026-03-20"]


def test_one_that_protects_too_little_meets_nothing_and_its_replacement_does() -> None:
    replaced = served(guard("DC", since="2026-03-10", until="2026-05-11"),
                      guard("RP", since="2026-05-11"))  # fmt: skip
    assert said(lived(replaced, HIGH, as_of="2026-05-10")) == ["2026-03-02 due 2026-04-01"]
    assert said(lived(replaced, HIGH)) == ["2026-03-02 due 2026-04-01 met 2026-05-11"]


def test_what_is_asked_for_is_what_lacks_on_the_day() -> None:
    # nothing on 2 March, DC from 10 March: the same obligation, and DC stands there now
    service = served(guard("DC", since="2026-03-10"))
    for as_of, has in (("2026-03-05", ()), ("2026-03-12", (AssemblyType.DC,))):
        found = lived(service, HIGH, as_of=as_of)
        (owed,) = found.ledger.obligations
        assert [lack.has for lack in found.lacks_of(owed)] == [has]
        assert owed.key.origin_on == RECORDED


def test_an_assembly_changed_from_a_day_on_protects_as_it_was_before() -> None:
    # DC until 20 March, RP from then on
    was = GuardBefore(
        until=date(2026, 3, 20),
        type=AssemblyType.DC,
        protects=Protects.CONTAINMENT,
        recorded_at=datetime(2026, 3, 25, 12, tzinfo=UTC),
    )
    service = served(replace(guard("RP"), was=(was,)))
    assert said(lived(service, HIGH)) == ["2026-03-02 due 2026-04-01 met 2026-03-20"]
    then = datetime(2026, 3, 22, 12, tzinfo=UTC)
    before = lived(service, HIGH, as_of="2026-03-22", known_at=then)
    assert said(before) == ["2026-03-02 due 2026-04-01"]


def test_one_that_protects_a_fixture_does_not_contain() -> None:
    # table 12 speaks of premises: containment
    assert said(lived(served(guard("RP", isolates=True)), HIGH)) == ["2026-03-02 due 2026-04-01"]


def test_an_assembly_taken_out_leaves_the_service_without_protection_from_that_day() -> None:
    # 14 April + 30 days = 14 May
    found = lived(served(guard("RP", until="2026-04-14")), HIGH)
    assert said(found) == ["2026-04-14 due 2026-05-14"]


def test_a_higher_hazard_found_asks_for_more_from_its_day() -> None:
    # low on 2 March: DC protects. High on 4 May: due 3 June
    later = Finding(on=date(2026, 5, 4), hazard=Hazard.HIGH)
    assert said(lived(served(guard("DC")), LOW, later)) == ["2026-05-04 due 2026-06-03"]


def test_a_lower_hazard_found_excuses_what_lacked_and_says_why() -> None:
    later = Finding(on=date(2026, 3, 16), hazard=Hazard.LOW)
    found = lived(served(guard("DC")), HIGH, later)
    assert said(found) == ["2026-03-02 due 2026-04-01 excused 2026-03-16"]
    assert found.ledger.reasons[-1].arithmetic == (
        "domestic: DC; a low hazard from 2026-03-16 asks for no more: closed excused"
    )
    assert found.ledger.questions == ()


def test_protection_installed_on_the_day_the_hazard_fell_meets_what_lacked() -> None:
    later = Finding(on=date(2026, 3, 16), hazard=Hazard.LOW)
    found = lived(served(guard("DC", until="2026-03-16"), guard("RP", since="2026-03-16")),
                  HIGH, later)  # fmt: skip
    assert said(found) == ["2026-03-02 due 2026-04-01 met 2026-03-16"]


def test_a_rule_that_asks_for_less_excuses_what_lacked() -> None:
    # from 20 March a DC is enough against a high hazard: nobody installed anything
    milder = tuple(
        replace(one, allowed=one.allowed | {AssemblyType.DC}) for one in PRINTED.protections
    )
    books = (
        RulebookFrom(on=START, rulebook=PRINTED),
        RulebookFrom(
            on=date(2026, 3, 20), rulebook=replace(PRINTED, edition=2, protections=milder)
        ),
    )
    service = served(guard("DC"))
    place = Place(key=1, use="", recorded_on=RECORDED, findings=(HIGH,), services=(service,))
    found = replay_service(
        place=place, service=service, rules=Rules(rulebooks=books), as_of=date(2026, 6, 30)
    )
    assert said(found) == ["2026-03-02 due 2026-04-01 excused 2026-03-20"]
    assert "DC; the rulebook of 2026-03-20 asks for no more" in found.ledger.reasons[-1].arithmetic


def test_excused_by_a_lower_hazard_it_is_owed_again_with_a_higher_one() -> None:
    findings = (HIGH, Finding(on=date(2026, 3, 16), hazard=Hazard.LOW),
                Finding(on=date(2026, 5, 4), hazard=Hazard.HIGH))  # fmt: skip
    # 4 May + 30 days = 3 June
    assert said(lived(served(guard("DC")), *findings)) == [
        "2026-03-02 due 2026-04-01 excused 2026-03-16",
        "2026-05-04 due 2026-06-03",
    ]


def test_lacking_again_owes_again() -> None:
    gone = served(guard("RP", since="2026-03-20", until="2026-05-01"))
    assert said(lived(gone, HIGH)) == [
        "2026-03-02 due 2026-04-01 met 2026-03-20",
        "2026-05-01 due 2026-05-31",
    ]


def test_a_rule_that_comes_into_force_asks_from_its_day() -> None:
    # the book of the start asks nothing of services; the new one does from 1 May: due 31 May
    before = rules(f"{TEST_KIND}\n{YEARLY}\n{NO_LADDER}")
    books = (
        RulebookFrom(on=START, rulebook=before),
        RulebookFrom(on=date(2026, 5, 1), rulebook=replace(PRINTED, edition=2)),
    )
    service = served(guard("DC"))
    place = Place(key=1, use="", recorded_on=RECORDED, findings=(HIGH,), services=(service,))
    found = replay_service(
        place=place, service=service, rules=Rules(rulebooks=books), as_of=date(2026, 6, 30)
    )
    assert said(found) == ["2026-05-01 due 2026-05-31"]


def test_a_service_that_is_cut_off_owes_nothing_more() -> None:
    gone = replace(served(), facts=(Fact(kind=FactKind.REMOVED, on=date(2026, 4, 20)),))
    assert said(lived(gone, HIGH)) == ["2026-03-02 due 2026-04-01 excused 2026-04-20"]
    assert lived(gone, HIGH).ledger.questions == ()


def test_a_closed_account_owes_nothing_more() -> None:
    found = lived(served(), HIGH, closed="2026-03-31")
    assert said(found) == ["2026-03-02 due 2026-04-01 excused 2026-03-31"]


def test_an_extension_moves_its_due_date() -> None:
    extended = Fact(kind=FactKind.EXTENDED, on=date(2026, 3, 25), until=date(2026, 5, 1))
    assert said(lived(replace(served(), facts=(extended,)), HIGH)) == ["2026-03-02 due 2026-05-01"]


def test_an_exemption_excuses_it_and_its_end_asks_anew() -> None:
    told = (
        Fact(kind=FactKind.EXEMPTED, on=date(2026, 3, 10)),
        Fact(kind=FactKind.INCLUDED, on=date(2026, 6, 1)),
    )
    # 1 June + 30 days = 1 July
    assert said(lived(replace(served(), facts=told), HIGH)) == [
        "2026-03-02 due 2026-04-01 excused 2026-03-10",
        "2026-06-01 due 2026-07-01",
    ]


def test_a_late_report_changes_what_is_known_now_and_not_what_was_known_then() -> None:
    # a finding of 4 May, recorded 20 May
    late = Finding(
        on=date(2026, 5, 4), hazard=Hazard.HIGH, recorded_at=datetime(2026, 5, 20, 12, tzinfo=UTC)
    )
    service = served(guard("DC"))
    then = datetime(2026, 5, 10, 23, tzinfo=UTC)
    assert said(lived(service, LOW, late, as_of="2026-05-10", known_at=then)) == []
    assert said(lived(service, LOW, late, as_of="2026-05-10")) == ["2026-05-04 due 2026-06-03"]


def test_a_service_changed_counts_from_its_change() -> None:
    # a fire line without chemicals behind DC; domestic, high, from 11 May: due 10 June
    changed = replace(
        served(guard("DC"), kind="fire", chemicals=False),
        shapes=(
            ServiceShape(on=date.min, kind=ServiceKind.FIRE, has_chemicals=False),
            ServiceShape(on=date(2026, 5, 11), kind=ServiceKind.DOMESTIC),
        ),
    )
    assert said(lived(changed, HIGH)) == ["2026-05-11 due 2026-06-10"]


def test_every_reason_names_what_lacks_and_its_source() -> None:
    reasons = lived(served(guard("DC")), HIGH).ledger.reasons
    assert [(one.arithmetic, one.citation) for one in reasons][:2] == [
        (
            "domestic: DC against a high hazard; asked for: RP, RPDA or AG",
            "WAC 246-290-490(4)(b), table 12",
        ),
        (
            "unprotected 2026-03-02 + 30 days = 2026-04-01",
            "a program's own rule: protection within 30 days",
        ),
    ]


def test_what_is_no_longer_lacked_leaves_the_survey_of_the_premises_owed() -> None:
    """Protection asked of the premises as a whole beside its survey: only the first is excused."""
    kinds = tuple(replace(kind, subject=SubjectKind.PREMISES) for kind in PRINTED.kinds)
    book = replace(PRINTED, kinds=kinds)
    later = Finding(on=date(2026, 3, 16), hazard=Hazard.LOW, is_stated=True)
    site = Place(
        key=1,
        use="office",
        recorded_on=RECORDED,
        findings=(replace(HIGH, is_stated=True), later),
        services=(served(guard("DC")),),
    )
    found = replay_premises(
        place=site,
        rules=Rules(rulebooks=(RulebookFrom(on=START, rulebook=book),)),
        as_of=date(2026, 3, 31),
    )
    how = {one.kind: one.closed_how for one in found.ledger.obligations}
    assert how["protection"] is ClosedHow.EXCUSED
    assert how["survey"] is None


# Surveys


def surveyed(*findings: Finding, as_of: str, book: Rulebook = PRINTED) -> Lived:
    """The history of a premises as a whole."""
    place = Place(key=1, use="office", recorded_on=RECORDED, findings=findings)
    return replay_premises(
        place=place,
        rules=Rules(rulebooks=(RulebookFrom(on=START, rulebook=book),)),
        as_of=date.fromisoformat(as_of),
    )


def due(found: Lived) -> str:
    """The due date of what is owed next."""
    current = found.ledger.current
    return current.due_on.isoformat() if current else "nothing"


def test_illinois_surveys_every_two_years_and_toronto_every_five() -> None:
    # 35 IAC 604.1510, and Toronto by a secondary source
    leap = Finding(on=date(2024, 2, 29), hazard=Hazard.LOW)
    assert due(surveyed(leap, as_of="2026-03-02")) == "2026-02-28"
    toronto = rules("\n".join([*TABLES, WASHINGTON, NO_LADDER]).replace("INTERVAL=2", "INTERVAL=5"))
    assert due(surveyed(leap, as_of="2026-03-02", book=toronto)) == "2029-02-28"


def test_the_next_survey_counts_from_the_last_one() -> None:
    first = Finding(on=date(2024, 2, 29), hazard=Hazard.LOW)
    late = Finding(on=date(2026, 4, 10), hazard=Hazard.LOW)
    assert due(surveyed(first, late, as_of="2026-05-01")) == "2028-04-10"


def test_what_a_file_states_is_no_survey() -> None:
    # no date known: the day it was recorded + 30 days, by the teaching rulebook's rule
    stated = replace(LOW, is_stated=True)
    assert due(surveyed(stated, as_of="2026-05-01")) == "2026-04-01"


def test_not_assessed_is_no_survey_either() -> None:
    blank = Finding(on=date(2026, 3, 20), hazard=Hazard.NOT_ASSESSED)
    assert due(surveyed(blank, as_of="2026-05-01")) == "2026-04-01"


def test_illinois_ships_with_its_survey_and_names_the_rest_as_missing() -> None:
    # 35 IAC 604.1510: every 2 years from the survey of 10 March 2024
    book = place("illinois")
    last = Finding(on=date(2024, 3, 10), hazard=Hazard.LOW)
    assert due(surveyed(last, as_of="2026-03-02", book=book)) == "2026-03-10"
    assert "how often an assembly is tested" in book.gaps


def test_washingtons_places_ask_for_protection_once_the_days_are_filled_in() -> None:
    # WAC table 12; the 30 days are the test's own, for the places do not say how many
    book = place("highland-wa")
    assert "days to install protection" in book.gaps
    assert said(lived(served(guard("DC")), HIGH, book=book)) == []
    filled = replace(book, events=(*book.events, *PRINTED.events))
    assert said(lived(served(guard("DC")), HIGH, book=filled)) == ["2026-03-02 due 2026-04-01"]
    # table 13: a mortuary whatever was found of it
    low = lived(served(guard("DC")), LOW, book=filled, use="Mortuary")
    assert said(low) == ["2026-03-02 due 2026-04-01"]
