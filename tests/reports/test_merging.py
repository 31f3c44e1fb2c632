"""Two rows that are one: merged field by field, still found by the old name, undone for a month."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.core import serializers
from django.core.management import call_command
from django.test import Client

from notices.actions.day import run_day
from notices.models import Letter, LetterNotice, Notice
from notices.queries.left_rungs import left_rungs_of
from registry.access import visible_assemblies
from registry.changes import Hand
from registry.models import (
    Alias,
    Assembly,
    Change,
    HazardAssessment,
    Merge,
    Party,
    PremisesParty,
    Program,
)
from reports.merging.assemblies import merge_assemblies
from reports.merging.lookalikes import alike_assemblies, alike_parties
from reports.merging.parties import merge_parties
from reports.merging.undoing import undo_merge
from reports.queries.registry_list import search_q
from reports.queries.serials import AssembliesBySerial
from scheduling.actions.by_hand.rows import RefusedChangeError
from scheduling.domain.facts import FactKind
from scheduling.models import AssemblyState, Fact, Obligation
from tests.access.addresses import address
from tests.access.cast import made_cast
from tests.access.test_matrix import BACKEND
from tests.notices.offices import START, assembly, happened, office, owner, premises
from tests.scheduling.loading import spreadsheets as sheets
from tests.scheduling.loading.test_customers import billed, compare

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 1, 5, 20, tzinfo=UTC)
HAND = Hand(by="T. Clerk", at=NOW, reason="Same plate.")
PASSED, FAILED = FactKind.PASSED, FactKind.FAILED


def as_kept(*models: Any) -> dict[str, Any]:
    """Every row of these models as it stands, but for when it was last worked out.

    The next day to look at an obligation is set early by a replay and by the next run anew.
    """
    found = {}
    for model in models:
        rows = json.loads(serializers.serialize("json", model.objects.order_by("pk")))
        for row in rows:
            for name in ("updated_at", "replayed_at", "next_action_on"):
                row["fields"].pop(name, None)
        found[model.__name__] = rows
    return found


def two_assemblies(**of_gone: Any) -> tuple[Program, Assembly, Assembly]:
    """One assembly entered twice: under S1 with an old pass, under 51 with a later one."""
    program = office()
    place = premises(program, of=owner(program))
    kept = assembly(place, "S1", facts=[(PASSED, date(2024, 9, 4))], maker="Northfork")
    gone = assembly(place, "51", facts=[(PASSED, date(2025, 6, 1))], maker="Northfork", **of_gone)
    return program, kept, gone


def merged(kept: Assembly, gone: Assembly, *take: str, today: date = START) -> Merge:
    return merge_assemblies(
        program=kept.program,
        kept_id=kept.pk,
        gone_id=gone.pk,
        from_gone=frozenset(take),
        today=today,
        hand=HAND,
    )


def undone(merge: Merge, *, today: date = START) -> None:
    undo_merge(merge=merge, today=today, hand=HAND)


def test_facts_of_both_assemblies_are_replayed_as_one() -> None:
    # S1 alone is overdue since 2025-09-04; the pass of 2025-06-01 under 51 makes the next due
    # 2026-06-01.
    _, kept, gone = two_assemblies()
    assert AssemblyState.objects.get(assembly=kept).due_on == date(2025, 9, 4)
    merged(kept, gone)
    assert not Assembly.objects.filter(serial="51").exists()
    assert Fact.objects.filter(assembly=kept).count() == 2
    assert AssemblyState.objects.get().due_on == date(2026, 6, 1)
    change = Change.objects.get(what="assembly")
    assert (change.by, change.reason, change.after["merged"]) == (
        "T. Clerk",
        "Same plate.",
        "51, DC",
    )


def test_a_person_chooses_per_field_and_the_other_number_still_finds_it() -> None:
    program, kept, gone = two_assemblies(location="boiler room", hazard="high")
    merged(kept, gone, "serial", "location", "hazard")
    kept.refresh_from_db()
    assert (kept.serial, kept.location, kept.hazard) == ("51", "boiler room", "high")
    assert kept.serial_key == "51"
    last = HazardAssessment.objects.filter(assembly=kept).order_by("assessed_on", "pk").last()
    assert last is not None
    assert last.hazard == "high"
    alias = Alias.objects.get()
    assert (alias.shown, alias.maker, alias.assembly) == ("S1", "Northfork", kept)
    found = visible_assemblies(_administrator(program)).filter(search_q("S1"))
    assert list(found) == [kept]


def _administrator(program: Program) -> Any:
    from django.contrib.auth import get_user_model

    from registry.models import Membership

    user = get_user_model().objects.create_user("admin", password=None)
    Membership.objects.create(user=user, role="administrator", program=program)
    return user


def test_reports_explain_and_loads_find_the_old_number(
    capsys: pytest.CaptureFixture[str],
) -> None:
    program, kept, gone = two_assemblies()
    merged(kept, gone)
    known = AssembliesBySerial(program=program, keys=["51"])._found["51"]
    assert [record.assembly_id for _, record in known] == [kept.pk]
    call_command("explain", "51", "--program", "flats", "--as-of", "2026-01-05", "--json")
    assert json.loads(capsys.readouterr().out)["assembly"] == "S1"


def test_letters_that_left_count_on_and_none_goes_twice() -> None:
    # Both entries were overdue alike; the first run wrote for each. Merged, the ladder goes on
    # from what left: no first overdue letter again.
    program = office()
    place = premises(program, of=owner(program))
    facts = [(PASSED, date(2024, 9, 4))]
    kept, gone = assembly(place, "S1", facts=facts), assembly(place, "51", facts=facts)
    run_day(program=program, as_of=START, now=NOW)
    assert Notice.objects.count() == 2
    merged(kept, gone)
    assert Notice.objects.filter(assembly=kept, obligation__assembly=kept).count() == 2
    left = left_rungs_of(assembly=kept, as_of=START)
    assert {rung.rung for rungs in left.values() for rung in rungs} == {"first-overdue"}
    later = START + timedelta(days=1)
    assert run_day(program=program, as_of=later, now=NOW).notices == 0


def test_a_merge_undone_leaves_everything_as_it_was() -> None:
    program = office()
    place = premises(program, of=owner(program))
    kept = assembly(place, "S1", facts=[(PASSED, date(2024, 9, 4))])
    gone = assembly(place, "51", facts=[(PASSED, date(2024, 8, 1)), (FAILED, date(2025, 12, 1))])
    run_day(program=program, as_of=START, now=NOW)
    tables = (Assembly, Fact, Obligation, AssemblyState, Notice, HazardAssessment, LetterNotice)
    before = as_kept(*tables)
    merge = merged(kept, gone, "serial", "hazard")
    assert as_kept(*tables) != before
    undone(merge, today=START)
    assert as_kept(*tables) == before
    assert not Alias.objects.exists()
    merge.refresh_from_db()
    assert merge.undone_by == "T. Clerk"


def test_an_undo_names_what_was_touched_since_and_changes_nothing() -> None:
    _, kept, gone = two_assemblies()
    merge = merged(kept, gone)
    happened(kept, [(FAILED, date(2026, 1, 4))], as_of=START)
    Assembly.objects.update(location="roof")
    with pytest.raises(RefusedChangeError) as refusal:
        undone(merge)
    assert "fact failed on 2026-01-04: new" in refusal.value.message
    assert "location: changed" in refusal.value.message
    assert Assembly.objects.count() == 1


def test_an_undo_is_refused_after_thirty_days_and_a_second_time() -> None:
    _, kept, gone = two_assemblies()
    merge = merged(kept, gone)
    with pytest.raises(RefusedChangeError, match="within 30 days"):
        undone(merge, today=START + timedelta(days=31))
    undone(merge, today=START + timedelta(days=30))
    with pytest.raises(RefusedChangeError, match="once"):
        undone(merge)


def test_an_undo_waits_for_that_of_a_later_merge() -> None:
    program, kept, gone = two_assemblies()
    third = assembly(premises(program, 231, of=None), "S1X")
    first = merged(kept, gone)
    second = merged(third, kept)
    assert set(Alias.objects.values_list("shown", flat=True)) == {"S1", "51"}
    with pytest.raises(RefusedChangeError, match="merged again since"):
        undone(first)
    undone(second)
    undone(first)
    assert Assembly.objects.count() == 3


def two_parties() -> tuple[Program, Party, Party]:
    program = office()
    kept = owner(program, "Larch Court Apartments", email="")
    gone = owner(program, "Larch Court Apts", email="larch@example.org", phone="(555) 010-0142")
    assembly(premises(program, 230, of=kept), "S1", facts=[(PASSED, date(2024, 9, 4))])
    assembly(premises(program, 231, of=gone), "S2", facts=[(PASSED, date(2024, 9, 4))])
    return program, kept, gone


def merged_parties(kept: Party, gone: Party, *take: str) -> Merge:
    return merge_parties(
        program=kept.program,
        kept_id=kept.pk,
        gone_id=gone.pk,
        from_gone=frozenset(take),
        today=START,
        hand=HAND,
    )


def test_roles_and_letters_of_both_parties_are_of_one() -> None:
    program, kept, gone = two_parties()
    run_day(program=program, as_of=START, now=NOW)
    printed = {letter.pk: letter.address_lines for letter in Letter.objects.all()}
    merged_parties(kept, gone, "email", "phone")
    kept.refresh_from_db()
    assert (kept.name, kept.email) == ("Larch Court Apartments", "larch@example.org")
    assert PremisesParty.objects.filter(party=kept, until_on=None).count() == 2
    assert set(Letter.objects.values_list("recipient", "recipient_key")) == {
        (kept.pk, f"party:{kept.pk}")
    }
    assert {letter.pk: letter.address_lines for letter in Letter.objects.all()} == printed
    found = Assembly.objects.filter(search_q("Apts"))
    assert {one.serial for one in found} == {"S1", "S2"}


def test_merged_parties_are_parted_again_as_they_were() -> None:
    program, kept, gone = two_parties()
    run_day(program=program, as_of=START, now=NOW)
    tables = (Party, PremisesParty, Letter, LetterNotice)
    before = as_kept(*tables)
    merge = merged_parties(kept, gone, "name", "email")
    assert as_kept(*tables) != before
    undone(merge)
    assert as_kept(*tables) == before


def test_an_owner_merged_is_no_new_owner_when_a_sheet_or_billing_writes_the_old_name() -> None:
    sheets.bring(sheets.row(), sheets.row(Acct="1-2", Svc_Addr="14 Larkspur Ln", Serial="A2",
                                          Owner_Name="Anne Fennelgate"))  # fmt: skip
    kept, gone = (
        Party.objects.get(name="Ann Fennelgate"),
        Party.objects.get(name__startswith="Anne"),
    )
    merge_parties(
        program=sheets.program(), kept_id=kept.pk, gone_id=gone.pk, from_gone=frozenset(),
        today=sheets.TODAY, hand=HAND,
    )  # fmt: skip
    again = sheets.bring(
        sheets.row(),
        sheets.row(
            Acct="1-2", Svc_Addr="14 Larkspur Ln", Serial="A2", Owner_Name="Anne Fennelgate"
        ),
    )
    assert sheets.counts(again) == (0, 0, 2, 0)
    assert Party.objects.count() == 1
    report = compare(
        billed(), billed(Acct="1-2", Svc_Addr="14 Larkspur Ln", Owner_Name="Anne Fennelgate")
    )
    assert report.proposals == {}


def test_a_sheet_that_names_the_old_serial_makes_no_second_assembly() -> None:
    sheets.bring(sheets.row(), sheets.row(Serial="A7", Last_Test="1/1/2025"))
    kept, gone = sheets.only_assembly("A1"), sheets.only_assembly("A7")
    merged(kept, gone, today=sheets.TODAY)
    before = sheets.live_facts("A1")
    report = sheets.bring(sheets.row(), sheets.row(Serial="A7", Last_Test="1/1/2025"))
    assert sheets.counts(report) == (0, 0, 2, 0)
    assert "known as A1" in report.warnings[-1].message
    assert Assembly.objects.count() == 1
    assert sheets.live_facts("A1") == before


def test_a_third_party_of_the_resulting_name_is_told() -> None:
    program, kept, gone = two_parties()
    sheet_key = {"name": "Larch Court Apts", "address": kept.address, "city": kept.city,
                 "state": kept.state, "zip": kept.zip}  # fmt: skip
    from registry.domain.identity import party_key

    key = party_key(**{**{k: v for k, v in sheet_key.items() if k != "zip"}, "zip_code": kept.zip})
    Party.objects.create(program=program, key=key, **sheet_key)
    with pytest.raises(RefusedChangeError, match="A third party"):
        merged_parties(kept, gone, "name")
    assert Party.objects.count() == 3


def test_parties_alike_are_listed_with_the_reason() -> None:
    program = office()
    for number, (name, more) in enumerate(
        [
            ("Larch Court Apartments", {}),
            ("Larch Court Apartments LLC", {}),  # same address, near name
            ("Weir Lane Dental", {}),  # same address, another name
            ("Bo Hartwell", {"address": "1 Weir Ln", "phone": "555-010-0142"}),
            ("B. Hartwell", {"address": "2 Weir Ln", "phone": "(555) 010 0142"}),
            ("Cy Marl", {"address": "3 Weir Ln", "email": "Cy@example.org"}),
            ("Cyrus Marl", {"address": "4 Weir Ln", "email": "cy@example.org"}),
        ]
    ):
        owner(program, name, key=str(number), **more)
    assert {(a.one_label, a.other_label, a.why) for a in alike_parties(program)} == {
        ("Larch Court Apartments", "Larch Court Apartments LLC", "same address, near name"),
        ("Bo Hartwell", "B. Hartwell", "same telephone"),
        ("Cy Marl", "Cyrus Marl", "same e-mail"),
    }


def test_the_nearest_names_come_first_however_many_share_an_e_mail() -> None:
    program = office()
    for number in range(24):  # two managers' addresses, 132 pairs of unlike names
        owner(
            program, chr(97 + number) * 9, key=f"m{number}", address=f"{number} Weir Ln",
            email=f"manager{number % 2}@example.org",
        )  # fmt: skip
    for name in ("Larch Court Apartments", "Larch Court Apartments LLC"):
        owner(program, name, key=name, phone="555-010-0142")
    found = alike_parties(program)
    assert len(found) == 100
    assert (found[0].one_label, found[0].why) == (
        "Larch Court Apartments",
        "same telephone; same address, near name",
    )


def test_assemblies_alike_are_listed_and_a_run_of_numbers_is_not() -> None:
    program = office()
    place = premises(program, of=None)
    for serial, maker in [
        ("B1047O", "Northfork"),
        ("B10470", "Northfork"),
        ("C20001", "Northfork"),
        ("C20002", "Northfork"),
        ("D9", ""),
        ("D9", "Northfork"),
    ]:
        assembly(place, serial, maker=maker, maker_key=maker.lower())
    assert {(a.one_label, a.other_label) for a in alike_assemblies(program)} == {
        ("B1047O", "B10470"),
        ("D9", "D9"),
    }


def test_the_pages_show_both_side_by_side_merge_them_and_part_them(client: Client) -> None:
    cast = made_cast()
    home = cast.home
    client.force_login(cast.people["clerk"], backend=BACKEND)  # type: ignore[arg-type]
    other = Party.objects.create(
        program=home.program, name="Larch Crt", key="x", email="larch@example.org"
    )
    where = address("merge-parties", home)
    pair = {"kept": home.party.pk, "gone": other.pk}
    page = client.get(where, pair).content.decode()
    assert "Larch Court" in page
    assert "larch@example.org" in page
    client.post(where, {**pair, "take_email": "gone", "reason": "One firm."})
    home.party.refresh_from_db()
    assert home.party.email == "larch@example.org"
    merge = Merge.objects.get(gone_label="Larch Crt", by="clerk")
    undo = f"{address('merges', home)}{merge.pk}/undo/"
    assert "are two again" in client.post(undo, follow=True).content.decode()
    assert Party.objects.filter(pk=other.pk).exists()


def test_rows_of_another_program_cannot_be_merged(client: Client) -> None:
    cast = made_cast()
    client.force_login(cast.people["administrator"], backend=BACKEND)  # type: ignore[arg-type]
    pair = {"kept": cast.home.party.pk, "gone": cast.other.party.pk}
    assert client.get(address("merge-parties", cast.home), pair).status_code == 404
    assert client.post(address("merge-parties", cast.home), pair).status_code == 404
    both = {"kept": cast.home.ids["assembly"], "gone": cast.other.ids["assembly"]}
    assert client.post(address("merge-assemblies", cast.home), both).status_code == 404
    assert Party.objects.count() == 2
