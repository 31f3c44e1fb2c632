"""Files as they should not be: each is read row by row or refused with a sentence."""

import io
from datetime import date, datetime

import pytest
import xlsxwriter

from registry.domain.kinds import Hazard
from registry.models import Assembly, LoadBatch, Premises, Program, SetAsideRow
from registry.source_files import LoadRefusedError
from tests.scheduling.loading.spreadsheets import (
    ROW,
    bring,
    bring_bytes,
    counts,
    live_facts,
    only_assembly,
    row,
    sheet,
    told,
)

pytestmark = pytest.mark.django_db

TEXT = sheet(row(), row(Serial="A2")).decode()


@pytest.mark.parametrize(
    "data",
    [
        TEXT.encode(), TEXT.encode("utf-8-sig"), TEXT.encode("cp1252"),
        TEXT.replace("\r\n", "\r").encode(), TEXT.replace("\r\n", "\n").encode(),
        TEXT.replace("\r\n", "\r\n\r\n").encode(), TEXT.rstrip().encode(),
        sheet(row(), row(Serial="A2"), delimiter=";"),
        sheet(row(), row(Serial="A2"), delimiter="\t"),
        b"sep=;\r\n" + sheet(row(), row(Serial="A2"), delimiter=";"),
        (TEXT + "," * (len(ROW) - 1) + "\r\n" * 3).encode(),
        TEXT.replace("Acct,", ' "Acct" ,').replace(' "Acct" ', "Acct ").encode(),
    ],
    ids=["utf-8", "with BOM", "cp1252", "lone CR", "LF", "blank lines", "no last line end",
         "semicolons", "tabs", "declared separator", "empty rows at the end", "blank in a header"],
)  # fmt: skip
def test_the_same_rows_in_every_dress_are_the_same_rows(data: bytes) -> None:
    assert counts(bring_bytes(data)) == (2, 0, 0, 0)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "empty"), (b"\xef\xbb\xbf", "empty"), (b"\r\n\r\n", "empty"), (b"\x00\x00", "empty"),
        (TEXT.encode("utf-16"), "UTF-16"), (TEXT.encode("utf-16-le"), "UTF-16"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\x01" * 600, "xls"),
        (b"%PDF-1.7\nx,y\n", "no spreadsheet"),
        (b"PK\x03\x04 not really", "damaged"), (b"colour,shape\nred,round\n", "no registry"),
        (TEXT.encode() + b"caf\x81\xff,x\r\n", "neither UTF-8 nor"),
    ],
)  # fmt: skip
def test_a_file_that_is_no_sheet_is_refused_with_a_sentence(data: bytes, says: str) -> None:
    with pytest.raises(LoadRefusedError, match=says):
        bring_bytes(data)
    assert not Program.objects.exists()


def test_letters_of_windows_are_read() -> None:
    bring_bytes(sheet(row(Customer="Señora Núñez’s")).decode().encode("cp1252"))
    assert Premises.objects.get().name == "Señora Núñez’s"


def test_letters_of_utf_8_are_read() -> None:
    bring(row(Customer="Łukowa Кафе 水"))
    assert Premises.objects.get().name == "Łukowa Кафе 水"


def test_binary_zeros_are_taken_out_and_told() -> None:
    report = bring_bytes(sheet(row(Comments="a\x00b")))
    assert only_assembly().notes == "ab"
    assert any("NUL" in warning.message for warning in report.warnings)


def test_a_line_break_inside_a_cell_shifts_no_row_number() -> None:
    report = bring(row(Comments="one\ntwo\n\nthree"), row(Serial="A2", Size="big"))
    assert [(fault.row, fault.column, fault.value) for fault in report.rejected] == [
        (3, "Size", "big")
    ]
    assert only_assembly().notes == "one\ntwo\n\nthree"


def test_empty_rows_are_no_rows_but_keep_their_number() -> None:
    text = sheet(row(), dict.fromkeys(ROW, ""), row(Serial="A2", Size="big")).decode()
    report = bring_bytes(text.encode())
    assert counts(report) == (1, 0, 0, 1)
    assert report.rejected[0].row == 4


