"""A person is erased for good: nothing of them is left in the database, and every seal holds."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, date, datetime
from io import BytesIO, StringIO
from typing import Any

import pytest
from django.apps import apps
from django.contrib.auth import get_user_model
from django.core.management import call_command
from django.test import Client
from pypdf import PdfReader

from notices.actions.day import run_day
from notices.models import Contact, Letter, LetterFile, Objection
from registry import models as rows
from registry.changes import Hand, record_change
from registry.console import Refused
from registry.domain.kinds import Role
from reports.domain.blackening import BAR, Blackener
from reports.erasing.acting import erase, shown
from reports.erasing.people import PARTY, TESTER, USER, people_named, person_of
from reports.evidence.checking import checked
from reports.evidence.pages import drawn
from reports.evidence.sealing import sealed
from reports.evidence.telling import Case as EvidenceCase
from reports.evidence.telling import letters_of, story_of
from reports.ledger.checking import differences
from reports.ledger.erased import Erased
from reports.ledger.sealing import head_of, seal
from tests.notices.offices import START, assembly, happened, office, owner, premises

pytestmark = [pytest.mark.django_db, pytest.mark.database]
AT = datetime(2026, 1, 6, 3, tzinfo=UTC)
NOW = datetime(2027, 6, 1, 17, tzinfo=UTC)
NAME = "José Quillfeather"
SECRET = ("Quillfeather", "jose@quill.example", "(555) 010-0177", "77 Hidden Hollow")
HAND = Hand(by="Ada Birch", at=AT, reason="asked by letter of January 4")
OVERDUE = (("passed", date(2023, 12, 1)), ("passed", date(2024, 12, 1)))


@dataclass
class Case:
    """An owner who got a letter, spoke with the office and objected; all of it sealed."""

    program: rows.Program
    party: rows.Party
    site: rows.Premises

    def person(self) -> Any:
        return person_of(self.program, what=PARTY, pk=self.party.pk)

    def close(self) -> None:
        """The test is done, and somebody else owns the place."""
        happened(rows.Assembly.objects.get(), (("passed", date(2026, 1, 5)),), as_of=START)
        rows.PremisesParty.objects.filter(party=self.party).update(until_on=date(2026, 1, 5))

    def erase(self, *, forced: bool = False, typed: str = NAME, hand: Hand = HAND) -> rows.Erasure:
        return erase(
            self.person(), program=self.program, typed=typed, is_forced=forced, hand=hand,
            today=date(2026, 1, 6), also=["Quillfeather"],
        )  # fmt: skip


@pytest.fixture
def case() -> Case:
    program = office()
    party = owner(program, NAME, email="jose@quill.example", phone="(555) 010-0177",
                  address="77 Hidden Hollow")  # fmt: skip
    site = premises(program, of=party, name=f"House of {NAME}")
    assembly(site, facts=OVERDUE)
    run_day(program=program, as_of=START, now=NOW)
    Contact.objects.create(
        program=program, premises=site, kind="call", on=START, spoken_with=NAME,
        words="jose  QUILLFEATHER\u2019s brother calls back, so Quillfeather", taken_by="Ada",
        taken_at=AT, form_key="k",
    )  # fmt: skip
    Objection.objects.create(
        program=program, premises=site, kind="objection", raised_on=START, raised_by=NAME,
        words="It is not mine.", taken_by="Ada", taken_at=AT, review_on=START,
        decided_on=START, decided_at=AT, decided_by="Ada", outcome="rejected", decision=f"{NAME}!",
    )  # fmt: skip
    record_change(
        hand=HAND, what="party", subject_id=party.pk, label=NAME, before={"phone": "1"},
        after={"phone": party.phone, "name": NAME}, program=program,
    )  # fmt: skip
    batch = rows.LoadBatch.objects.create(program=program, what="registry", as_of=START, at=AT)
    rows.SetAsideRow.objects.create(batch=batch, row=2, cells=["x", NAME], faults=[])
    seal(program, on=START, at=AT)
    return Case(program, party, site)


def everything() -> str:
    """All that stands in the database, as text: fields of every row, bytes as they are."""
    found: list[str] = []
    for app in ("registry", "scheduling", "notices", "reports", "auth"):
        for model in apps.get_app_config(app).get_models():
            rows_of = model._base_manager.values()
            found += [json.dumps(row, default=str, ensure_ascii=False) for row in rows_of]
    return "\n".join(found)


def test_nothing_of_the_person_is_left_and_every_seal_holds(case: Case) -> None:
    head = head_of(case.program)
    letter = Letter.objects.get()
    before = letter.file.sha256
    assert all(one in everything() for one in SECRET)
    case.close()
    done = case.erase()
    left = everything()
    assert [one for one in SECRET if one.lower() in left.lower()] == []
    letter.refresh_from_db()
    file = LetterFile.objects.get(pk=letter.pk)
    assert (bytes(file.pdf), file.sha256, letter.recipient) == (b"", before, None)
    assert letter.address_lines == ["Erased"]
    assert (done.letters, done.was_forced) == ([letter.pk], False)
    assert list(differences(case.program, head=head)) == []
    (said,) = Erased(case.program).told()
    assert said.startswith(
        f"Party {case.party.pk} was erased on 2026-01-06 by Ada Birch: asked by letter of January 4"
    )
    seal(case.program, on=date(2026, 1, 7), at=AT)
    assert list(differences(case.program, head=head)) == []


def test_an_erasure_that_is_changed_afterwards_is_named(case: Case) -> None:
    case.close()
    done = case.erase()
    seal(case.program, on=date(2026, 1, 7), at=AT)
    rows.Erasure.objects.filter(pk=done.pk).update(letters=[], reason="another")
    said = " ".join(differences(case.program))
    assert "Erasure" in said
    assert "its kept bytes are not those that were sent" in said
    assert "the personal data were changed" in said


def test_while_something_is_open_it_is_refused_unless_forced(case: Case) -> None:
    with pytest.raises(Refused, match="obligations open there: 1"):
        case.erase()
    assert rows.Party.objects.get(pk=case.party.pk).name == NAME
    done = case.erase(forced=True)
    assert done.was_forced
    assert "is owner of 230 Larch Court as recorded" in done.open_matters
    assert not rows.PremisesParty.objects.filter(party=case.party, until_on=None).exists()


def test_a_letter_that_has_not_left_is_withdrawn_and_goes_to_whoever_is_there(case: Case) -> None:
    Letter.objects.update(state="composed", left_on=None)
    case.erase(forced=True)
    assert Letter.objects.get().state == "withdrawn"


@pytest.mark.parametrize(
    ("typed", "reason", "words"),
    [("Jose", "asked", "not the name"), (NAME, "  ", "Say why")],
)
def test_the_name_is_typed_and_a_reason_given(
    case: Case, typed: str, reason: str, words: str
) -> None:
    case.close()
    with pytest.raises(Refused, match=words):
        case.erase(typed=typed, hand=Hand(by="Ada", at=AT, reason=reason))


def test_looking_at_what_goes_changes_nothing(case: Case) -> None:
    was = everything()
    goes = shown(case.person(), program=case.program, today=START)
    assert (goes["letters"], goes["contacts"], goes["objections"], goes["party"]) == (1, 1, 1, 1)
    assert everything() == was


def test_one_who_was_erased_is_found_no_more(case: Case) -> None:
    assert [one.name for one in people_named(case.program, words="quillf")] == [NAME]
    case.erase(forced=True)
    assert people_named(case.program, words="Erased") == []
    assert case.person() is None


def test_of_many_called_alike_one_is_found_by_the_address(case: Case, client: Client) -> None:
    for number in range(21):
        rows.Party.objects.create(
            program=case.program,
            key=f"w{number}",
            name="Weir <Holdings>",
            address=f"PO Box {300 + number}",
        )
    user = get_user_model().objects.create_user("head")
    rows.Membership.objects.create(user=user, role="administrator", program=case.program)
    client.force_login(user)
    address = f"/p/{case.program.code}/erase/"
    many = client.get(address, {"q": "weir"}).content.decode()
    assert "No more than 20 of each kind are shown." in many
    assert "PO Box 320" not in many
    one = client.get(address, {"q": "Box 320"}).content.decode()
    assert "PO Box 320" in one
    assert "No more than" not in one


def test_a_tester_loses_name_and_days_and_keeps_the_certificate(case: Case) -> None:
    firm = rows.Firm.objects.create(name="Stillbrook", key="stillbrook")
    tester = rows.Tester.objects.create(
        firm=firm, certificate="T-7", name="R. Odom", hours={"0": []}
    )
    approval = rows.Approval.objects.create(
        program=case.program, firm=firm, tester=tester, valid_from=START
    )
    person = person_of(case.program, what=TESTER, pk=tester.pk)
    assert person is not None
    told: Any = {
        "typed": "R. Odom",
        "hand": HAND,
        "today": date(2026, 1, 6),
        "program": case.program,
    }
    with pytest.raises(Refused, match="end the acceptance first"):
        erase(person, is_forced=False, **told)
    rows.Approval.objects.filter(pk=approval.pk).update(valid_to=date(2026, 1, 4))
    erase(person, is_forced=False, **told)
    tester.refresh_from_db()
    assert (tester.name, tester.hours, tester.certificate) == ("", {}, "T-7")


def client_of(program: rows.Program, name: str, role: Role = Role.ADMINISTRATOR) -> Client:
    user = get_user_model().objects.create_user(name, password=None, last_name=name.title())
    rows.Membership.objects.create(user=user, role=role, program=program)
    client = Client()
    client.force_login(user)
    return client


def test_on_the_page_the_administrator_erases_a_user_and_never_themselves(case: Case) -> None:
    client = client_of(case.program, "ada")
    clerk = client_of(case.program, "berta", Role.CLERK)
    users = {one.username: one for one in get_user_model().objects.all()}
    found = client.get("/p/flats/erase/?q=berta").content.decode()
    where = f"/p/flats/erase/{USER}/{users['berta'].pk}/"
    assert where in found
    assert clerk.get(where).status_code == 403
    assert "Who signed, released" in client.get(where).content.decode()
    told = {"typed": "berta", "reason": "left the office"}
    assert client.post(where, told).status_code == 302
    gone = get_user_model().objects.get(pk=users["berta"].pk)
    assert (gone.username, gone.last_name, gone.is_active) == (f"erased-{gone.pk}", "", False)
    assert clerk.get("/p/flats/").status_code in (302, 404)
    mine = f"/p/flats/erase/{USER}/{users['ada'].pk}/"
    page = client.post(mine, {"typed": "ada", "reason": "x"}).content.decode()
    assert "You cannot erase yourself" in page


def answered(*args: str) -> tuple[int, Any]:
    said, code = StringIO(), 0
    try:
        call_command("erase_person", *args, "--json", stdout=said, stderr=StringIO())
    except SystemExit as ended:
        code = int(ended.code or 0)
    return code, json.loads(said.getvalue())


def test_the_command_shows_then_erases_and_refuses_without_a_name(case: Case) -> None:
    who = ("party", str(case.party.pk), "--program", "flats")
    code, said = answered(*who)
    assert (code, said["erased"], said["rows"]["letters"]) == (0, False, 1)
    assert any("obligations open" in one for one in said["open"])
    assert answered(*who, "--name", NAME, "--reason", "asked", "--by", "Ada")[0] == 2
    told = ("--name", NAME, "--reason", "asked", "--by", "Ada", "--force")
    code, said = answered(*who, *told)
    assert (code, said["erased"], said["letters"]) == (0, True, 1)
    assert answered(*who, *told)[0] == 2


def test_mentions_are_barred_whole_in_any_case_and_nothing_else() -> None:
    black = Blackener(["Ada Birch", "ada@birch.example", "Bo", "José Peña"])
    assert black.text("«JOSE  Pena», josé") == f"«{BAR}», josé"
    assert black.text("ADA  birch (ada@birch.example) met Adair Birchwood and Bo.") == (
        f"{BAR} ({BAR}) met Adair Birchwood and Bo."
    )
    assert black.value({"Ada Birch": ["Ada Birch", 3, None]}) == {"Ada Birch": [BAR, 3, None]}


def test_an_evidence_file_made_afterwards_tells_the_letter_and_attaches_nothing(case: Case) -> None:
    sha256 = Letter.objects.get().file.sha256
    case.close()
    case.erase()
    site = rows.Premises.objects.select_related("program").get()
    evidence = EvidenceCase(premises=site)
    story = story_of(evidence, as_of=date(2026, 1, 7), hand=HAND)
    (told,) = story.letters
    assert (told.file, told.sha256, told.to) == ("", sha256, ("Erased",))
    attached = letters_of(story, premises=site)
    assert attached == {}
    made = sealed(drawn(story), story=story, letters=attached)
    assert checked(made).faults == []
    pages = " ".join(page.extract_text() for page in PdfReader(BytesIO(made)).pages)
    assert "was erased, and its bytes with them" in " ".join(pages.split())
    assert "Quillfeather" not in pages
