"""A customer file from billing proposes; a person accepts; nothing is overwritten unseen."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from registry.changes import Hand
from registry.domain.customer_rows import read_account_state
from registry.models import (
    Assembly,
    Change,
    HazardAssessment,
    LoadBatch,
    Party,
    Premises,
    PremisesParty,
    Proposal,
    Question,
)
from registry.source_files import LoadRefusedError, SourceFile
from scheduling.actions.by_hand.proposals import accept_proposals, refuse_proposals
from scheduling.actions.opening import open_obligations
from scheduling.loading.customer_load import load_customers
from scheduling.loading.customer_report import CustomerReport
from scheduling.models import Obligation
from tests.scheduling.loading.spreadsheets import CODE, NOW, TODAY, bring, program, row, sheet

pytestmark = pytest.mark.django_db

BILLED = {
    "Acct": "1-1",
    "Customer": "Larkspur Bakery",
    "Svc Addr": "12 Larkspur Lane",
    "City": "Tamarack Flats",
    "ST": "WA",
    "Zip": "99171-0001",
    "Class": "",
    "Owner Name": "ANN FENNELGATE",
    "Mailing Address": "P.O. Box 1",
    "Mail City": "Tamarack Flats",
    "Mail ST": "WA",
    "Mail Zip": "99171",
    "E-mail": "ann@example.org",
    "Owner Phone": "",
    "Account Status": "Active",
    "Hazard": "",
    "Service": "",
}
HAND = Hand(by="T. Clerk", at=NOW, reason="Called them.")


def billed(**changes: str) -> dict[str, str]:
    return BILLED | {name.replace("_", " "): value for name, value in changes.items()}


def compare(*rows: dict[str, str], as_of: date = TODAY, dry_run: bool = False) -> CustomerReport:
    return load_customers(
        source=SourceFile(name="billing.csv", data=sheet(*rows)),
        program=program(),
        as_of=as_of,
        now=NOW,
        by="a test",
        dry_run=dry_run,
    )


def counts(report: CustomerReport) -> tuple[int, int, int, int]:
    base = report.base
    found = (base.created, report.proposed, base.unchanged, base.set_aside)
    assert sum(found) == base.rows
    return found


def waiting() -> list[tuple[str, dict[str, str], dict[str, str]]]:
    return [(one.kind, one.before, one.after) for one in Proposal.objects.filter(settled_at=None)]


def accept_all(today: date = TODAY) -> int:
    ids = Proposal.objects.filter(settled_at=None).values_list("pk", flat=True)
    settled = accept_proposals(program=program(), proposal_ids=list(ids), today=today, hand=HAND)
    assert settled.refusals == {}
    return settled.done


def test_a_file_that_says_the_same_in_other_spelling_proposes_nothing() -> None:
    bring(row())
    assert counts(compare(billed())) == (0, 0, 1, 0)
    assert waiting() == []


def test_a_new_owner_is_proposed_and_changes_nothing_by_itself() -> None:
    bring(row())
    report = compare(billed(Owner_Name="Bo Hartwell", Mailing_Address="9 Weir Ln"))
    assert report.proposals == {"new owner": 1}
    assert Party.objects.get().name == "Ann Fennelgate"
    kind, before, after = waiting()[0]
    assert (kind, before["name"], after["name"]) == ("new owner", "Ann Fennelgate", "Bo Hartwell")
    assert after["address"] == "9 Weir Ln"


def test_an_accepted_owner_restarts_the_lawful_part_of_the_ladder() -> None:
    bring(row(Last_Test="5/10/2025"))
    open_obligations(program=program(), as_of=TODAY)
    assert Obligation.objects.get(closed_on=None).lawful_since is None
    compare(billed(Owner_Name="Bo Hartwell", Mailing_Address="9 Weir Ln"))
    assert accept_all() == 1
    site = Premises.objects.get()
    now = PremisesParty.objects.get(premises=site, until_on=None)
    assert (now.party.name, now.since_on) == ("Bo Hartwell", TODAY)
    assert PremisesParty.objects.get(premises=site, until_on=TODAY).party.name == "Ann Fennelgate"
    assert Obligation.objects.get(closed_on=None).lawful_since == TODAY
    change = Change.objects.filter(what="premises").latest("pk")
    assert (change.by, change.after["owner"]) == ("T. Clerk", "Bo Hartwell")
    assert "Called them." in change.reason


def test_the_same_file_again_proposes_nothing_new_waiting_refused_or_accepted() -> None:
    bring(row())
    changed = billed(Owner_Name="Bo Hartwell", Account_Status="Final")
    assert compare(changed).proposed == 1
    assert compare(changed).proposals == {}
    assert Proposal.objects.count() == 2
    refuse_proposals(
        program=program(),
        proposal_ids=list(Proposal.objects.filter(kind="new owner").values_list("pk", flat=True)),
        hand=HAND,
    )
    accept_all()
    assert counts(compare(changed)) == (0, 0, 1, 0)
    assert Proposal.objects.count() == 2
    assert LoadBatch.objects.filter(what="customers").count() == 1


def test_addresses_and_contacts_of_one_owner_are_one_proposal_for_all_premises() -> None:
    bring(row(), row(Acct="1-2", Svc_Addr="14 Larkspur Ln", Serial="A2"))
    moved = {"Mailing_Address": "PO Box 77", "Owner_Phone": "(555) 010-0144"}
    report = compare(billed(**moved), billed(Acct="1-2", Svc_Addr="14 Larkspur Ln", **moved))
    assert report.proposals == {"changed address": 1, "changed contact": 1}
    assert accept_all() == 2
    party = Party.objects.get()
    assert (party.address, party.phone) == ("PO Box 77", "(555) 010-0144")
    assert (
        counts(compare(billed(**moved), billed(Acct="1-2", Svc_Addr="14 Larkspur Ln", **moved)))[1]
        == 0
    )
    assert bring(row(Mailing_Address="PO Box 77")).updated == 0  # its key went with it


def test_a_moved_premises_and_a_new_account_number_are_told_apart() -> None:
    bring(row(), row(Acct="1-2", Svc_Addr="14 Larkspur Ln", Serial="A2"))
    report = compare(
        billed(Svc_Addr="12-14 Larkspur Ln"),
        billed(Acct="7-7", Svc_Addr="14 Larkspur Ln"),
    )
    assert report.proposals == {"changed account": 1, "moved premises": 1}
    accept_all()
    assert {(one.account, one.address) for one in Premises.objects.all()} == {
        ("1-1", "12-14 Larkspur Ln"),
        ("7-7", "14 Larkspur Ln"),
    }
    moved = Premises.objects.get(account="1-1")
    assert moved.lat is None  # the old position is not that of another address


def test_a_closed_account_asks_what_became_of_its_assemblies_and_may_reopen() -> None:
    bring(row())
    compare(billed(Account_Status="Finaled"))
    accept_all()
    assert Premises.objects.get().account_closed_on == TODAY
    assert Question.objects.get(kind="closed account").premises == Premises.objects.get()
    assert Assembly.objects.count() == 1
    assert compare(billed(Account_Status="Open")).proposals == {"reopened account": 1}
    accept_all()
    assert Premises.objects.get().account_closed_on is None


def test_an_account_that_a_whole_file_leaves_out_is_proposed_as_closed() -> None:
    bring(row(), row(Acct="1-2", Svc_Addr="14 Larkspur Ln", Serial="A2"))
    assert compare(billed()).proposals == {"closed account": 1}
    assert Proposal.objects.get().premises.account == "1-2"


def test_what_a_part_of_a_file_leaves_out_says_nothing() -> None:
    bring(*(row(Acct=f"1-{n}", Svc_Addr=f"{n} Larkspur Ln", Serial=f"A{n}") for n in range(1, 6)))
    assert compare(billed(Svc_Addr="1 Larkspur Ln")).proposals == {}


def test_accounts_without_an_assembly_are_brought_in_with_use_hazard_and_service() -> None:
    bring(row())
    report = compare(
        billed(),
        billed(
            Acct="2-1",
            Svc_Addr="3 Slough Rd",
            Class="Car wash",
            Hazard="High",
            Service="Domestic",
            Owner_Name="Wren Wash LLC",
        ),
    )
    assert counts(report) == (1, 0, 1, 0)
    site = Premises.objects.get(account="2-1")
    assert (site.use, [one.kind for one in site.connections.all()]) == ("Car wash", ["domestic"])
    found = HazardAssessment.objects.get(premises=site)
    assert (found.assembly, found.hazard, found.assessed_on) == (None, "high", TODAY)
    assert site.roles.get().party.name == "Wren Wash LLC"
    assert not site.assemblies.exists()
    assert counts(compare(billed(), billed(Acct="2-1", Svc_Addr="3 Slough Rd")))[0] == 0


def test_without_a_column_of_owners_the_customer_is_the_holder_of_the_account() -> None:
    bring(row())
    plain = {name: value for name, value in BILLED.items() if "Owner" not in name}
    assert compare(plain).proposals == {}  # Larkspur Bakery is the name of the premises
    assert compare(plain | {"Customer": "Bo Hartwell"}).proposals == {"new owner": 1}


def test_a_later_file_overtakes_what_waits() -> None:
    bring(row())
    compare(billed(Owner_Name="Bo Hartwell"))
    compare(billed(Owner_Name="Cy Larch"))
    assert [after["name"] for _, _, after in waiting()] == ["Cy Larch"]
    compare(billed())
    assert waiting() == []
    assert set(Proposal.objects.values_list("settled_how", flat=True)) == {"overtaken"}


def test_a_proposal_whose_record_changed_meanwhile_is_not_accepted() -> None:
    bring(row())
    compare(billed(Class="Brewery"))
    Premises.objects.update(use="Bakery")
    proposal = Proposal.objects.get()
    settled = accept_proposals(
        program=program(), proposal_ids=[proposal.pk], today=TODAY, hand=HAND
    )
    assert settled.done == 0
    assert "Load the customer file again" in settled.refusals[proposal.pk]
    assert Premises.objects.get().use == "Bakery"


def test_rows_that_cannot_be_placed_are_set_aside_with_column_and_what_to_do() -> None:
    bring(row())
    report = compare(billed(), billed(Acct="", Svc_Addr=""), billed(Acct="8-8", Svc_Addr=""))
    assert counts(report) == (0, 0, 1, 2)
    assert [(f.row, f.column) for f in report.base.rejected] == [(3, "Acct"), (4, "Svc Addr")]
    batch = LoadBatch.objects.get(what="customers")
    assert batch.set_aside.count() == 2


def test_a_dry_run_writes_nothing() -> None:
    bring(row())
    before = LoadBatch.objects.count(), Premises.objects.count()
    report = compare(
        billed(Owner_Name="Bo Hartwell"), billed(Acct="9", Svc_Addr="9 Slough Rd"), dry_run=True
    )
    assert counts(report) == (1, 1, 0, 0)
    assert (LoadBatch.objects.count(), Premises.objects.count()) == before
    assert waiting() == []


def test_in_a_sheet_of_assemblies_a_plain_status_is_not_the_accounts() -> None:
    bring(row(), row(Acct="1-2", Svc_Addr="14 Larkspur Ln", Serial="A2", Status="Inactive"))
    report = compare(row(), row(Acct="1-2", Svc_Addr="14 Larkspur Ln", Serial="A2", Status="No"))
    assert report.proposals == {}
    assert report.base.columns["Status"] is None


def test_a_file_without_accounts_and_addresses_is_refused() -> None:
    bring(row())
    with pytest.raises(LoadRefusedError, match="no customer file"):
        compare({"Colour": "red"})


@pytest.mark.parametrize(
    ("said", "closed"),
    [("Closed", True), ("FINAL-BILLED", True), ("active", False), ("", None), ("mauve", None)],
)
def test_the_state_of_an_account_is_read_in_billings_words(said: str, closed: bool | None) -> None:
    assert read_account_state(said).value is closed


def said_by(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, Any]:
    code = 0
    try:
        call_command("load_customers", *args, "--json")
    except SystemExit as end:
        code = int(end.code or 0)
    return code, json.loads(capsys.readouterr().out)


def test_the_command_answers_as_every_load_does(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bring(row())
    file = tmp_path / "billing.csv"
    file.write_bytes(sheet(billed(Owner_Name="Bo Hartwell"), billed(Acct="", Svc_Addr="")))
    args = (str(file), "--program", CODE, "--as-of", TODAY.isoformat())
    code, said = said_by(capsys, *args)
    assert code == 1
    assert said["rows"] == said["created"] + said["proposed"] + said["unchanged"] + 1
    assert said["proposals"] == {"new owner": 1}
    assert said["columns"]["Owner Name"] == "owner_name"
    assert set(said["rejected"][0]) == {"row", "column", "value", "message"}
    assert said_by(capsys, str(file), "--program", "nowhere")[0] == 2
    assert said_by(capsys, str(tmp_path / "none.csv"), "--program", CODE)[0] == 2