def test_a_quote_never_closed_costs_its_own_row_alone() -> None:
    text = sheet(row(), row(Serial="A2", Location="broken"), row(Serial="A3")).decode()
    report = bring_bytes(text.replace("broken", '"broken').encode())
    assert counts(report) == (2, 0, 0, 1)
    assert report.rejected[0].row == 3
    assert "quotation mark" in report.rejected[0].message
    assert SetAsideRow.objects.get().row == 3


def test_a_row_with_too_many_cells_is_set_aside_and_one_with_too_few_lands() -> None:
    text = sheet(row(), row(Serial="A2"), row(Serial="A3")).decode()
    lines = text.split("\r\n")
    lines[1] = lines[1].rsplit(",", 4)[0]
    lines[2] += ",more,cells"
    report = bring_bytes("\r\n".join(lines).encode())
    assert counts(report) == (2, 0, 0, 1)
    assert [(fault.row, fault.column, fault.value) for fault in report.rejected] == [
        (3, None, "more | cells")
    ]


def test_a_header_that_comes_twice_is_read_once_and_told() -> None:
    text = (
        sheet(row())
        .decode()
        .replace("Comments", "Model")
        .replace("46.85,-118.24,", "46.85,-118.24,x")
    )
    report = bring_bytes(text.encode())
    assert report.columns["Model"] == "model"
    assert report.columns["Model (2)"] is None
    assert (1, "Model (2)") in told(report)
    assert only_assembly().model == "N1"


def test_a_misspelled_serial_column_is_offered_and_its_rows_get_numbers_of_ours() -> None:
    report = bring_bytes(sheet(row()).replace(b"Serial", b"Serail"))
    assert report.columns["Serail"] is None
    hint = next(warning for warning in report.warnings if warning.column == "Serail")
    assert (hint.row, "serial" in hint.message) == (1, True)
    assert Assembly.objects.get().serial_is_ours


def test_a_column_nobody_knows_is_listed() -> None:
    report = bring(row() | {"Favourite colour": "blue"})
    assert report.columns["Favourite colour"] is None
    assert (1, "Favourite colour") in told(report)


def test_a_serial_column_that_is_there_under_another_name_is_found() -> None:
    for header in (b"S/N", b"serial_number", b"Ser. #", b"SERIAL NO."):
        data = sheet(row()).replace(b"Serial", header)
        assert bring_bytes(data, code="many").columns[header.decode()] == "serial"


@pytest.mark.parametrize(
    "value", ["nan", "inf", "1e999", "0000-00-00", "31/02", "-1", "2026-02-30", "1_000", "１２３"]
)
def test_figures_that_only_a_language_would_take_are_set_aside(value: str) -> None:
    report = bring(row(Size=value, Install_Date=value, Last_Test=value))
    assert counts(report) == (0, 0, 0, 1)
    assert [fault.column for fault in report.rejected] == ["Size", "Install Date", "Last Test"]


def test_text_too_long_for_its_place_is_set_aside_and_kept_whole() -> None:
    report = bring(row(Serial="X" * 500, Customer="Y" * 5000))
    assert [fault.column for fault in report.rejected] == ["Customer", "Serial"]
    assert "X" * 500 in SetAsideRow.objects.get().cells


def test_a_note_of_two_hundred_thousand_letters_lands() -> None:
    bring(row(Comments="x" * 200_000))
    assert len(only_assembly().notes) == 200_000


def test_five_hundred_serials_of_which_half_repeat_are_counted_right() -> None:
    rows = [row(Serial=f"S{n // 2}", Size=str(1 + n % 2)) for n in range(500)]
    report = bring(*rows)
    assert counts(report) == (250, 0, 0, 250)
    assert counts(bring(*rows)) == (0, 0, 250, 250)


def test_identical_rows_are_one_and_told() -> None:
    report = bring(row(), row(), row(Serial="A2"))
    assert counts(report) == (2, 0, 1, 0)
    assert told(report) == [(3, None)]
    assert counts(bring(row(), row(), row(Serial="A2"))) == (0, 0, 3, 0)


def test_markup_and_commands_in_names_are_kept_as_they_are() -> None:
    nasty = ["A <B & C", '<img src="x">', "'; drop table x; --", "{{ 7*7 }}", "O'Dwyer", "%s %d"]
    bring(*(row(Serial=f"M{n}", Location=text) for n, text in enumerate(nasty)))
    assert list(Assembly.objects.order_by("pk").values_list("location", flat=True)) == nasty


