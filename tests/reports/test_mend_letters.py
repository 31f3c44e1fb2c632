"""A testing company is told once of each version of a report that does not count, with its mend."""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from django.contrib.auth import get_user_model
from django.test import Client

from notices.actions import nightly
from notices.actions.clocks import Day
from notices.models import Delivery, Letter, LetterAbout
from registry import models as rows
from registry.domain.kinds import Role
from registry.models import Firm
from reports.actions.mend_letters import tell_firms
from reports.models import FieldTest
from scheduling.models import Rulebook
from tests.notices.offices import START, assembly, office, owner, premises

pytestmark = pytest.mark.django_db
ROOT = Path(__file__).parents[2]
ON = date(2026, 2, 20)
GAUGE = "Gauge G1 was calibrated on 2024-01-01; that holds 12 months."
NUMBER = "No gauge serial on the report: the gauge is not verified."
WHERE = {"address": "9 Elm Street", "city": "Tamarack Flats", "state": "WA", "zip": "99171"}


@dataclass
class Bench:
    """A program with two assemblies and two testing companies."""

    program: rows.Program
    firms: tuple[Firm, ...]
    testers: tuple[rows.Tester, ...]
    assemblies: tuple[rows.Assembly, ...]

    def report(self, key: str, *, firm: int = 0, of: int = 0, **changes: object) -> FieldTest:
        values: dict[str, object] = {
            "serial": self.assemblies[of].serial,
            "tested_on": date(2026, 2, 3),
            "method": "psi",
            "outcome": "pass",
            "counts": False,
            "reasons": [GAUGE],
            "waits_for_person": False,
            "tester_name": "R. Odom",
            "recorded_at": datetime(2026, 2, 4, 20, tzinfo=UTC),
            **changes,
        }
        return FieldTest.objects.create(
            program=self.program, assembly=self.assemblies[of], digest=key,
            tester=self.testers[firm], **values,
        )  # fmt: skip

    def tell(self, on: date = ON) -> list[Letter]:
        at = datetime(on.year, on.month, on.day, 20, tzinfo=UTC)
        return tell_firms(Day(program=self.program, on=on, at=at))


@pytest.fixture
def bench(settings: object) -> Bench:
    settings.MAIL_IS_SET_UP = True  # type: ignore[attr-defined]
    program = office()
    place = premises(program, of=owner(program), name="Larch Court Apartments")
    assemblies = (assembly(place, "S1"), assembly(premises(program, 232, of=None), "S2"))
    firms = tuple(
        Firm.objects.create(name=name, key=name.lower(), email=email)
        for name, email in (("Stillbrook Testing", "desk@stillbrook.example"), ("Quill", ""))
    )
    testers = tuple(
        rows.Tester.objects.create(firm=firm, certificate=f"T-{firm.pk}", name="R. Odom")
        for firm in firms
    )
    for firm in firms:
        rows.Approval.objects.create(program=program, firm=firm, valid_from=START)
    return Bench(program, firms, testers, assemblies)


def said(letter: Letter) -> str:
    return json.dumps(letter.content, ensure_ascii=False).replace("\u00a0", " ")


def test_one_letter_gathers_what_a_company_must_mend_and_a_second_run_writes_none(
    bench: Bench,
) -> None:
    bench.report("a")
    bench.report("b", of=1, reasons=[NUMBER], tested_on=date(2026, 2, 5))
    (letter,) = bench.tell()
    text = said(letter)
    for word in ("Serial S1", "Serial S2", "232 Larch Court", "February 3, 2026", "R. Odom",
                 "(555) 010-0142", "/p/flats/field-tests/", "A number is missing",
                 "calibration that held on that day"):  # fmt: skip
        assert word in text
    assert letter.recipient_key == f"firm:{bench.firms[0].pk}"
    assert letter.flags == []
    letter.refresh_from_db()
    assert letter.left_on == ON  # a trial's letters leave on the run's day and reach nobody
    assert bench.tell() == []
    assert bench.tell(date(2026, 2, 21)) == []


def test_it_is_written_in_the_run_of_a_day_and_each_company_gets_its_own(bench: Bench) -> None:
    bench.report("a")
    bench.report("b", firm=1, of=1)
    assert tell_firms in nightly.ALSO
    letters = bench.tell()
    assert [one.address_lines[0] for one in letters] == ["Stillbrook Testing", "Quill"]
    assert "Serial S2" not in said(letters[0])
    assert "Serial S1" not in said(letters[1])


def test_it_goes_by_e_mail_else_by_mail_else_it_waits_for_a_person(bench: Bench) -> None:
    bench.report("a")
    bench.report("b", firm=1, of=1)
    by_mail, waits = bench.tell()
    assert Delivery.objects.get(letter=by_mail).channel == "e-mail"
    assert (waits.state, bool(waits.flags)) == ("composed", True)
    Firm.objects.filter(pk=bench.firms[1].pk).update(**WHERE)
    (letter,) = bench.tell()  # once there is an address, it is written anew and goes
    waits.refresh_from_db()
    assert waits.state == "withdrawn"
    assert bench.tell() == []
    assert letter.address_lines == ["Quill", "9 Elm Street", "Tamarack Flats WA 99171"]
    assert Delivery.objects.get(letter=letter).channel == "mail"
    Letter.objects.filter(pk=letter.pk).update(state="composed", flags=["No face draws it."])
    assert bench.tell() == []  # another flag waits for a person: nothing is written anew


