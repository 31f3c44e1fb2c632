"""The fixed cast and two programs with one of everything, so that every address can be asked."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from uuid import uuid4

from django.contrib.auth import get_user_model
from django.contrib.auth.models import AbstractBaseUser

from notices.domain.codes import token_digest
from notices.links import token_of
from notices.models import Letter, LetterFile, LetterNotice, Notice
from registry.changes import Hand
from registry.domain.identity import firm_key, maker_key, party_key, premises_key, serial_key
from registry.domain.kinds import Role
from registry.models import (
    Approval,
    Assembly,
    Assignment,
    Calibration,
    Certification,
    Firm,
    Gauge,
    LoadBatch,
    Membership,
    Merge,
    Party,
    Premises,
    PremisesParty,
    Program,
    Question,
    ServiceConnection,
    SetAsideRow,
    Tester,
)
from reports.actions.feeds import hash_of
from reports.models import (
    AppointmentTold,
    BusyCalendar,
    CalendarFeed,
    EntryPhoto,
    FieldEntry,
    FieldTest,
    OwnForm,
    Paper,
    PaperPage,
    Plan,
    PlanChange,
    Round,
    Stop,
    StopWork,
)
from scheduling.actions.adoption import ensure_rulebooks, put_in_force
from scheduling.actions.drafting import start_draft
from scheduling.actions.facts import NewFact, record_facts
from scheduling.actions.opening import open_obligations
from scheduling.actions.replaying import replay_assemblies
from scheduling.domain.facts import FactKind
from scheduling.models import (
    Adoption,
    Decision,
    DecisionMember,
    Fact,
    LevelDecision,
    Obligation,
    ProgramClock,
    Rulebook,
)
from scheduling.queries.shipped import shipped_text
from tests.access.after_rows import rows_after
from tests.access.judging_rows import rows_judging
from tests.access.leaving_rows import rows_leaving
from tests.access.planning_rows import rows_before_plans
from tests.access.said_rows import rows_said
from tests.access.shutoff_rows import rows_of_shutoff

TODAY = date(2026, 11, 25)
AT = datetime(2026, 11, 25, 20, tzinfo=UTC)
ROLES = (
    *("administrator", "clerk", "dispatcher", "tester", "property manager", "auditor"),
    *("stranger", "anonymous"),
)


@dataclass(frozen=True, kw_only=True)
class Office:
    """A program with one of everything; `ids` by the kind of thing."""

    program: Program
    firm: Firm
    party: Party
    ids: dict[str, int]
    token: str


@dataclass(frozen=True, kw_only=True)
class Cast:
    """Two offices and the people of the first; the stranger works in the other one."""

    home: Office
    other: Office
    people: dict[str, AbstractBaseUser | None]


def made_cast() -> Cast:
    """Everything, written once for a test."""
    ensure_rulebooks()
    home, other = _office("flats"), _office("hills")
    people: dict[str, AbstractBaseUser | None] = {"anonymous": None}
    for role in ROLES[:-1]:
        user = get_user_model().objects.create_user(role.replace(" ", "-"), password=None)
        people[role] = user
        _seat(user, role, home, other)
    return Cast(home=home, other=other, people=people)


def _seat(user: AbstractBaseUser, role: str, home: Office, other: Office) -> None:
    pk = user.pk
    if role == "stranger":
        Membership.objects.create(user_id=pk, role=Role.ADMINISTRATOR, program=other.program)
    elif role in {"dispatcher", "tester"}:
        Membership.objects.create(user_id=pk, role=role, firm=home.firm)
    elif role == "property manager":
        Membership.objects.create(user_id=pk, role=role, program=home.program, party=home.party)
    else:
        Membership.objects.create(user_id=pk, role=role, program=home.program)


def _office(code: str) -> Office:
    program = Program.objects.create(
        code=code,
        name=code.title(),
        zone="America/Los_Angeles",
        is_trial=True,
        created_at=AT,
    )
    ProgramClock.objects.create(program=program, last_run_on=TODAY)
    put_in_force(program=program, name="plain-rolling", effective_on=TODAY, at=AT)
    site, party = _site(program)
    connection = ServiceConnection.objects.create(premises=site, kind="domestic")
    assembly = _assembly(program, site, connection)
    firm, tester, gauge = _company(program, site)
    letter, order, token = _letters(program, site, assembly, party)
    test = _field_test(program, assembly, tester)
    batch = LoadBatch.objects.create(
        program=program,
        what="registry",
        file_name="sheet.csv",
        as_of=TODAY,
        at=AT,
        tally={"created": 1},
        headers=["Serial"],
        columns={"Serial": "serial"},
    )
    SetAsideRow.objects.create(
        batch=batch,
        row=2,
        cells=["=1+1"],
        faults=[{"row": 2, "column": "Serial", "value": "=1+1", "message": "Write a serial."}],
    )
    question = Question.objects.create(
        program=program,
        key=f"q:{code}",
        kind="doubt",
        assembly=assembly,
        text="Is it there?",
        raised_on=TODAY,
    )
    ids = {
        "premises": site.pk,
        "connection": connection.pk,
        "party": party.pk,
        "assembly": assembly.pk,
        "fact": Fact.objects.filter(assembly=assembly).order_by("pk")[0].pk,
        "tester": tester.pk,
        "gauge": gauge.pk,
        "letter": letter.pk,
        **rows_leaving(letter),
        **rows_said(letter, premises=site),
        "order": order.pk,
        **rows_of_shutoff(order, connection=connection),
        "test": test.pk,
        "batch": batch.pk,
        "own form": _own_form(program).pk,
        "paper": _paper(program).pk,
        "tests batch": _tests_batch(program).pk,
        "question": question.pk,
        "round": _round(program, firm, tester, site, assembly).pk,
        **_rulebooks(program),
        "levelling": _levelling(program).pk,
        "merge": _merge(program, party).pk,
        "decision": _decision(program, assembly).pk,
        **_handed_in(program, assembly),
        **rows_after(program, assembly, tester),
        **rows_judging(program, tester=tester, gauge=gauge, test=test),
        "feed": _feed(site).pk,
        "busy calendar": _busy(tester).pk,
        **_planned(program),
        **rows_before_plans(program, premises=site, tester=tester),
    }
    return Office(program=program, firm=firm, party=party, ids=ids, token=token)


def _own_form(program: Program) -> OwnForm:
    return OwnForm.objects.create(
        program=program, name="City form", kind="csv", content=b"Serial", sha256="e" * 64,
        blanks=[{"name": "Serial", "kind": "text"}], made_at=AT, by="test",
    )  # fmt: skip


def _paper(program: Program) -> Paper:
    paper = Paper.objects.create(
        program=program, client_id=uuid4(), sha256="d" * 64, file_name="scan.png", kind="png",
        content=b"png", received_at=AT, by="test",
    )  # fmt: skip
    PaperPage.objects.create(paper=paper, number=1, content=b"jpeg", width=4, height=3)
    return paper


def _tests_batch(program: Program) -> LoadBatch:
    return LoadBatch.objects.create(
        program=program, what="tests", file_name="november.csv", as_of=TODAY, at=AT, by="test"
    )


def _handed_in(program: Program, assembly: Assembly) -> dict[str, int]:
    entry = FieldEntry.objects.create(
        program=program, client_id=uuid4(), body={"type": "RP", "fields": {"serial": "A100"}},
        body_sha256="b" * 64, channel="device", by="T. Vell", assembly=assembly,
        receipt="261125-AB12", received_at=AT,
    )  # fmt: skip
    photo = EntryPhoto.objects.create(
        entry=entry, sent_sha256="c" * 64, sha256="c" * 64, content=b"jpeg", width=4, height=3,
        received_at=AT,
    )  # fmt: skip
    return {"entry": entry.pk, "picture": photo.pk}


def _merge(program: Program, party: Party) -> Merge:
    return Merge.objects.create(
        program=program, what="party", kept_id=party.pk, kept_label="Larch Court",
        gone_id=0, gone_label="Larch Crt", at=AT, on=TODAY, by="test",
    )  # fmt: skip


def _decision(program: Program, assembly: Assembly) -> Decision:
    """An exemption long ended, so that nothing else in the office hangs on it."""
    row = Decision.objects.create(
        program=program, kind="exempted", on=date(2025, 1, 1), until=date(2025, 6, 1),
        reason="survey", approved_by="A. Board", made_at=AT, made_by="test",
        ended_on=date(2025, 2, 1), ended_at=AT, ended_by="test",
    )  # fmt: skip
    fact = Fact.objects.filter(assembly=assembly).order_by("pk")[0]
    DecisionMember.objects.create(decision=row, assembly=assembly, fact=fact)
    return row


def _rulebooks(program: Program) -> dict[str, int]:
    """A draft with a gap, an edition of its own, and the decision that is in force."""
    text = shipped_text("plain-season")
    gap = '\n[[gap]]\nname = "hearing"\npart = "provision"\nwhat = "How a hearing is asked for"\n'
    hand = Hand(by="test", at=AT)
    edition = start_draft(program=program, text=text, name="local-season", hand=hand)
    Rulebook.objects.filter(pk=edition.pk).update(is_draft=False)
    return {
        "draft": start_draft(program=program, text=text + gap, name="next-season", hand=hand).pk,
        "edition": edition.pk,
        "adoption": Adoption.objects.get(program=program).pk,
    }


def _levelling(program: Program) -> LevelDecision:
    return LevelDecision.objects.create(
        program=program,
        from_on=TODAY,
        to_on=date(2027, 11, 24),
        capacity=25,
        per="week",
        made_at=AT,
        made_by="test",
        figures={"moved": 0},
    )


def _site(program: Program) -> tuple[Premises, Party]:
    site = Premises.objects.create(
        program=program,
        account="1-1",
        name="Weir Lane Dental",
        address="77 Weir Ln",
        city="Tamarack Flats",
        state="WA",
        zip="99171",
        lat=Decimal("46.85"),
        lon=Decimal("-118.27"),
        key=premises_key(account="1-1", address="77 Weir Ln", city="Tamarack Flats"),
    )
    where = {"address": "1 Landing Way", "city": "Tamarack Flats", "state": "WA"}
    party = Party.objects.create(
        program=program,
        name="Larch Court",
        zip="99171",
        key=party_key(name="Larch Court", zip_code="99171", **where),
        **where,
    )
    PremisesParty.objects.create(premises=site, party=party, role="owner")
    return site, party


def _assembly(program: Program, site: Premises, connection: ServiceConnection) -> Assembly:
    assembly = Assembly.objects.create(
        program=program,
        premises=site,
        connection=connection,
        type="RP",
        maker="Northfork",
        serial="A100",
        maker_key=maker_key("Northfork"),
        serial_key=serial_key("A100"),
        size_in=Decimal("1.5"),
        hazard="high",
        created_at=AT,
    )
    facts = [
        NewFact(assembly_id=assembly.pk, kind=FactKind.INSTALLED, on=date(2024, 3, 1)),
        NewFact(assembly_id=assembly.pk, kind=FactKind.PASSED, on=date(2024, 3, 4)),
    ]
    record_facts(program=program, facts=facts, recorded_at=AT, by="test")
    replay_assemblies(program=program, assembly_ids=[assembly.pk], as_of=TODAY)
    open_obligations(program=program, as_of=TODAY)
    return assembly


def _company(program: Program, site: Premises) -> tuple[Firm, Tester, Gauge]:
    name = f"Vell Testing {program.code}"
    firm = Firm.objects.create(name=name, key=firm_key(name))
    tester = Tester.objects.create(firm=firm, certificate="T-1", name="T. Vell")
    terms = {"valid_from": date(2025, 1, 1), "valid_to": date(2027, 1, 1)}
    Certification.objects.create(tester=tester, program=program, **terms)
    gauge = Gauge.objects.create(firm=firm, serial="G-118", serial_key=serial_key("G-118"))
    Calibration.objects.create(gauge=gauge, program=program, calibrated_on=date(2026, 2, 1))
    for what in ({}, {"tester": tester}, {"gauge": gauge}):
        Approval.objects.create(program=program, firm=firm, valid_from=date(2025, 1, 1), **what)
    Assignment.objects.create(program=program, firm=firm, premises=site, made_on=TODAY)
    return firm, tester, gauge


def _letters(
    program: Program, site: Premises, assembly: Assembly, party: Party
) -> tuple[Letter, Letter, str]:
    waiting = _letter(program, site, assembly, party, kind="first-overdue", number="26-1125-0001")
    order = _letter(program, site, assembly, party, kind="shutoff-order", number="26-1125-0002")
    return waiting, order, token_of(program_code=program.code, number=waiting.number)


def _letter(
    program: Program, site: Premises, assembly: Assembly, party: Party, *, kind: str, number: str
) -> Letter:
    owed = Obligation.objects.filter(assembly=assembly, closed_on__isnull=True).first()
    notice = Notice.objects.create(
        program=program,
        matter_key=f"obligation:{owed.pk if owed else 0}",
        obligation=owed,
        assembly=assembly,
        premises=site,
        rung=kind,
        owed_on=TODAY,
        recorded_on=TODAY,
        citation="An example",
    )
    token = token_of(program_code=program.code, number=number)
    letter = Letter.objects.create(
        program=program,
        number=number,
        kind=kind,
        recipient=party,
        recipient_key=f"party:{party.pk}",
        address_lines=["Larch Court", "1 Landing Way", "Tamarack Flats WA 99171"],
        content={"headline": ["A test is overdue."], "paragraphs": ["Have it done."]},
        composed_on=TODAY,
        mailing_on=TODAY,
        channel="mail",
        needs_release=True,
        is_order=kind == "shutoff-order",
        token_hash=token_digest(token),
        short_code=f"{program.code[:3]}-{number[-4:]}",
        mailing_zip="99171",
        created_at=AT,
    )
    LetterNotice.objects.create(letter=letter, notice=notice, recipient_key=letter.recipient_key)
    LetterFile.objects.create(
        letter=letter, pdf=b"%PDF-1.4 kept", sha256="0" * 64, pages=1, stored_at=AT
    )
    return letter


def _field_test(program: Program, assembly: Assembly, tester: Tester) -> FieldTest:
    return FieldTest.objects.create(
        program=program,
        assembly=assembly,
        digest="d" * 64,
        serial="A100",
        tested_on=TODAY,
        tester=tester,
        tester_certificate="T-1",
        method="usc10",
        outcome="fail",
        as_found="fail",
        initial={"relief": "1.7"},
        verdict={"initial": {"outcome": "fail", "criteria": [], "reasons": [], "warnings": []}},
        reasons=["Below the limit."],
        waits_for_person=True,
        recorded_at=AT,
    )


def _busy(tester: Tester) -> BusyCalendar:
    return BusyCalendar.objects.create(
        tester=tester, name="office", sha256="0" * 64, read_at=AT, by="dora", until_on=TODAY
    )


def _feed(site: Premises) -> CalendarFeed:
    return CalendarFeed.objects.create(
        premises=site,
        secret_hash=hash_of(f"secret-of-{site.program.code}"),
        reader="wall",
        made_at=AT,
        made_by="test",
    )


def _planned(program: Program) -> dict[str, int]:
    stop = Stop.objects.get(program=program)
    change = PlanChange.objects.create(
        program=program, at=AT, by="test", words="moved", after={str(stop.pk): {}}
    )
    told = AppointmentTold.objects.create(
        program=program,
        premises=stop.premises,
        stop=stop,
        uid=f"visit-{stop.uid}",
        sequence=0,
        kind="appointment",
        starts_at=AT,
        ends_at=AT,
        by_way="telephone",
        at=AT,
        by="dora",
        call_due=True,
    )
    return {"stop": stop.pk, "plan-change": change.pk, "told": told.pk}


def _round(
    program: Program, firm: Firm, tester: Tester, site: Premises, assembly: Assembly
) -> Round:
    plan = Plan.objects.create(
        program=program, from_on=TODAY, days=5, made_at=AT, travel_how="great circle"
    )
    one = Round.objects.create(
        plan=plan,
        firm=firm,
        tester=tester,
        on=TODAY,
        starts_at=AT,
        ends_at=AT,
        depot_lat=Decimal("46.85"),
        depot_lon=Decimal("-118.28"),
    )
    stop = Stop.objects.create(
        program=program,
        round=one,
        premises=site,
        uid=f"{program.code}-1",
        place=1,
        arrives_at=AT,
        leaves_at=AT,
        revised_at=AT,
    )
    StopWork.objects.create(stop=stop, assembly=assembly)
    return one