def workbook(*rows: list[object], sheets: int = 1) -> bytes:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"default_date_format": "mm/dd/yyyy"})
    for number in range(sheets):
        page = book.add_worksheet(f"Page {number + 1}")
        for at, cells in enumerate(rows):
            for column, cell in enumerate(cells):
                if cell is None:
                    continue
                if isinstance(cell, date | datetime):
                    page.write_datetime(at, column, cell)
                elif isinstance(cell, str):
                    page.write_string(at, column, cell)
                else:
                    page.write(at, column, cell)
    book.close()
    return out.getvalue()


XLSX_HEADER: list[object] = ["Acct", "Svc Addr", "ST", "Zip", "Type", "Make", "Serial", "Size",
                             "Install Date", "Last Test", "Hazard", "Lat", "Long"]  # fmt: skip


def xlsx_row(**changes: object) -> list[object]:
    good: dict[str, object] = {
        "Acct": 100101, "Svc Addr": "12 Elm", "ST": "MA", "Zip": 1001, "Type": "RP", "Make": "N",
        "Serial": "00123", "Size": 0.75, "Install Date": date(2020, 3, 1), "Last Test": 46152,
        "Hazard": "High", "Lat": 42.1, "Long": -72.6,
    }  # fmt: skip
    return list(
        (good | {name.replace("_", " "): value for name, value in changes.items()}).values()
    )


def test_a_workbook_gives_the_text_a_person_would_see() -> None:
    report = bring_bytes(workbook(XLSX_HEADER, xlsx_row()), name="registry.xlsx")
    assert counts(report) == (1, 0, 0, 0)
    assembly = only_assembly("00123")
    site = assembly.premises
    assert (site.account, site.zip, str(site.lat)) == ("100101", "01001", "42.100000")
    assert (str(assembly.size_in), assembly.hazard) == ("0.750", Hazard.HIGH)
    assert live_facts("00123") == [("installed", date(2020, 3, 1)), ("passed", date(2026, 5, 10))]


def test_a_workbook_and_a_csv_of_the_same_rows_agree() -> None:
    bring_bytes(workbook(XLSX_HEADER, xlsx_row()), name="registry.xlsx")
    text = "Acct,Svc Addr,ST,Zip,Type,Make,Serial,Size,Install Date,Last Test,Hazard,Lat,Long\n"
    again = bring_bytes(
        (text + "100101,12 Elm,MA,01001,RPZ,N,00123,3/4,3/1/20,10-May-26,H,42.1,-72.6\n").encode()
    )
    assert counts(again) == (0, 0, 1, 0)


def test_a_size_that_became_a_date_in_a_workbook_is_set_aside_and_says_so() -> None:
    report = bring_bytes(workbook(XLSX_HEADER, xlsx_row(Size=date(2026, 3, 4))), name="r.xlsx")
    assert report.rejected[0].column == "Size"
    assert "turned into a date" in report.rejected[0].message


def test_an_empty_row_in_a_workbook_keeps_the_numbers_people_see() -> None:
    report = bring_bytes(workbook(XLSX_HEADER, [None], xlsx_row(Size="big")), name="registry.xlsx")
    assert report.rejected[0].row == 3


def test_a_second_sheet_is_not_read_and_told() -> None:
    report = bring_bytes(workbook(XLSX_HEADER, xlsx_row(), sheets=2), name="registry.xlsx")
    assert any("Page 2" in warning.message for warning in report.warnings)


def test_a_margin_without_a_header_is_left_out_and_a_stray_note_is_listed() -> None:
    wide = [[None, *cells, None] for cells in (XLSX_HEADER, xlsx_row(), xlsx_row(Serial="2"))]
    assert set(bring_bytes(workbook(*wide), name="r.xlsx", dry_run=True).columns) == set(
        XLSX_HEADER
    )
    wide[2][-1] = "ask Bea"
    report = bring_bytes(workbook(*wide), name="registry.xlsx")
    assert counts(report) == (2, 0, 0, 0)
    assert report.columns["(column 15)"] is None
    assert told(report) == [(1, "(column 15)")]


def test_a_refused_file_leaves_no_batch() -> None:
    bring(row())
    batches = LoadBatch.objects.count()
    with pytest.raises(LoadRefusedError):
        bring_bytes(b"")
    assert LoadBatch.objects.count() == batches