def test_what_counts_waits_for_us_was_mended_or_is_removed_is_not_told(bench: Bench) -> None:
    bench.report("counts", counts=True)
    bench.report("waits", waits_for_person=True)
    first = bench.report("mended", of=1)
    bench.report("mends", of=1, mends=first, waits_for_person=True)
    bench.report("old", tested_on=date(2025, 11, 1))
    assert bench.tell() == []
    bench.report("gone")
    bench.assemblies[0].state.__class__.objects.filter(assembly=bench.assemblies[0]).update(
        removed_on=date(2026, 2, 10)
    )
    assert bench.tell() == []


def test_a_later_version_that_fails_too_is_told_again(bench: Bench) -> None:
    first = bench.report("a")
    bench.tell()
    bench.report("a2", mends=first, reasons=[NUMBER])
    (again,) = bench.tell(date(2026, 2, 25))
    assert "A number is missing" in said(again)


def test_a_letter_that_has_not_left_is_withdrawn_when_a_report_is_mended(bench: Bench) -> None:
    first = bench.report("a", firm=1)
    bench.report("b", firm=1, of=1)
    (waits,) = bench.tell()
    assert waits.state == "composed"
    bench.report("a2", firm=1, mends=first, waits_for_person=True)
    (anew,) = bench.tell(date(2026, 2, 21))
    waits.refresh_from_db()
    assert (waits.state, waits.ended_reason[:23]) == ("withdrawn", "A report that it names ")
    assert "Serial S2" in said(anew)
    assert "Serial S1" not in said(anew)
    assert LetterAbout.objects.filter(letter=anew).count() == 1


def test_an_incomplete_test_is_told_by_its_readings(bench: Bench) -> None:
    bench.report("a", counts=True, outcome="incomplete", reasons=["relief is not recorded."])
    assert "Send the report again with all of them" in said(*bench.tell())


def test_the_last_day_is_the_rulebooks_and_one_that_has_passed_is_said(bench: Bench) -> None:
    # OAR 333-061-0072, as transcribed in the rulebook of Oregon: 10 working days after the
    # test. Tested Tuesday 2026-02-03; Presidents' Day is Monday the 16th: due on the 18th.
    shipped = (ROOT / "fixtures/rulebooks/places/oregon.toml").read_text()
    (rule,) = re.findall(r"^\[\[report\]\]\n(?:.+\n)+", shipped, re.MULTILINE)
    for row in Rulebook.objects.filter(adoptions__isnull=False):
        row.text += f"\n{rule}"
        row.sha256 = hashlib.sha256(row.text.encode()).hexdigest()
        row.save()
    rows.Program.objects.filter(pk=bench.program.pk).update(state="OR")
    bench.program.refresh_from_db()
    bench.report("a")
    text = said(*bench.tell())
    assert "February 18, 2026" in text
    assert "One has passed" in text


def test_in_two_languages_the_headline_stands_in_spanish_too(bench: Bench) -> None:
    Firm.objects.update(language="es")
    bench.report("a")
    (letter,) = bench.tell()
    assert "Un informe suyo no cuenta" in letter.content["second_headline"]


def seated(firm: Firm, role: Role) -> Client:
    person = get_user_model().objects.create_user(f"{role}-{firm.pk}", password=None)
    rows.Membership.objects.create(user_id=person.pk, role=role, firm=firm)
    client = Client()
    client.force_login(person)
    return client


def test_a_company_sees_its_own_letters_and_changes_its_own_address_only(bench: Bench) -> None:
    bench.report("a")
    bench.report("b", firm=1, of=1)
    Firm.objects.update(**WHERE)
    mine, other = bench.tell()
    client = seated(bench.firms[0], Role.DISPATCHER)
    page = client.get("/p/flats/companies/").content.decode()
    assert f"/companies/letters/{mine.pk}.pdf" in page
    assert f"/companies/letters/{other.pk}.pdf" not in page
    assert "Quill" not in page
    assert client.get(f"/p/flats/companies/letters/{mine.pk}.pdf").content[:5] == b"%PDF-"
    assert client.get(f"/p/flats/companies/letters/{other.pk}.pdf").status_code == 404
    told = {**WHERE, "address": "10 Elm Street", "language": "es", "email": "", "phone": ""}
    ours, theirs = (f"/p/flats/companies/{firm.pk}/" for firm in bench.firms)
    assert client.post(theirs, told).status_code == 404
    assert client.post(ours, told).status_code == 302
    firm = Firm.objects.get(pk=bench.firms[0].pk)
    assert (firm.address, firm.language, firm.email) == ("10 Elm Street", "es", "")
    change = rows.Change.objects.get(what="testing company")
    assert change.before["address"] == "9 Elm Street"
    assert seated(bench.firms[0], Role.TESTER).post(ours, told).status_code == 403
