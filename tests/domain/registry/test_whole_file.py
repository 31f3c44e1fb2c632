"""What only the whole file can show."""

from datetime import date

from registry.domain.header_synonyms import REGISTRY_HEADERS
from registry.domain.headers import recognise
from registry.domain.kinds import DateOrder
from registry.domain.row_reading import read_row
from registry.domain.whole_file import CheckedRows, check_whole_file

HEADERS = ("Acct", "Svc Addr", "City", "Owner Name", "Mailing Address", "Type", "Make", "Serial",
           "Size", "Install Date", "Last Test")  # fmt: skip
GOOD = ("1-1", "5 Elm St", "Alder", "Ann", "PO Box 1", "RP", "Northfork", "A1", "1", "1/2/2020",
        "1/2/2026")  # fmt: skip


def checked(*rows: dict[str, str]) -> CheckedRows:
    columns = recognise(headers=HEADERS, synonyms=REGISTRY_HEADERS, saved={})
    read = [
        read_row(
            row=number,
            cells=dict(zip(HEADERS, GOOD, strict=True)) | changes,
            columns=columns,
            order=DateOrder.MONTH_FIRST,
            as_of=date(2026, 11, 25),
        )
        for number, changes in enumerate(rows, start=2)
    ]
    return check_whole_file(rows=read, columns=columns)


def faults(found: CheckedRows) -> list[tuple[int, str | None, str | None]]:
    return [(f.row, f.column, f.value) for row in found.rows for f in row.faults]


def test_an_address_is_taken_from_another_row_of_the_account() -> None:
    found = checked({}, {"Svc Addr": "", "Serial": "A2"}, {"Acct": "2-2", "Serial": "A3"})
    assert faults(found) == []
    assert found.rows[1].site.address == "5 Elm St"


def test_an_address_told_later_in_the_file_counts_as_well() -> None:
    found = checked({"Svc Addr": "", "Serial": "A2"}, {})
    assert found.rows[0].site.address == "5 Elm St"


def test_of_several_addresses_of_an_account_the_first_is_taken_and_told() -> None:
    found = checked({}, {"Svc Addr": "9 Oak Rd", "Serial": "A2"}, {"Svc Addr": "", "Serial": "A3"})
    assert found.rows[2].site.address == "5 Elm St"
    assert [(w.row, w.column) for w in found.rows[2].warnings] == [(4, "Svc Addr")]


def test_no_address_on_any_row_of_the_account_sets_the_row_aside() -> None:
    found = checked({"Acct": "9", "Svc Addr": " "}, {"Acct": "", "Svc Addr": "", "Serial": "A2"})
    assert faults(found) == [(2, "Svc Addr", " "), (3, "Svc Addr", "")]
    assert found.landing == ()


def test_a_mailing_address_is_taken_from_another_row_of_the_same_owner() -> None:
    found = checked({}, {"Mailing Address": "", "Serial": "A2"})
    assert found.rows[1].owner.address == "PO Box 1"


def test_identical_rows_are_one() -> None:
    found = checked({}, {}, {"Type": "RPZ", "Size": '1"', "Last Test": "2026-01-02"})
    assert faults(found) == []
    assert found.twins == {3: 2, 4: 2}
    assert [row.row for row in found.landing] == [2]


def test_the_second_of_two_differing_rows_with_one_maker_and_serial_is_set_aside() -> None:
    found = checked({}, {"Size": "2"}, {"Serial": "a1 ", "Make": "NORTHFORK", "Acct": "3"})
    assert faults(found) == [(3, "Serial", "A1"), (4, "Serial", "a1 ")]
    assert [row.row for row in found.landing] == [2]


def test_one_serial_under_two_makers_is_two_assemblies_and_told() -> None:
    found = checked({}, {"Make": "Castlewell"})
    assert faults(found) == []
    assert [row.row for row in found.landing] == [2, 3]
    assert [(w.row, w.column, w.value) for w in found.rows[1].warnings] == [(3, "Serial", "A1")]


def test_rows_without_a_serial_are_never_twins() -> None:
    found = checked({"Serial": ""}, {"Serial": ""}, {"Serial": "n/a"}, {"Serial": "illegible"})
    assert len(found.landing) == 4


def test_every_fault_of_a_row_is_told_at_once() -> None:
    found = checked(
        {"Type": "??", "Size": "big", "Install Date": "13/45/2020", "Last Test": "2031-01-01",
         "Acct": "", "Svc Addr": ""}
    )  # fmt: skip
    assert [column for _, column, _ in faults(found)] == [
        "Size", "Type", "Install Date", "Last Test", "Svc Addr",
    ]  # fmt: skip


def test_a_test_before_the_installation_lands_and_is_told() -> None:
    found = checked({"Last Test": "1/1/2020"})
    assert len(found.landing) == 1
    assert [warning.column for warning in found.rows[0].warnings] == ["Last Test"]
